"""A grid may be probed behind its stopper: the same reading, window and limit as at its pin, away from HT."""

from __future__ import annotations

import pytest

from benchtui.assemble.valves import sections
from benchtui.forecast.expect import expect_stage
from benchtui.forecast.grids import grid_nodes
from tests.reference.amplifiers import build


def test_a_stopper_has_the_grid_at_both_ends_and_a_leak_has_not() -> None:
    """Amplifier A: V2's stopper of 1.5 kohm leads to v2_gl, its leak of 220 kohm to chassis."""
    made = build("a").build
    found = {section.id: grid_nodes(made, section) for section in sections(made)}
    assert found["V2"] == {"v2_g", "v2_gl"}
    assert found["V1b"] == {"v1b_g"}
    assert found["V4a"] == frozenset()


def test_behind_the_stopper_reading_window_and_limit_are_those_of_the_pin() -> None:
    made = build("a").build
    pin = made.point["v2_grid"].model_copy(update={"stages": ("output",)})
    points = {"pin": pin, "behind": pin.model_copy(update={"red": "v2_gl"})}
    forecast = expect_stage(made.model_copy(update={"point": points}), "output", samples=8)
    at_pin, behind = forecast.expectations
    assert behind.nominal == pytest.approx(at_pin.nominal, abs=1e-3)
    assert (behind.low, behind.high) == pytest.approx((at_pin.low, at_pin.high), abs=5e-4)
    assert at_pin.high > 0.005, "a sound grid's stray current is allowed for"
    assert behind.stop_high.value == pytest.approx(at_pin.stop_high.value, rel=1e-3)
