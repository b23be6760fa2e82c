"""Which instrument proves a point, and whether the builder owns it."""

from __future__ import annotations

from benchtui.buildfile.models import Build, Point
from benchtui.parts.guide import value as guide
from benchtui.quantities.show import show


def proving(point: Point) -> str:
    """The instrument that proves `point`; "" where the meter itself does."""
    if point.guards == "bond":
        return "bond tester"
    if point.guards == "insulation":
        return f"{show(guide('insulation.test_volts'), 'V')} insulation tester"
    return ""


def lacking(build: Build, point: Point) -> str:
    """The instrument that would prove `point` and is not owned; "" where it is, or where the meter will do.

    An insulation tester of fewer volts than the guide value's test is none for this.
    """
    bench = build.bench
    owned = {
        "bond": bench.bond_tester,
        "insulation": (bench.insulation_tester or 0.0) >= guide("insulation.test_volts"),
    }
    return "" if owned.get(point.guards or "", True) else proving(point)
