"""First power through a lamp or a variable transformer: limits, and the least that a sound stage must show there.

Nobody knows what is healthy behind a limiter, so no window is given. But a reading of nothing is no sign that there is
no short: the fuse may have blown, or the mains may not be there at all.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

import numpy as np

from benchtui.buildfile.models import Build, Point
from benchtui.circuit.operating import Operating
from benchtui.forecast.drawn import drawn_stage
from benchtui.forecast.lamp import behind_lamp
from benchtui.forecast.limits import powered_limits
from benchtui.forecast.results import StageForecast
from benchtui.forecast.run import SAMPLES, stage_run
from benchtui.verdicts.expectation import Expectation

_SURE = 0.7
"""Share of the computed reading that a sound stage shows behind any lamp of these watts."""

_TURNED_UP = 0.02
"""Share of the full reading that shows that a variable transformer has been turned up at all."""

_LEAST_V = {"dc": 1.0, "ac": 0.2, "ripple": np.inf}
"""Computed readings below these promise nothing."""


def limited_limits(build: Build, stage: str) -> StageForecast:
    """The limits of the stage's live points as at full mains; `low` (`high` if negative) is the least to be seen.

    A limiter brings readings nearer to zero, so a limit on their size that is passed there is passed all the more at
    full mains. A limit the other way, such as bias that is not negative enough, has no sense there. Nominal is NaN.
    """
    run = stage_run(build, stage)
    limits = powered_limits(run, stage)
    least = _least(build, stage, {name: build.point[name] for name in limits})
    expectations = []
    for name, limit in limits.items():
        low, high, why = least.get(name, (-np.inf, np.inf, ()))
        expectations.append(
            Expectation(
                name,
                build.point[name].quantity,
                "V",
                np.nan,
                low,
                high,
                stop_low=limit.low if limit.low is not None and limit.low.value < 0.0 else None,
                stop_high=limit.high if limit.high is not None and limit.high.value > 0.0 else None,
                why=why,
                guards=build.point[name].guards,
            )
        )
    return StageForecast(stage, float(build.mains.volts), tuple(expectations), ())


def lamp_looks(build: Build, stage: str) -> dict[float, Literal["dark", "dim", "bright"]]:
    """Watts of each lamp owned = how a sound stage leaves it; a lamp is left out where that cannot be computed."""
    found = {watts: behind_lamp(build, stage, watts) for watts in build.bench.lamps}
    return {watts: behind.look for watts, behind in found.items() if behind is not None}


def _least(build: Build, stage: str, points: Mapping[str, Point]) -> dict[str, tuple[float, float, tuple[str, ...]]]:
    """Point = low, high and why: the window from the least reading of a sound stage upwards."""
    found: list[tuple[Operating, float, str]] = []
    if build.bench.variable_transformer:
        full = stage_run(build, stage, trimmed=False).nominal
        found.append((full, _TURNED_UP, "turned up at all, it shows a fiftieth of the full reading"))
    if build.bench.lamps:
        watts = min(build.bench.lamps)
        behind = behind_lamp(build, stage, watts)
        if behind is not None:
            found.append((behind.found, _SURE, f"the least computed behind a lamp of {watts:.0f} W, and a third less"))
    shown: dict[str, tuple[float, float, tuple[str, ...]]] = {}
    for name, point in points.items():
        sure = [_sure(solved, point, share, why) for solved, share, why in found]
        if sure and all(volts != 0.0 for volts, _ in sure):
            volts, why = min(sure, key=lambda each: abs(each[0]))
            volts *= _once_trimmed(build, stage, name)
            shown[name] = (volts, np.inf, (why,)) if volts > 0.0 else (-np.inf, volts, (why,))
    return shown


def _once_trimmed(build: Build, stage: str, name: str) -> float:
    """How much nearer to zero the reading is once the pots are trimmed, as a share: they may have been already.

    Of sound builds the one that comes nearest counts: a weak valve's grid is trimmed far less negative than another's.
    """
    point = build.point[name]
    if not build.adjust or point.quantity != "dc":
        return 1.0
    start = float(np.ravel(stage_run(build, stage, trimmed=False).nominal.dc(point.red, point.black))[0])
    drawn = drawn_stage(build, stage, float(build.mains.volts), True, SAMPLES)
    low, high = drawn.windows[list(drawn.points).index(name)]
    trimmed = float(low if start > 0.0 else high)
    return min(1.0, trimmed / start) if trimmed * start > 0.0 else 0.0


def _sure(solved: Operating, point: Point, share: float, why: str) -> tuple[float, str]:
    """The reading nearest to zero over the samples, times `share`; 0 where nothing is promised."""
    volts = (solved.dc if point.quantity == "dc" else solved.ac_rms)(point.red, point.black)
    alike = np.all(volts > 0.0) or np.all(volts < 0.0)
    least = float(volts[np.argmin(np.abs(volts))])
    if not (alike and abs(least) >= _LEAST_V[point.quantity]):
        return 0.0, why
    return share * least, why
