"""Where bleed clip and links are while hands are in: what is read in ohms then includes their resistors."""

from __future__ import annotations

from benchtui.assemble.state import stage_state
from benchtui.assemble.valves import electrode_nodes, rectifier_valves
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.circuit.elements import CHASSIS
from benchtui.forecast.by_rating import held_by_rating, one_each
from benchtui.forecast.gate import reservoirs_of
from benchtui.forecast.reservoirs import grounded, groups, live_end

Ends = tuple[str, str]
"""The two nodes that a clip joins."""


def clip_ends(build: Build, stage: str | None) -> Ends | None:
    """Where the clip goes in the gates after `stage` had power, or, for None, before anything had.

    The place that the build file gives, else across the largest capacitor of that stage's rail, the one behind a
    rectifier of the highest rated volts. Where no rectifier's end has a capacitor to chassis it is the first reservoir.
    Where the stage has none (heaters alone), it is that of the next powered stage that has, fitted by then or not.
    None in a build without.
    """
    if build.gate.clip_between is not None:
        return build.gate.clip_between
    powered = [info.id for info in stages(build) if info.kind == "power"]
    ahead = powered if stage is None else powered[powered.index(stage) :]
    for near in ahead:
        if (ends := _rail(build, near)) is not None:
            return ends
    for near in ahead:
        if reservoirs := reservoirs_of(build, near):
            return reservoirs[0].red, reservoirs[0].black
    return None


def _rail(build: Build, stage: str) -> Ends | None:
    """The largest capacitor's ends on the rail of the highest rated volts, by what is fitted: nothing is solved."""
    rectified = {node for part in build.diode.values() for node in part.nodes}
    for ref in rectifier_valves(build):
        electrodes = electrode_nodes(build.valve[ref])
        rectified |= {node for name, nodes in electrodes.items() if name != "heater" for node in nodes}
    rated = {}
    for group in groups(build, stage_state(build, stage), list(held_by_rating(build, stage))):
        fed = [name for name in group if grounded(build, name) and live_end(build, name) in rectified]
        if fed:
            rated[group] = max(build.capacitor[name].volts for name in fed)
    if not rated:
        return None
    largest = max(rated, key=rated.__getitem__)[0]
    return live_end(build, largest), CHASSIS


def clips_on(build: Build, stage: str, *, linked: bool, after: str | None = "") -> tuple[Ends, ...]:
    """What the clip's resistor stands across in the hands-in work of `stage`, the clip first, then the links.

    There is a link across each capacitor that may hold a charge and that the clip does not drain: what stage `after`,
    the last that had power ("": the one before `stage`), may have charged, and where nothing had (None) what is fitted
    by its rating. `linked`: the chassis never met mains, so there are links alone.
    """
    after = powered_before(build, stage) if after == "" else after
    if linked or after is None:
        held = held_by_rating(build, stage)
    else:
        held = tuple(id for reservoir in reservoirs_of(build, after) for id in reservoir.parts)
    links = tuple(build.capacitor[id].nodes for id in one_each(build, held))
    clip = None if linked else clip_ends(build, after)
    return links if clip is None else (clip, *(ends for ends in links if set(ends) != set(clip)))


def powered_before(build: Build, stage: str) -> str | None:
    """The last stage with power before `stage`; None before the first."""
    last = None
    for info in stages(build):
        if info.id == stage:
            return last
        last = info.id if info.kind == "power" else last
    raise ValueError(f"{stage!r} is no stage of this build")
