"""The steps of a stage: what every build does there, what fits from the parts list, and the builder's own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from benchtui.buildfile.inventory import Listed, parts
from benchtui.buildfile.models import Build, Stage
from benchtui.buildfile.stages import StageInfo, fitted, stages
from benchtui.forecast.instruments import lacking
from benchtui.procedure.plan import Reservoir, Step
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.session.tables import table

#: Parts named in one step: more than this and a step becomes a list nobody follows.
_PARTS_A_STEP = 6

_UNITS = {"resistor": Unit.OHM, "capacitor": Unit.FARAD, "choke": Unit.HENRY, "load": Unit.OHM, "pot": Unit.OHM}


def steps(
    build: Build, info: StageInfo, before: StageInfo | None, capacitors: Mapping[str, Reservoir]
) -> tuple[Step, ...]:
    """Everything that is done or looked at with hands in for this stage; `before` is the powered stage before it.

    `capacitors` are those that are read on the bench before they are fitted.
    """
    out = _out(build, info.id, info.entry)[1]
    found: list[tuple[str, str, tuple[Reservoir, ...], bool]] = [
        *((_fitting(fits, out), "fitted", _read_first(fits, capacitors), False) for fits in _batches(build, info.id)),
        *_looked_at(_standard_steps(build, info.id)),
        *_looked_at(_pots(build, info.id)),
        *((text, "done", (), False) for text in info.entry.steps),
        *_looked_at(_sockets(build, info, before)),
        *_looked_at((text, "seen") for text in info.entry.looks),
        *_looked_at(_unmeasured(build, info.id)),
    ]
    return tuple(Step(f"{info.id} step {n}", *each) for n, each in enumerate(found, 1))


def _looked_at(rows: Iterable[tuple[str, str]]) -> Iterator[tuple[str, str, tuple[Reservoir, ...], bool]]:
    """Rows of text and word as steps that are looked at again after an alarm; nothing is fitted by them."""
    return ((text, says, (), True) for text, says in rows)


def live_steps(info: StageInfo) -> tuple[Step, ...]:
    """The builder's own steps of this stage with power on."""
    return tuple(Step(f"{info.id} live step {n}", text, "noted") for n, text in enumerate(info.entry.live, 1))


def _standard_steps(build: Build, stage: str) -> Iterator[tuple[str, str]]:
    grids = any(point.guards == "grid bias" for point in build.point.values())
    for row in table("stages").get(stage, ()):
        if grids or row.get("only") != "grid bias":
            yield row["text"], row["says"]


def _batches(build: Build, stage: str) -> Iterator[list[Listed]]:
    """The parts that are fitted in a stage, a step's worth at a time."""
    listed = [part for part in parts(build) if part.part.stage == stage]
    for start in range(0, len(listed), _PARTS_A_STEP):
        yield listed[start : start + _PARTS_A_STEP]


def _fitting(listed: list[Listed], out: frozenset[str]) -> str:
    """What is fitted; of a fuse that is `out` in this stage its holder alone."""
    return f"Fit {', '.join(_named(part.path[0], part.id, part.part, out) for part in listed)}"


def _read_first(listed: list[Listed], capacitors: Mapping[str, Reservoir]) -> tuple[Reservoir, ...]:
    return tuple(capacitors[part.id] for part in listed if part.id in capacitors)


def _named(table: str | int, id: str, part: object, out: frozenset[str]) -> str:
    if id in out:
        return f"{id}'s empty holder"
    if table == "valve":
        return f"{id} socket ({getattr(part, 'type', '')})"
    unit = _UNITS.get(str(table))
    return f"{id} {show(part.value, unit)}" if unit else id  # type: ignore[attr-defined]


def _pots(build: Build, stage: str) -> Iterator[tuple[str, str]]:
    for adjustment in build.adjust.values():
        if build.pot[adjustment.pot].stage == stage:
            yield f"Turn {adjustment.pot} to where it starts, the most negative bias", "turned"


def _unmeasured(build: Build, stage: str) -> Iterator[tuple[str, str]]:
    """At the end: what only an instrument that is not owned could prove."""
    if stage != stages(build)[-1].id:
        return
    found: dict[str, list[str]] = {}
    for point in build.point.values():
        if instrument := lacking(build, point):
            found.setdefault(instrument, []).append(point.name)
    if found:
        listed = "; ".join(f"no {instrument}: {', '.join(names)}" for instrument, names in found.items())
        yield f"Not measured, {listed}. A workshop that has it measures these before the amplifier is used", "noted"


def _sockets(build: Build, info: StageInfo, before: StageInfo | None) -> Iterator[tuple[str, str]]:
    """Valves and fuses that must be out, and those that come in since the powered stage before."""
    if info.kind != "power":
        return
    out = _out(build, info.id, info.entry)
    last = _out(build, before.id, before.entry) if before else (frozenset(), frozenset())
    for words, kind, now, earlier in (("socket", "valve", out[0], last[0]), ("holder", "fuse", out[1], last[1])):
        here = {id for id in getattr(build, kind) if id in fitted(build, info.id)}
        if now:
            yield f"Out of its {words}: {', '.join(sorted(now))}", "out"
        known = fitted(build, before.id) if before else frozenset()
        new = sorted(id for id in here - now if id in earlier or id not in known)
        if new:
            yield f"In its {words}: {', '.join(new)}", "in"


def _out(build: Build, stage: str, entry: Stage) -> tuple[frozenset[str], frozenset[str]]:
    here = fitted(build, stage)
    return frozenset(entry.valves_out) & here, frozenset(entry.fuses_out) & here
