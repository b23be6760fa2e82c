"""The plan of a bring-up from a build and from what has been forecast of its gates so far.

Where a gate is not computed yet, or cannot be, the widest list stands in: every capacitor fitted, by its rating.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import inf, isfinite, nan
from typing import TYPE_CHECKING

from benchtui.buildfile.models import Build
from benchtui.buildfile.models import Point as BuildPoint
from benchtui.buildfile.stages import StageInfo, fitted, stages
from benchtui.buildfile.whole import last_powered, whole
from benchtui.forecast.by_rating import held_by_rating, one_each, threshold_v
from benchtui.forecast.instruments import lacking
from benchtui.forecast.results import Reservoir as ForecastReservoir
from benchtui.forecast.signal_points import signal_points
from benchtui.parts.guide import guide
from benchtui.procedure.plan import (
    Bleed,
    Clip,
    Link,
    Ohms,
    Phase,
    Plan,
    Point,
    Rail,
    Reservoir,
    Soak,
    Step,
    Trim,
    Whole,
    Work,
)
from benchtui.procedure.settings import Settings
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.session.forecaster import GateFacts
from benchtui.session.fuse_cap import marking
from benchtui.session.places import CHASSIS, place, point_place
from benchtui.session.repairs import story
from benchtui.session.shutting import is_outside, marks_s, winding
from benchtui.session.signal import signal_point
from benchtui.session.steps import live_steps, steps
from benchtui.session.tables import table

if TYPE_CHECKING:
    from benchtui.forecast.inspection import Inspection

#: Settling time where valves are in their sockets and the build file names none. Common practice, no source.
SETTLE_S = 60.0


#: Readings of one stage that are asked for beside the build file's own: more than a person does with care is skipped
#: through. Own decision; the rest is in the chart.
MOST_COMPUTED = 12


def plan(
    build: Build,
    gates: Mapping[str, GateFacts],
    objections: tuple[str, ...] = (),
    inspections: Mapping[str, Inspection] | None = None,
    whole_inspection: Inspection | None = None,
) -> Plan:
    """The plan of `build`, with the gates and inspections forecast so far by stage, the one of a repair, and what the
    ratings review has against power.
    """
    phases: list[Phase] = []
    powered: StageInfo | None = None
    capacitors = _on_the_bench(build, gates)
    for info in stages(build):
        hands, power = f"{info.id}, hands in" if info.kind == "power" else info.id, info.id
        computed = _computed((inspections or {}).get(info.id))
        phases.append(_hands_phase(build, info, hands, powered, gates, capacitors, computed))
        if info.kind == "power":
            phases.append(_power_phase(build, info, power, gates.get(info.id)))
            powered = info
    spread = build.mains.spread
    mains_v = (build.mains.volts * (1.0 - spread), build.mains.volts * (1.0 + spread))
    largest = build.meter.largest
    return Plan(
        _settings(build), tuple(phases), mains_v, build.mains.inlet, meter_v=largest, objections=objections,
        look_over=_look_over(build), whole=_whole(build, phases, gates, _computed(whole_inspection)),
        story=story(build),
    )  # fmt: skip


def _whole(
    build: Build, phases: list[Phase], gates: Mapping[str, GateFacts], computed: tuple[Point, ...]
) -> Whole | None:
    """The finished amplifier on the bench again: its last powered stage with every point that is still there.

    Before a check-up's power its insulation is read, and the looks are taken; its bonds come with the look over.
    """
    last, read = last_powered(build), whole(build)
    if last is None:
        return None
    hands = next(phase for phase in phases if phase.stage == last.id and phase.kind == "hands")
    ohms = {id: p for id, p in read.point.items() if last.id in p.stages and p.quantity == "resistance"}
    checks = Work(
        tuple(step for step in hands.steps if step.check), (*(point(build, id, p) for id, p in ohms.items()), *computed)
    )
    power = _power_phase(read, last_powered(read) or last, last.id, gates.get(last.id))
    before = Work(checks.steps, tuple(each for each in checks.points if each.guards == "insulation"))
    return Whole(replace(power, limited=_watched_once(build, power)), checks, before)


def _watched_once(build: Build, power: Phase) -> tuple[str, ...]:
    """What a repair reads under the limiter: what its stage does, and before its last point all that was ever watched,
    in every channel.
    """
    here = {point.id for point in power.points if point.quantity == "dc"}
    watched = [id for info in stages(build) if info.entry.watch for id in _each_channel(build, info.entry.watch)]
    known = (id for id in watched if id in here and id != power.watch)
    return tuple(dict.fromkeys((*power.limited[:-1], *known, *power.limited[-1:])))


def _each_channel(build: Build, id: str) -> tuple[str, ...]:
    """The id of a point as each channel has it, itself first."""
    stem = next((id.removesuffix(letter) for letter in build.channels if id.endswith(letter)), None)
    return (id,) if stem is None else (id, *(stem + letter for letter in build.channels))


def _settings(build: Build) -> Settings:
    return Settings(
        threshold_v=threshold_v(build),
        wait_s=_within("gate.wait", build.gate.wait),
        wait_unbled_s=max(_within("gate.wait_without_bleeder", None), _within("gate.wait", build.gate.wait)),
        clip_s=_within("gate.clip_time", build.gate.clip_time),
        clip_constants=_within("gate.clip_time_constants", None),
        look_s=_within("gate.hands_look", None),
        early_share=_within("gate.early_share", None),
        proof_low_v=_within("gate.proof_least", None),
        proof_high_v=_within("gate.proof_most", None),
        live_thresholds=_within("gate.live_thresholds", None),
        fallen_share=_within("gate.fallen_share", None),
        clip_near=_within("gate.clip_near", None),
    )


def _within(name: str, own: float | None) -> float:
    """The builder's own value or the guide's, never outside floor and ceiling."""
    entry = guide(name)
    wanted = entry.value if own is None else own
    if wanted is None:
        raise ValueError(f"guide value {name} has no number")
    return min(max(wanted, entry.floor or 0.0), inf if entry.ceiling is None else entry.ceiling)


def _hands_phase(
    build: Build,
    info: StageInfo,
    id: str,
    powered: StageInfo | None,
    gates: Mapping[str, GateFacts],
    capacitors: Mapping[str, Reservoir],
    computed: tuple[Point, ...],
) -> Phase:
    """The gate of a hands phase reads what the powered stage before it may have charged; `computed` come last."""
    facts = gates.get(powered.id) if powered else None
    first = next((stage.id for stage in stages(build) if stage.kind == "power"), "")
    in_already = fitted(build, powered.id) if powered else frozenset()
    places = facts or gates.get(first)
    clip = _clip(build, facts, places, in_already)
    here = fitted(build, info.id)
    chargeable = here & (set(build.capacitor) | {w for t in build.transformer.values() for w in t.windings})
    points = tuple(
        point(build, key, p)
        for key, p in build.point.items()
        if info.id in p.stages
        and (p.quantity == "resistance" or info.kind != "power")
        and not (info.entry.soak and is_outside(p))
    )
    return Phase(
        id, info.id, "hands", _reservoirs(build, info.id, facts), clip, _links(build, info.id, facts, places),
        bare=info.kind == "bench" and powered is None and not chargeable,
        steps=steps(build, info, powered, capacitors), points=(*points, *computed),
    )  # fmt: skip


def _computed(found: Inspection | None) -> tuple[Point, ...]:
    """The readings that show what the build file's own do not."""
    readings = [each.reading for each in found.further[:MOST_COMPUTED]] if found else []
    return tuple(
        Point(each.id, each.name, "resistance", "ohm", each.red.at, each.black.at, computed=True) for each in readings
    )


