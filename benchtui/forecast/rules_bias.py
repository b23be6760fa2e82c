"""Rules of the review for the bias of output valves: read before the HT comes, and kept when a wiper lifts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.assemble.valves import POWER_W, Section, sections
from benchtui.buildfile.models import Point
from benchtui.circuit.elements import CHASSIS
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.circuit.resistance import resistance
from benchtui.forecast.joints import Joints
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import StageStates, Walk, first
from benchtui.forecast.run import highest_mains
from benchtui.quantities.show import show

FIXED_BIAS_OHM = 100.0
"""A cathode with less than this to chassis has its bias from elsewhere."""

_UNDER_HT_V = 60.0
"""Anode volts from which an output valve without bias draws a current that harms it (common practice, no source)."""

_BIAS_V = -1.0
"""A grid that reads above this has no bias to speak of."""

_KEPT_SHARE = 0.98
_SOURCE = "common practice, no source"


@dataclass(frozen=True, eq=False)
class Powered:
    """An output section and the first stage in which it stands under HT."""

    section: Section
    states: StageStates


def powered_output(walk: Walk) -> Iterator[Powered]:
    """Every output section that comes under HT, with the first stage in which it does."""
    for section in sections(walk.build):
        watts = section.ratings.get("anode_w")
        if section.kind == "diode" or watts is None or watts.value < POWER_W:
            continue
        under_ht = (states for states in walk.states.values() if _is_under_ht(states, section))
        found = next(under_ht, None)
        if found is not None:
            yield Powered(section, found)


def _is_under_ht(states: StageStates, section: Section) -> bool:
    if section.id not in states.rated.system.network.valve_names:
        return False
    anode, cathode = section.nodes["anode"], section.nodes["cathode"]
    volts = (first(found.dc(anode, CHASSIS)) for found in (states.rated, states.cold))
    return any(v - first(np.nan_to_num(states.rated.dc(cathode, CHASSIS))) > _UNDER_HT_V for v in volts)


def has_fixed_bias(states: StageStates, section: Section) -> bool:
    """Whether the bias comes from a supply: next to nothing in the cathode, or a grid below chassis."""
    cathode_ohm = first(resistance(states.rated.circuit, section.nodes["cathode"], CHASSIS))
    return cathode_ohm < FIXED_BIAS_OHM or _reads(states.cold, section.nodes["grid"], CHASSIS) < _BIAS_V


def _reads(found: Operating, red: str, black: str) -> float:
    """Direct volts from `red` to `black`; NaN where the circuit lacks a node or nothing sets it."""
    nodes = found.system.network.nodes.keys() | {CHASSIS}
    return first(found.dc(red, black)) if {red, black} <= nodes else np.nan


def grid_bias_read(walk: Walk) -> Iterator[Finding]:
    """No output valve comes under HT before its grid pin has been read with its bias."""
    for powered in powered_output(walk):
        section, states = powered.section, powered.states
        if not has_fixed_bias(states, section):
            continue
        earlier = [each for each in walk.states.values() if _comes_before(walk, each, states)]
        grid = section.nodes["grid"]
        if any(_is_read(each, grid) for each in earlier):
            continue
        text = (
            f"{section.id} has fixed bias and comes under HT here, and no earlier stage reads its grid: a point on "
            f'node {grid} with quantity = "dc" and guards = "grid bias" is wanted in a powered stage before this one'
        )
        severity = walk.grade("stop") if any(_reads_some_bias(each) for each in earlier) else "stop"
        yield states.find(severity, section.id, "grid-bias-unread", text, None, None, _SOURCE)


def _comes_before(walk: Walk, one: StageStates, other: StageStates) -> bool:
    order = list(walk.states)
    return order.index(one.stage) < order.index(other.stage)


def _is_read(states: StageStates, grid: str) -> bool:
    """Whether a guarded point of the stage reads negative volts at the grid's own pin."""
    joints = Joints(states.build, states.state)
    at_pin = joints.pair((grid, CHASSIS))
    guarded = (point for point in _direct(states) if point.guards == "grid bias" and joints.of_point(point) == at_pin)
    return any(_reads(states.rated, point.red, point.black) < _BIAS_V for point in guarded)


def _reads_some_bias(states: StageStates) -> bool:
    return any(_reads(states.rated, point.red, point.black) < _BIAS_V for point in _direct(states))


def _direct(states: StageStates) -> Iterator[Point]:
    points = states.build.point.values()
    return (point for point in points if states.stage in point.stages and point.quantity == "dc")


def lifted_wipers(walk: Walk) -> Iterator[Finding]:
    """With a wiper off its track every output grid must stay as negative as it was, or more so.

    Solved with cold cathodes, one wiper lifted after the other.
    """
    for states, fixed in _fixed_by_stage(walk):
        pots = [name for name in states.build.pot if name in states.cold.system.network.tracks]
        state = replace(
            stage_state(states.build, states.stage, mains_v=highest_mains(states.build)).cold(),
            pots=states.run.positions,
        )
        for pot in pots:
            circuit = assemble(states.build, replace(state, wipers_open=frozenset({pot})))
            lifted = operate(circuit, start=states.cold)
            for section in fixed:
                kept_v, volts = (first(found.dc(section.nodes["grid"], CHASSIS)) for found in (states.cold, lifted))
                if kept_v < _BIAS_V and not volts <= _KEPT_SHARE * kept_v:
                    yield _lifted(states, pot, section, kept_v, volts)


def _lifted(states: StageStates, pot: str, section: Section, kept_v: float, volts: float) -> Finding:
    goes = f"goes from {show(kept_v, 'V', 3)} to {show(volts, 'V', 3)}" if np.isfinite(volts) else "is left to float"
    text = (
        f"{pot}: should its wiper lift off the track, the grid of {section.id} {goes} and the valve burns out; a "
        "resistor from the wiper to the most negative end, ten times the track or so, cuts it off instead"
    )
    return states.find("stop", pot, "lifted-wiper", text, volts if np.isfinite(volts) else None, kept_v, _SOURCE)


def _fixed_by_stage(walk: Walk) -> Iterator[tuple[StageStates, list[Section]]]:
    """Output sections with fixed bias, by the stage in which they first come under HT."""
    found: dict[str, list[Section]] = {}
    for powered in powered_output(walk):
        if has_fixed_bias(powered.states, powered.section):
            found.setdefault(powered.states.stage, []).append(powered.section)
    return ((walk.states[stage], fixed) for stage, fixed in found.items())
