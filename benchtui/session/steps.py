"""The steps of a stage: what every build does there, what fits from the parts list, and the builder's own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from benchtui.buildfile.inventory import Listed, parts
from benchtui.buildfile.models import Build, Fuse, Stage
from benchtui.buildfile.stages import StageInfo, fitted, stages
from benchtui.forecast.instruments import lacking
from benchtui.metalwork.schedule import cautions
from benchtui.procedure.plan import Reservoir, Step
from benchtui.quantities.sentence import capital
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.session.fuse_cap import marking
from benchtui.session.holelist import hole_list
from benchtui.session.reviewing import METALWORK
from benchtui.session.shutting import is_touch
from benchtui.session.signal import lead_out, not_measured
from benchtui.session.tables import table
from benchtui.session.wirelist import wire_steps
from benchtui.session.wording import MADE_SAYS, OTHER_WAY, by_instrument
from benchtui.wiring.ends import LOOSE, on_panel

_CARE = 3
"""The cautions that are typed to be so before the first hole; all of them are in the help and on the papers."""

#: Parts named in one step: more than this and a step becomes a list nobody follows.
_PARTS_A_STEP = 6

_UNITS = {"resistor": Unit.OHM, "capacitor": Unit.FARAD, "choke": Unit.HENRY, "load": Unit.OHM, "pot": Unit.OHM}


def steps(
    build: Build, info: StageInfo, before: StageInfo | None, capacitors: Mapping[str, Reservoir]
) -> tuple[Step, ...]:
    """Everything that is done or looked at with hands in for this stage; `before` is the powered stage before it.

    `capacitors` are those that are read on the bench before they are fitted.
    """
    out = frozenset(info.entry.fuses_out)
    mounted, loose = (
        [(_fitting(fits, out), "fitted", _read_first(fits, capacitors), False) for fits in batches]
        for batches in _batches(build, info.id)
    )
    found: list[tuple[str, str, tuple[Reservoir, ...], bool]] = [
        *loose,
        *_looked_at(_standard_steps(build, info)),
        *_looked_at(lead_out(build, info.id)),
        *_looked_at(_pots(build, info.id)),
        *((text, "done", (), False) for text in info.entry.steps),
        *_looked_at(_sockets(build, info, before)),
        *_looked_at((text, "seen") for text in info.entry.looks),
        *_looked_at(_slips(build, info.id)),
        *_looked_at(_unmeasured(build, info.id)),
    ]
    seen = tuple(
        Step(f"fuse {id}", _fuse_text(id, fuse), marking(fuse), printed=True)
        for id, fuse in build.fuse.items()
        if info.id == "signoff"
    )
    before_wires = (Step(f"{info.id} work {n}", *each) for n, each in enumerate(mounted, 1))
    after_them = (Step(f"{info.id} work {n}", *each) for n, each in enumerate(found, len(mounted) + 1))
    wires = (Step(id, text, MADE_SAYS["wire"], makes="wire") for id, text in wire_steps(build, info.id))
    return (*before_wires, *_holes(build, info.id), *wires, *after_them, *seen)


def _holes(build: Build, stage: str) -> Iterator[Step]:
    """The hole schedule, in the stage of the metalwork, what holds at every panel before it."""
    listed = hole_list(build) if stage == METALWORK else ()
    if listed:
        yield Step(f"{stage} panel 0", " ".join(cautions()[:_CARE]), "ready")
    for n, work in enumerate(listed, 1):
        if work.id:
            yield Step(work.id, work.text, MADE_SAYS["hole"], makes="hole")
        else:
            yield Step(f"{stage} panel {n}", work.text, MADE_SAYS["hole"])


def _looked_at(rows: Iterable[tuple[str, str]]) -> Iterator[tuple[str, str, tuple[Reservoir, ...], bool]]:
    """Rows of text and word as steps that are looked at again after an alarm; nothing is fitted by them."""
    return ((text, says, (), True) for text, says in rows)


def live_steps(info: StageInfo) -> tuple[Step, ...]:
    """The builder's own steps of this stage with power on."""
    return tuple(Step(f"{info.id} live step {n}", text, "noted") for n, text in enumerate(info.entry.live, 1))


def _standard_steps(build: Build, info: StageInfo) -> Iterator[tuple[str, str]]:
    uses = {
        None: True,
        "grid bias": any(point.guards == "grid bias" for point in build.point.values()),
        "no fuse out": not info.entry.fuses_out,
    }
    for row in table("stages").get(info.id, ()):
        if uses[row.get("only")]:
            yield row["text"], row["says"]