def _power_phase(build: Build, info: StageInfo, id: str, facts: GateFacts | None) -> Phase:
    points = {k: p for k, p in build.point.items() if info.id in p.stages and p.quantity != "resistance"}
    tests = tuple(signal_point(build, each) for each in signal_points(build, info.id))
    here = fitted(build, info.id)
    hot = [valve for valve in build.valve if valve in here and valve not in info.entry.valves_out]
    settle_s = info.entry.settle if info.entry.settle is not None else SETTLE_S if hot else 0.0
    ht = facts.ht if facts else None
    loads = ", ".join(f"{key} {show(load.value, Unit.OHM)}" for key, load in build.load.items() if key in here)
    inferred = build.mains.read_at == "heater winding" and build.mains.read_point in points
    trims = tuple(
        Trim(key, adjustment.pot, adjustment.point, adjustment.reach == "inside")
        for key, adjustment in build.adjust.items()
        if info.id in adjustment.stages
    )
    soak = _soak(build, info, settle_s) if info.entry.soak else None
    return Phase(
        id, info.id, "power", _reservoirs(build, info.id, facts),
        _clip(build, facts, facts, here), _links(build, info.id, facts, facts), steps=live_steps(info),
        points=(*(point(build, key, p) for key, p in points.items()), *tests),
        rails=_rails(build, facts), ohms=_ohms(build, facts),
        loose=facts.gate.loose if facts else info.entry.loose,
        load=loads if any(key in here for key in build.output_transformer) else "",
        ht=point(build, ht, build.point[ht]) if ht and not soak else None,
        watch=info.entry.watch or "", limited=_limited(build, info, points),
        mains_before=not inferred and build.mains.read_at != "variable transformer", settle_s=settle_s, trims=trims,
        soak=soak,
    )  # fmt: skip


