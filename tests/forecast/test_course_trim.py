"""The first minute, bias targets, and limits behind a lamp."""

from __future__ import annotations

import math

import numpy as np
import pytest

from benchtui.buildfile.models import Adjustment, Build, Stage
from benchtui.forecast.course import emission_at, first_minute
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.limited import limited_limits
from benchtui.forecast.trim import ht_point, trim_target
from tests.reference.amplifiers import build


def watching(point: str) -> Build:
    made = build("a").build
    return made.model_copy(update={"stage": {"output": Stage(watch=point)}})


def test_emission_reaches_nine_tenths_at_its_time() -> None:
    assert emission_at(np.array([0.0, 15.0, 60.0]), 15.0) == pytest.approx([0.0, 0.9, 1.0])


def test_ht_overshoots_while_the_output_valves_are_still_cold() -> None:
    # 5Y3GT heats in seconds, the 6V6GT later: HT rises above its loaded value first
    course = first_minute(watching("bp2"), "output")
    assert course is not None
    assert course.highest_v > 1.1 * course.volts[-1]
    assert course.switch_off_v > course.highest_v


def test_a_cathode_rises_to_its_settled_value() -> None:
    course = first_minute(watching("v2_cathode"), "output")
    assert course is not None
    assert course.volts[0] == pytest.approx(0.0, abs=0.01)
    assert np.all(np.diff(course.volts) > -0.5)
    assert course.volts[-1] == pytest.approx(17.8, rel=0.02)


def test_no_healthy_build_is_switched_off_while_it_settles() -> None:
    """At measured mains the figure to switch off at lies above the window of the settled reading."""
    made = watching("v2_cathode")
    course = first_minute(made, "output", mains_v=230.0)
    told = {e.point: e for e in expect_powered(made, "output", mains_v=230.0).expectations}["v2_cathode"]
    assert course is not None
    assert told.high < course.switch_off_v < 1.1 * told.high


def test_before_the_first_trim_a_valve_at_full_current_is_not_as_computed() -> None:
    made = build("c").build
    trims = {name: a.model_copy(update={"stages": ("output", "driver")}) for name, a in made.adjust.items()}
    watched = {stage: Stage(watch="v3_cathode") for stage in ("output", "driver")}
    made = made.model_copy(update={"stage": watched, "adjust": trims})
    first, later = (first_minute(made, stage, mains_v=230.0) for stage in ("output", "driver"))
    assert first is not None and later is not None
    assert first.switch_off_v < 0.25 < later.volts[-1] < later.switch_off_v  # the target is 0.4 V


def test_a_stage_without_a_point_to_watch_has_no_course() -> None:
    assert first_minute(build("a").build, "output") is None


def test_a_target_in_volts_is_taken_as_written() -> None:
    target = trim_target(build("c").build, "output", "P1")
    assert target.target_v == 0.4 and target.low < 0.4 < target.high


def dissipating(share: float) -> Build:
    made = build("c").build
    adjust = {
        name: Adjustment(
            pot=name, point=f"{valve.lower()}_cathode", dissipation=f"{100 * share} %", valve=valve,
            stages=("output",), reach="outside",
        )
        for name, valve in (("P1", "V3"), ("P2", "V4"))
    }
    return made.model_copy(update={"adjust": adjust})


def test_a_target_by_dissipation_gives_these_watts() -> None:
    # 60 % of 25 W; volts across 10 ohm are the cathode current: anode (about 92 %) and screen
    target = trim_target(dissipating(0.6), "output", "P1")
    anode_a = 0.92 * target.target_v / 10.0
    assert anode_a * 395.0 == pytest.approx(15.0, rel=0.06)


def test_a_lower_ht_allows_more_current() -> None:
    made = dissipating(0.6)
    assert ht_point(made, "output") == "bp2"
    low, high = (trim_target(made, "output", "P1", ht_v=ht).target_v for ht in (360.0, 430.0))
    assert low / high == pytest.approx(430.0 / 360.0, rel=0.05)


def test_behind_a_lamp_only_limits_hold() -> None:
    for expectation in limited_limits(build("a").build, "output").expectations:
        assert math.isnan(expectation.nominal) and expectation.low == -math.inf
        assert expectation.stop_low is None or expectation.stop_low.value < 0.0
        assert expectation.stop_high is None or expectation.stop_high.value > 0.0


def test_a_bias_rail_is_switched_off_when_it_is_not_negative() -> None:
    made = build("c").build
    made = made.model_copy(update={"stage": {"supply": Stage(watch="bias_rail")}})
    course = first_minute(made, "supply")
    assert course is not None
    assert course.highest_v < -40.0 and -40.0 < course.switch_off_v <= 1.0
