"""First power through a lamp or a variable transformer: limits only, since nobody knows what is healthy there."""

from __future__ import annotations

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.forecast.limits import powered_limits
from benchtui.forecast.results import StageForecast
from benchtui.forecast.run import stage_run
from benchtui.verdicts.expectation import Expectation


def limited_limits(build: Build, stage: str) -> StageForecast:
    """The limits of the stage's live points as at full mains, with windows open on both sides.

    A limiter brings readings nearer to zero, so a limit on their size that is passed there is passed all the more at
    full mains. A limit the other way, such as bias that is not negative enough, has no sense there. Nominal is NaN.
    """
    run = stage_run(build, stage)
    limits = powered_limits(run, stage)
    expectations = tuple(
        Expectation(
            name,
            build.point[name].quantity,
            "V",
            np.nan,
            -np.inf,
            np.inf,
            stop_low=limit.low if limit.low is not None and limit.low.value < 0.0 else None,
            stop_high=limit.high if limit.high is not None and limit.high.value > 0.0 else None,
            guards=build.point[name].guards,
        )
        for name, limit in limits.items()
    )
    return StageForecast(stage, float(build.mains.volts), expectations, ())
