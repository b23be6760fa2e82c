"""The point to watch where nothing but hum is expected."""

from __future__ import annotations

from pathlib import Path

from benchtui.buildfile.load import load
from benchtui.forecast.course import first_minute
from benchtui.forecast.expect import expect_powered

BUILDS = Path(__file__).parents[2] / "builds"


def test_across_the_load_hum_is_healthy_and_the_figure_to_switch_off_at_is_the_limit() -> None:
    """Ten millivolts of hum: common practice, no source. The circuit alone gives microvolts."""
    build = load(BUILDS / "pp-6v6.toml").build
    found = {e.point: e for e in expect_powered(build, "signal", mains_v=230.0, samples=16).expectations}["load_ac"]
    assert abs(found.nominal) < 1e-4 and 0.005 < found.high < 0.02
    course = first_minute(build, "signal", mains_v=230.0)
    assert course is not None and course.switch_off_v == 1.0 and "oscillates" in course.reason
