"""First power through a lamp or a variable transformer: limits only, since nobody knows what is healthy there."""

from __future__ import annotations

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.circuit.elements import CHASSIS
from benchtui.circuit.network import network
from benchtui.forecast.limits import stage_limits
from benchtui.forecast.results import StageForecast
from benchtui.forecast.run import stage_run
from benchtui.verdicts.expectation import Expectation


def limited_limits(build: Build, stage: str) -> StageForecast:
    """The limits of the stage's live points as at full mains, with windows open on both sides.

    A limiter brings readings nearer to zero, so a limit on their size that is passed there is passed all the more at
    full mains. A limit the other way, such as bias that is not negative enough, has no sense there. Nominal is NaN.
    """
    run = stage_run(build, stage)
    nodes = network(run.nominal.circuit).nodes.keys() | {CHASSIS}
    points = {
        name: point
        for name, point in build.point.items()
        if stage in point.stages and point.quantity != "resistance" and {point.red, point.black} <= nodes
    }
    limits = stage_limits(run, stage, points)
    expectations = tuple(
        Expectation(
            name,
            point.quantity,
            "V",
            np.nan,
            -np.inf,
            np.inf,
            stop_low=low if (low := limits[name].low) is not None and low.value < 0.0 else None,
            stop_high=high if (high := limits[name].high) is not None and high.value > 0.0 else None,
            guards=point.guards,
        )
        for name, point in points.items()
    )
    return StageForecast(stage, float(build.mains.volts), expectations, ())