def _soak(build: Build, info: StageInfo, settle_s: float) -> Soak:
    """The part of the sign-off with its cover screwed on."""
    outside = tuple(
        point(build, id, p)
        for id, p in build.point.items()
        if info.id in p.stages and p.quantity == "resistance" and is_outside(p)
    )
    return Soak(marks_s(info, settle_s), outside, winding(build))


def _limited(build: Build, info: StageInfo, points: Mapping[str, BuildPoint]) -> tuple[str, ...]:
    """What is read under the limiter: each grid that holds its valve and the valve's current, then the watch point."""
    watch = info.entry.watch or ""
    grids = [id for id, p in points.items() if p.guards == "grid bias"]
    trimmed = {adjustment.point for adjustment in build.adjust.values()}
    before = [id for id in (*grids, *(id for id in points if id in trimmed)) if id != watch]
    return (*before, *([watch] if watch else []))


def point(build: Build, id: str, entry: BuildPoint) -> Point:
    """A test point of the build as the procedure knows it."""
    unit = "ohm" if entry.quantity == "resistance" else "V"
    red, black = point_place(build, entry)
    return Point(id, entry.name, entry.quantity, unit, red, black, entry.guards, lacking(build, entry))


def _look_over(build: Build) -> Work:
    """What is looked at and read in a chassis that nobody watched: wiring, fuses, and each earth bond."""
    words = table("words")["look_over"]
    fuses = ", ".join(f"{id} {marking(fuse)}" for id, fuse in build.fuse.items())
    looks = [words["chassis"], *([words["fuses"]] if fuses else [])]
    steps = tuple(Step(f"look over {n}", e["text"].format(fuses=fuses), e["says"]) for n, e in enumerate(looks, 1))
    bonds = {id: p for id, p in build.point.items() if p.guards == "bond" and not p.outside}
    return Work(steps, tuple(point(build, id, p) for id, p in bonds.items()))


def _clip(build: Build, facts: GateFacts | None, places: GateFacts | None, here: frozenset[str]) -> Clip:
    """The clip in a gate: `facts` know what it reads there, `places` where it goes; `here` is certainly fitted."""
    reads = facts.gate.clip_ohms if facts and isfinite(facts.gate.clip_ohms) else build.gate.clip
    ends = places.clip if places else build.gate.clip_between
    if ends is None:
        return Clip(build.gate.clip, reads, "")
    red, black = ends
    across = [key for key, part in build.capacitor.items() if set(part.nodes) == {red, black}]
    part = "" if here & set(across) else next(iter(across), "")
    return Clip(build.gate.clip, reads, f"{place(build, red, black)} to {place(build, black, red)}", part)


def _links(build: Build, stage: str, facts: GateFacts | None, places: GateFacts | None) -> tuple[Link, ...]:
    """A link for each pair of ends that may hold a charge; `places` knows at which of them the clip is."""
    held = held_by_rating(build, stage)
    if facts:
        held = tuple(id for reservoir in facts.gate.reservoirs for id in reservoir.parts)
    clip = set(places.clip or ()) if places else set(build.gate.clip_between or ())
    found = []
    for id in one_each(build, held):
        part = build.capacitor[id]
        red, black = reversed(part.nodes) if part.nodes[0] == CHASSIS else part.nodes
        new = facts is None and part.stage == stage
        found.append(Link(id, place(build, red, black), place(build, black, red), set(part.nodes) == clip, new))
    return tuple(found)


