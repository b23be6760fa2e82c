"""The engine's nominal readings of the demo builds against the kept ngspice records, and the program's own review."""

from __future__ import annotations

import math

import pytest

from benchtui.forecast.expect import expect_stage
from benchtui.forecast.ohms import expect_ohms
from benchtui.forecast.review import review
from tests.builds.recorded import NAMES, build, readings

STAGES = [(name, stage) for name in NAMES for stage in readings(name)]

#: The windows are not looked at here, so a few samples do.
SAMPLES = 8


def near(quantity: str, value: float) -> float:
    """How far the engine may be from ngspice: measured 0.2 % at most on volts, 0.6 % on ripple; twice that."""
    if quantity == "ripple":
        return max(0.012 * value, 5e-4)
    return max(0.004 * abs(value), 2e-3)


@pytest.mark.parametrize(("name", "stage"), STAGES)
def test_nominal_readings_agree_with_ngspice(name, stage):
    made = build(name).build
    forecast = expect_stage(made, stage, samples=SAMPLES)
    bare = expect_ohms(made, stage, clips=(), samples=SAMPLES)  # the records have no bleed clip in the ohms
    expected = {expectation.point: expectation for expectation in (*forecast.expectations, *bare)}
    shown = readings(name)[stage]
    assert expected.keys() == shown.keys()
    assert forecast.left_out == ()
    for point, value in shown.items():
        nominal = expected[point].nominal
        if math.isinf(value):
            assert math.isinf(nominal), point
            continue
        leads = made.meter.lead_ohm if made.point[point].guards == "bond" else 0.0
        assert nominal == pytest.approx(value + leads, abs=near(made.point[point].quantity, value)), point


@pytest.mark.parametrize("name", NAMES)
def test_the_build_file_gives_no_warning_and_the_review_nothing_worse_than_a_note(name):
    loaded = build(name)
    assert loaded.warnings == ()
    assert [finding for finding in review(loaded.build) if finding.severity != "note"] == []