def _batches(build: Build, stage: str) -> tuple[list[list[Listed]], list[list[Listed]]]:
    """The parts that are fitted in a stage, a step's worth at a time: what is mounted, then what hangs by its wires.

    A lead or bond that the build file names is a wire of the list, not a part to be fitted.
    """
    listed = [part for part in parts(build) if part.part.stage == stage and part.path[0] != "link"]
    hang = [part for part in listed if part.path[0] in LOOSE and part.id not in on_panel(build)]
    both = [[part for part in listed if part not in hang], hang]
    cut = [[group[n : n + _PARTS_A_STEP] for n in range(0, len(group), _PARTS_A_STEP)] for group in both]
    return cut[0], cut[1]


def _fitting(listed: list[Listed], out: frozenset[str]) -> str:
    """What is fitted; of a fuse that is `out` in this stage its holder alone."""
    windings: dict[str, list[str]] = {}
    named = []
    for each in listed:
        if each.path[0] == "transformer":
            windings.setdefault(str(each.path[1]), []).append(each.part.role or each.id)
        else:
            named.append(_named(each, out))
    wound = [f"{transformer} ({'; '.join(roles)})" for transformer, roles in windings.items()]
    return f"Fit {', '.join((*wound, *named))}"


def _read_first(listed: list[Listed], capacitors: Mapping[str, Reservoir]) -> tuple[Reservoir, ...]:
    return tuple(capacitors[part.id] for part in listed if part.id in capacitors)


def _named(listed: Listed, out: frozenset[str]) -> str:
    """A part by its reference and what is printed on it, or by what it is for."""
    kind, part, id = str(listed.path[0]), listed.part, listed.id
    if id in out:
        return f"{id}'s empty holder"
    if kind == "valve":
        return f"{id} socket ({getattr(part, 'type', '')})"
    if kind == "fuse":
        return f"{id} {marking(part)}"  # type: ignore[arg-type]
    unit = _UNITS.get(kind)
    if unit:
        return f"{id} {show(part.value, unit)}"  # type: ignore[attr-defined]
    told = getattr(part, "type", "") or part.role
    return f"{id} ({told})" if told else id


def _pots(build: Build, stage: str) -> Iterator[tuple[str, str]]:
    for adjustment in build.adjust.values():
        if build.pot[adjustment.pot].stage == stage:
            yield f"Turn {adjustment.pot} {_most_negative(adjustment.raise_by)}: the most negative bias", "turned"


def _most_negative(raise_by: str) -> str:
    """Which way lowers the current, in the words that the build file has for raising it."""
    return f"fully {OTHER_WAY[raise_by]}" if raise_by in OTHER_WAY else "to where it starts"


def _unmeasured(build: Build, stage: str) -> Iterator[tuple[str, str]]:
    """At the end: what only an instrument that is not owned could prove."""
    if stage != stages(build)[-1].id:
        return
    listed = (each for id, each in build.point.items() if not is_touch(id))
    lacks = (*((lacking(build, point), point.name) for point in listed), *not_measured(build))
    if listed := "; ".join(by_instrument(each for each in lacks if each[0])):
        yield f"Not measured, {listed}. A workshop that has it measures these before the amplifier is used", "noted"


def _slips(build: Build, stage: str) -> Iterator[tuple[str, str]]:
    """At the end: what is known of salvaged parts stays with them."""
    if build.salvaged and stage == stages(build)[-1].id:
        names = ", ".join(build.salvaged)
        yield f"Glue the slip of each salvaged part inside, where it outlives the amplifier: {names}", "glued"


def _sockets(build: Build, info: StageInfo, before: StageInfo | None) -> Iterator[tuple[str, str]]:
    """One look at valves and fuses: those that stay out, and those that come in since the powered stage before."""
    if info.kind != "power":
        return
    entry, last = info.entry, before.entry if before else Stage()
    known = fitted(build, before.id) if before else frozenset(build.fuse)
    fresh = fitted(build, info.id) - known
    said = []
    for kind, out, earlier in (
        ("valve", entry.valves_out, last.valves_out), ("fuse", entry.fuses_out, last.fuses_out),
    ):  # fmt: skip
        new = sorted(id for id in getattr(build, kind) if id not in out and (id in earlier or id in fresh))
        if new:
            said.append(f"{kind}s in: {', '.join(_marked(build, id) for id in new)}")
        if out:
            said.append(f"{kind}s out: {', '.join(sorted(out))}")
    if said:
        yield capital("; ".join(said)), "as listed"


def _marked(build: Build, id: str) -> str:
    """A valve by its type, a fuse by its marking."""
    fuse = build.fuse.get(id)
    return f"{id} {build.valve[id].type}" if fuse is None else f"{id} {marking(fuse)}"


def _fuse_text(id: str, fuse: Fuse) -> str:
    """What is asked of a fuse at sign-off."""
    return table("words")["fuse"]["asked"].format(id=id, role=fuse.role or "in its holder")
