"""The computed first minute: the point to watch while cathodes warm, and the figure to switch off at."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State, stage_state
from benchtui.assemble.valves import rectifier_valves
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import order
from benchtui.circuit.elements import Choke
from benchtui.circuit.probe import Probe, readings
from benchtui.circuit.switch_on import switch_on
from benchtui.forecast.drawn import Drawn, drawn_stage
from benchtui.forecast.limits import powered_limits
from benchtui.forecast.results import Course
from benchtui.forecast.run import SAMPLES, solve_variants, stage_run
from benchtui.parts.guide import value as guide

TIMES_S = (0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0, 18.0, 22.0, 27.0, 35.0, 45.0, 60.0)
_NINE_TENTHS = np.log(10.0)
_MARGIN = 1.05

METER_S = 0.3
"""What a digital meter takes the mean of (common practice, no source)."""

SWING_S, SWING_POINTS = 0.6, 48


def emission_at(times_s: np.ndarray, warm_s: float) -> np.ndarray:
    """Share of the full emission at `times_s` after switch-on; nine tenths at `warm_s` (shape: common practice).

    Emission starts late and rises steeply, as temperature does not show at first: 1 - exp(-ln 10 (t / warm)^3).
    """
    return -np.expm1(-_NINE_TENTHS * (times_s / warm_s) ** 3)


def first_minute(build: Build, stage: str, *, mains_v: float | None = None) -> Course | None:
    """The course of the stage's point to watch; None where the stage names none or it floats.

    Quasi-static: each moment is the operating point at its emission, the reservoirs filling in under a second. In that
    second a filter may swing higher: what a meter shows of it stands at 0 s.
    """
    entry = build.stage.get(stage)
    if entry is None or entry.watch is None:
        return None
    point = build.point[entry.watch]
    trimmed = _comes_trimmed(build, stage)
    state = stage_state(build, stage, mains_v=mains_v, trimmed=trimmed)
    run = stage_run(build, stage, mains_v=mains_v, trimmed=trimmed)
    if run.nominal.blame[0] is not None:
        return None
    times = np.array(TIMES_S)
    warming = replace(
        state,
        emission=emission_at(times, guide("warm_up.indirect")),
        rectifier_emission=emission_at(times, rectifiers_warm_s(build)),
        thermistors_warm=-np.expm1(-_NINE_TENTHS * times / guide("warm_up.thermistor")),
    )
    found = solve_variants(run, warming)
    kind = "dc" if point.quantity == "dc" else "ac"
    volts = readings(found, [Probe(point.red, point.black, kind, build.meter.input)])[:, 0]
    volts = np.broadcast_to(volts, times.shape)  # one sample where no valve is in that warms up
    if not np.isfinite(volts).any():
        return None
    volts = np.interp(times, times[np.isfinite(volts)], volts[np.isfinite(volts)])
    if kind == "dc":
        swing = _first_swing(build, replace(state, pots=run.positions), {point.red, point.black})
        volts[0] = max(volts[0], swing, key=abs)
    extreme = float(volts[np.argmax(np.abs(volts))])
    off_v, reason = _switch_off_above(extreme, drawn_stage(build, stage, mains_v, trimmed, SAMPLES), entry.watch)
    limit = powered_limits(run, stage)[entry.watch].high
    # a trimmed current was right at the mains of its day: what it may not pass is the rating
    drifts = trimmed and any(build.adjust[name].point == entry.watch for name in run.targets)
    # hum, and what a heater is given, does not follow the cathodes: what it may not pass is its own limit
    if limit is not None and (limit.value < off_v or extreme < 0.0 or drifts or kind == "ac"):
        off_v, reason = limit.value, limit.reason
    return Course(entry.watch, TIMES_S, tuple(map(float, volts)), extreme, off_v, reason)


def rectifiers_warm_s(build: Build) -> float:
    """How long the rectifier valves take to warm up: those of the build that are heated directly set it."""
    direct = any(rectifier.heating == "direct" for rectifier in rectifier_valves(build).values())
    return guide("warm_up.direct" if direct else "warm_up.indirect")


def _first_swing(build: Build, state: State, nodes: set[str]) -> float:
    """The highest that a meter shows across a capacitor between `nodes` as the mains comes on, everything cold, in V.

    0 where none stands there or no choke is in the circuit: then nothing swings.
    """
    across = [name for name, part in build.capacitor.items() if set(part.nodes) == nodes and name in state.fitted]
    circuit = assemble(build, replace(state.cold(), rectifier_emission=0.0, thermistors_warm=0.0))
    if not across or not any(isinstance(element, Choke) for element in circuit.elements):
        return 0.0
    found = switch_on(circuit, SWING_S, points=SWING_POINTS)
    volts = np.nan_to_num(found.volts[across[0]][:, 0])
    shown = round(METER_S * SWING_POINTS * circuit.mains_hz)
    means = np.convolve(volts, np.full(shown, 1.0 / shown), mode="valid")
    return float(means[np.argmax(np.abs(means))])


def _comes_trimmed(build: Build, stage: str) -> bool:
    """Whether the pots of `stage` were trimmed in one before it; the first begins with each where it starts."""
    place = {name: number for number, name in enumerate(order(build))}
    return all(
        any(place[before] < place[stage] for before in adjustment.stages)
        for adjustment in build.adjust.values()
        if stage in adjustment.stages
    )


def _switch_off_above(extreme: float, drawn: Drawn, point: str) -> tuple[float, str]:
    """A reading above which something is wrong while settling, and why: bias must not be positive.

    What healthy builds read when settled lies as far above the nominal build's while they settle.
    """
    if extreme < 0.0:
        return 0.0, "it has to be negative"
    settled = list(drawn.points).index(point)
    high = drawn.windows[settled, 1]
    share = max(high / drawn.nominal[settled], 1.0) if drawn.nominal[settled] > 0.0 else 1.0
    return float(extreme * share * _MARGIN), "a twentieth above the highest that healthy builds read"
