"""Rules of the review for what happens at the bench: discharge, the gate's cost, the meter, own limits."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from benchtui.forecast.by_rating import threshold_v
from benchtui.forecast.clip import clips_on
from benchtui.forecast.gate import reservoirs_of
from benchtui.forecast.limits import stage_limits
from benchtui.forecast.results import Finding, Reservoir
from benchtui.forecast.review_state import StageStates, Walk, first, of_limit
from benchtui.forecast.rules_parts import RATING
from benchtui.parts.guide import guide
from benchtui.quantities.show import show

_ENTRY_S = 4.0
"""Seconds for one short entry at the gate (own estimate)."""


def discharge_time(states: StageStates) -> Iterator[Finding]:
    good = guide("gate.bleeder_time")
    reservoirs = reservoirs_of(states.build, states.stage)
    for reservoir in reservoirs:
        ohm = _bleeder(states, reservoir, good.value)
        wanted = show(good.value, "s")
        advice = f"a bleeder of {show(ohm, 'ohm', 2)} or less across {reservoir.id} would do it within {wanted}"
        if not reservoir.bled:
            text = f"{reservoir.id} has no bleeder: it keeps up to {show(reservoir.highest_v, 'V', 3)}; {advice}"
            yield states.find("warn", reservoir.id, "no-bleeder", text, None, good.value, good.source)
        elif reservoir.slowest_s > good.value:
            takes = show(reservoir.slowest_s, "s", 2)
            text = f"{reservoir.id} takes {takes} to fall under the threshold, valves cold; {advice}"
            yield states.find("warn", reservoir.id, "slow-bleeder", text, reservoir.slowest_s, good.value, good.source)
    if reservoirs:
        minutes = gate_minutes(states, reservoirs)
        text = f"a gate here takes about {minutes:.1f} minutes with {len(reservoirs)} reservoir readings a round"
        yield states.find("note", "", "gate-cost", text, minutes * 60.0, None, "computed from its waits and entries")


def gate_links(walk: Walk) -> Iterator[Finding]:
    """How many links the gates of this build take at most, beside the clip: the builder makes them before."""
    most = max((len(clips_on(walk.build, stage, linked=False, after=stage)) - 1 for stage in walk.states), default=0)
    if most > 0:
        ohm = show(walk.build.gate.clip, "ohm")
        text = f"have {most} bleed link{'s' * (most > 1)} ready beside the bleed clip: {ohm} with a clip at each end"
        yield Finding("note", "", "", "gate-links", text, float(most), None, "computed from what the gate reads")


def gate_minutes(states: StageStates, reservoirs: tuple[Reservoir, ...]) -> float:
    """Minutes for one gate: the fall, the wait between the rounds, the clip's time and the entries."""
    gate = states.build.gate
    bled = all(reservoir.bled for reservoir in reservoirs)
    wait_s = gate.wait or guide("gate.wait" if bled else "gate.wait_without_bleeder").value
    clip_s = gate.clip_time or guide("gate.clip_time").value
    fall_s = max(min(reservoir.slowest_s, reservoir.bleed.seconds + 30.0) for reservoir in reservoirs)
    entries_s = (6 + 2 * len(reservoirs)) * _ENTRY_S
    return (fall_s + wait_s + clip_s + entries_s) / 60.0


def _bleeder(states: StageStates, reservoir: Reservoir, seconds: float) -> float:
    """Largest resistance that empties the group in `seconds`: R = t / (C ln(V0/Vth)), the law of RC decay."""
    threshold = threshold_v(states.build)
    return seconds / (reservoir.farad * np.log(reservoir.highest_v / threshold))


def meter_volts(states: StageStates) -> Iterator[Finding]:
    meter = states.build.meter
    for name, point in states.build.point.items():
        if states.stage not in point.stages or point.quantity == "resistance":
            continue
        for when, found in states.at_high_mains:
            nodes = found.system.network.nodes
            if not all(node == "0" or node in nodes for node in (point.red, point.black)):
                continue
            dc, ac = (abs(first(np.nan_to_num(of(point.red, point.black)))) for of in (found.dc, found.ac_rms))
            volts = np.hypot(dc, ac)
            if volts > meter.largest:
                text = f"{name}, {when}: {of_limit(volts, meter.largest, 'V')} that the meter and its leads stand"
                yield states.find("stop", name, "meter-volts", text, volts, meter.largest, RATING)
            if point.quantity == "ripple" and dc > meter.ac_blocks:
                on = of_limit(dc, meter.ac_blocks, "V")
                text = f"{name}, {when}: ripple on {on} that the meter's AC range withstands"
                yield states.find("stop", name, "meter-ac-range", text, dc, meter.ac_blocks, RATING)


def outside_volts(states: StageStates) -> Iterator[Finding]:
    """What is read with the cover on can be touched with it on."""
    most = guide("outside.volts")
    for name, point in states.build.point.items():
        if states.stage not in point.stages or point.quantity == "resistance" or not point.outside:
            continue
        for when, found in states.at_high_mains:
            nodes = [node for node in (point.red, point.black) if node in found.system.network.nodes]
            volts = max((abs(first(np.nan_to_num(found.dc(node, "0")))) for node in nodes), default=0.0)
            if volts > most.value:
                text = f"{name}, {when}: {of_limit(volts, most.value, 'V')} that may stand where it is read outside"
                yield states.find("stop", name, "outside-volts", text, volts, most.value, most.source)


def own_limits(states: StageStates) -> Iterator[Finding]:
    """A file may only narrow a limit."""
    own = {
        n: p
        for n, p in states.build.point.items()
        if states.stage in p.stages and (p.stop_low, p.stop_high) != (None, None)
    }
    if not own:
        return
    bare = {name: point.model_copy(update={"stop_low": None, "stop_high": None}) for name, point in own.items()}
    for name, limits in stage_limits(states.run, states.stage, bare).items():
        for side, written, computed in (
            ("low", own[name].stop_low, limits.low),
            ("high", own[name].stop_high, limits.high),
        ):
            if written is None or computed is None:
                continue
            wider = written > computed.value if side == "high" else written < computed.value
            if wider:
                wide = f"{name}: own {side} limit {written:g} is wider than the computed {computed.value:.3g}"
                text = f"{wide} ({computed.reason}); it may only be narrower"
                yield states.find(
                    "stop",
                    name,
                    "own-limit-wider",
                    text,
                    written,
                    computed.value,
                    "design rule of the build file",
                )


def points_left_out(states: StageStates) -> Iterator[Finding]:
    nodes = states.rated.system.network.nodes
    for name, point in states.build.point.items():
        if states.stage not in point.stages or point.quantity == "resistance":
            continue
        missing = [node for node in (point.red, point.black) if node != "0" and node not in nodes]
        floats = not missing and not np.isfinite(first(_read(states, point)))
        if missing or floats:
            why = f"node {missing[0]} is not fitted yet" if missing else "nothing but the meter would set it"
            text = f"{name} is left out in this stage: {why}"
            yield states.find("note", name, f"left-out-{states.stage}", text, None, None, "the circuit")


def _read(states: StageStates, point) -> np.ndarray:
    of = states.rated.dc if point.quantity == "dc" else states.rated.ac_rms
    return of(point.red, point.black)