def _reservoirs(build: Build, stage: str, facts: GateFacts | None) -> tuple[Reservoir, ...]:
    """What the gate reads."""
    if facts is None:
        return _by_rating(build, stage) or (_nameless(),)
    return tuple(_reservoir(build, reservoir) for reservoir in facts.gate.reservoirs) or (_nameless(),)


def _reservoir(build: Build, of: ForecastReservoir) -> Reservoir:
    bleed = Bleed(_held(build, of.bleed.seconds), of.bleed.through)
    red, black = place(build, of.red, of.black), place(build, of.black, of.red)
    return Reservoir(
        of.id, _name(build, of.parts), red, black, of.farad, of.highest_v, of.fastest_s, of.slowest_s, of.bled,
        bleed, parts=of.parts,
    )  # fmt: skip


def _name(build: Build, parts: tuple[str, ...]) -> str:
    role = build.capacitor[parts[0]].role
    return f"{' with '.join(parts)}{f', {role}' if role else ''}"


def _by_rating(build: Build, stage: str) -> tuple[Reservoir, ...]:
    """Every capacitor that could be charged by its rating, as fitted up to `stage`."""
    found = []
    for key in held_by_rating(build, stage):
        part = build.capacitor[key]
        red, black = place(build, *part.nodes), place(build, *reversed(part.nodes))
        found.append(Reservoir(
            key, _name(build, (key,)), red, black, part.value, part.volts,
            bleed=_bleed_by_rating(build, part.value),
        ))  # fmt: skip
    return tuple(found)


def _bleed_by_rating(build: Build, farad: float) -> Bleed:
    return Bleed(_held(build, _within("gate.clip_time_constants", None) * build.gate.clip * farad))


def _held(build: Build, seconds: float) -> float:
    """Seconds to hold a resistor across a charge: as long as the bleed clip is on, though it may take a blink."""
    return max(seconds, _within("gate.clip_time", build.gate.clip_time))


def _on_the_bench(build: Build, gates: Mapping[str, GateFacts]) -> dict[str, Reservoir]:
    """Capacitors that may arrive charged, as they lie on the bench: each that is a reservoir once all is built."""
    powered = [info.id for info in stages(build) if info.kind == "power"]
    if not powered:
        return {}
    facts = gates.get(powered[-1])
    listed = facts.gate.reservoirs if facts else ()
    ids = {id for r in listed for id in r.parts} if facts else {r.id for r in _by_rating(build, powered[-1])}
    return {id: _loose(build, id) for id in build.capacitor if id in ids}


def _loose(build: Build, id: str) -> Reservoir:
    part = build.capacitor[id]
    red, black = ("plus end", "minus end") if part.make == "electrolytic" else ("one end", "the other end")
    bleed = _bleed_by_rating(build, part.value)
    return Reservoir(id, _name(build, (id,)), f"{red} of {id}", black, part.value, part.volts, bleed=bleed)


def _nameless() -> Reservoir:
    """No reservoir is fitted, and one is read all the same: there is no empty gate. Nothing needs a bleeder."""
    red = "HT+, or each end of the HT winding"
    return Reservoir("HT", "HT, or where it will be", red, "chassis", slowest_s=0.0, bled=True, presumed=True)


def _rails(build: Build, facts: GateFacts | None) -> tuple[Rail, ...]:
    """Every rail that may be charged; one that nobody knows where nothing was computed."""
    if facts is None:
        return (Rail("unknown", "the rail, once its place is computed", "HT+", place(build, CHASSIS)),)
    chassis = place(build, CHASSIS)
    return tuple(Rail(key, f"rail at {key}", place(build, node, CHASSIS), chassis) for key, node in facts.gate.rails)


def _ohms(build: Build, facts: GateFacts | None) -> Ohms | None:
    """HT+ to chassis; where nothing was computed no reading is in range, so that power waits for the forecast."""
    if facts is None:
        return Ohms("HT+", place(build, CHASSIS), nan, nan, nan)
    if facts.gate.ohms_node is None:
        return None
    gate = facts.gate
    red, black = place(build, gate.ohms_node, CHASSIS), place(build, CHASSIS)
    ends = (CHASSIS, gate.ohms_node)
    if any(part.make == "electrolytic" and part.nodes == ends for part in build.capacitor.values()):
        red, black = black, red  # a negative rail: the plus probe where its capacitors have their plus
    return Ohms(red, black, gate.ohms_low, gate.ohms_nominal, gate.ohms_high)
