"""Earth bond and insulation: readings that no circuit predicts better than the rule they must keep."""

from __future__ import annotations

import numpy as np

from benchtui.buildfile.models import Build, Point
from benchtui.forecast.instruments import lacking
from benchtui.parts.guide import guide
from benchtui.verdicts.expectation import Expectation, Limit


def guarded_expectation(build: Build, name: str, point: Point, computed_ohm: float) -> Expectation:
    """What a bond (at most) or an insulation (at least) must read; `computed_ohm` is the wiring's own."""
    return _bond(build, name, point, computed_ohm) if point.guards == "bond" else _insulation(build, name, point)


def _bond(build: Build, name: str, point: Point, computed_ohm: float) -> Expectation:
    limit, screen = guide("bond.limit"), guide("bond.hand_meter")
    healthy = computed_ohm + build.meter.lead_ohm + limit.value
    reason = f"earth bond above {screen.value} ohm ({screen.source})"
    return Expectation(
        point=name,
        quantity="resistance",
        unit="ohm",
        nominal=computed_ohm + build.meter.lead_ohm,
        low=0.0,
        high=min(healthy, screen.value),
        stop_high=Limit(screen.value, reason),
        guards="bond",
        why=(
            f"at most {limit.value} ohm of bond ({limit.source}), and the meter's leads",
            _proof(build, point, "a hand meter screens a bond; a bond tester proves it, local rules say which"),
        ),
    )


def _insulation(build: Build, name: str, point: Point) -> Expectation:
    least = guide("insulation.class_1")
    return Expectation(
        point=name,
        quantity="resistance",
        unit="ohm",
        nominal=np.inf,
        low=least.value,
        high=np.inf,
        stop_low=Limit(least.value, f"insulation under 1 Mohm ({least.source})"),
        guards="insulation",
        why=(_proof(build, point, "a hand meter only finds a plain short; an insulation tester at 500 V proves it"),),
    )


def _proof(build: Build, point: Point, how: str) -> str:
    """What proves the point, and that a good reading is no pass where it is not owned."""
    missing = lacking(build, point)
    return f"{how}; no {missing} here, so a good reading is not measured, never a pass" if missing else how
