"""The computed first minute: the point to watch while cathodes warm, and the figure to switch off at."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchtui.assemble.state import stage_state
from benchtui.assemble.valves import known_type
from benchtui.buildfile.models import Build
from benchtui.circuit.probe import Probe, readings
from benchtui.forecast.limits import powered_limits
from benchtui.forecast.results import Course
from benchtui.forecast.run import solve_variants, stage_run
from benchtui.parts.guide import value as guide

TIMES_S = (0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0, 18.0, 22.0, 27.0, 35.0, 45.0, 60.0)
_NINE_TENTHS = np.log(10.0)
_MARGIN = 1.05


def emission_at(times_s: np.ndarray, warm_s: float) -> np.ndarray:
    """Share of the full emission at `times_s` after switch-on; nine tenths at `warm_s` (shape: common practice).

    Emission starts late and rises steeply, as temperature does not show at first: 1 - exp(-ln 10 (t / warm)^3).
    """
    return -np.expm1(-_NINE_TENTHS * (times_s / warm_s) ** 3)


def first_minute(build: Build, stage: str, *, mains_v: float | None = None) -> Course | None:
    """The course of the stage's point to watch; None where the stage names none or it floats.

    Quasi-static: each moment is the operating point at its emission, the reservoirs filling in under a second.
    """
    entry = build.stage.get(stage)
    if entry is None or entry.watch is None:
        return None
    point = build.point[entry.watch]
    state = stage_state(build, stage, mains_v=mains_v)
    run = stage_run(build, stage, mains_v=mains_v)
    times = np.array(TIMES_S)
    rectifiers = [known_type(valve.type) for valve in build.valve.values()]
    direct = any(t is not None and t.heating == "direct" and "rectifier" in t.kind for t in rectifiers)
    warming = replace(
        state,
        emission=emission_at(times, guide("warm_up.indirect")),
        rectifier_emission=emission_at(times, guide("warm_up.direct" if direct else "warm_up.indirect")),
    )
    found = solve_variants(run, warming)
    kind = "dc" if point.quantity == "dc" else "ac"
    volts = readings(found, [Probe(point.red, point.black, kind, build.meter.input)])[:, 0]
    volts = np.broadcast_to(volts, times.shape)  # one sample where no valve is in that warms up
    if not np.isfinite(volts).any():
        return None
    volts = np.interp(times, times[np.isfinite(volts)], volts[np.isfinite(volts)])
    extreme = float(volts[np.argmax(np.abs(volts))])
    off_v, reason = _switch_off_above(extreme, 1.0 + build.mains.spread if mains_v is None else 1.0)
    limit = powered_limits(run, stage)[entry.watch].high
    if limit is not None and (limit.value < off_v or extreme < 0.0):
        off_v, reason = limit.value, limit.reason
    return Course(entry.watch, TIMES_S, tuple(map(float, volts)), extreme, off_v, reason)


def _switch_off_above(extreme: float, high_mains: float) -> tuple[float, str]:
    """A reading above which something is wrong while settling, and why: bias must not be positive."""
    if extreme < 0.0:
        return 0.0, "it has to be negative"
    return extreme * _MARGIN * high_mains, "a twentieth above the highest computed reading"
