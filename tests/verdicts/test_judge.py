"""Verdicts on readings: what passes, what is doubted, and what stops the work."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtui.verdicts.expectation import Expectation, Limit
from benchtui.verdicts.judge import doubtful, judge

HT = Expectation("ht", "dc", "V", 300.0, 285.0, 315.0, None, Limit(350.0, "C1 is rated 350 V"))
GRID = Expectation(
    "grid", "dc", "V", -38.0, -42.0, -34.0, Limit(-70.0, "C5 is rated 70 V"), Limit(-20.0, "no bias"), (), "grid bias"
)
OHMS = Expectation("rk", "resistance", "ohm", 470.0, 440.0, 500.0)
OPEN = Expectation("insulation", "resistance", "ohm", inf, 10e6, inf, Limit(1e6, "leaks"), None, (), "insulation")
UNKNOWN = replace(HT, nominal=nan, low=nan, high=nan)
FLOATING = replace(UNKNOWN, stop_high=None)

any_number = st.floats(allow_nan=True, allow_infinity=True)


@pytest.mark.parametrize(
    ("value", "by", "verdict", "rule"),
    [
        (300.0, HT, "pass", "window"),
        (285.0, HT, "pass", "window"),
        (284.9, HT, "warn", "window"),
        (315.1, HT, "warn", "window"),
        (350.0, HT, "warn", "window"),
        (350.1, HT, "stop", "limit"),
        (-300.0, HT, "warn", "sign"),
        (-38.0, GRID, "pass", "window"),
        (-10.0, GRID, "stop", "limit"),
        (38.0, GRID, "stop", "limit"),
        (-71.0, GRID, "stop", "limit"),
        (470.0, OHMS, "pass", "window"),
        (inf, OHMS, "warn", "open"),
        (inf, OPEN, "pass", "window"),
        (5e6, OPEN, "warn", "window"),
        (2e3, OPEN, "stop", "limit"),
        (300.0, FLOATING, "warn", "unknown"),
        (360.0, UNKNOWN, "stop", "limit"),
    ],
)
def test_a_reading_is_judged_by_window_and_limits(value: float, by: Expectation, verdict: str, rule: str) -> None:
    judgement = judge(value, by)
    assert (judgement.verdict, judgement.rule) == (verdict, rule)
    assert bool(judgement.reasons) == (verdict != "pass")


@pytest.mark.parametrize("value", [nan, -inf, inf])
@pytest.mark.parametrize("by", [HT, GRID, UNKNOWN, FLOATING])
def test_what_is_no_number_stops(value: float, by: Expectation) -> None:
    assert judge(value, by).verdict == "stop"


def test_a_limit_that_is_no_number_stops() -> None:
    assert judge(300.0, replace(HT, stop_high=Limit(nan, "unknown"))).verdict == "stop"


@given(any_number, any_number, any_number, any_number)
def test_nothing_passes_but_inside_a_known_window(value: float, nominal: float, low: float, high: float) -> None:
    by = replace(HT, nominal=nominal, low=low, high=high)
    if judge(value, by).passed:
        assert low <= value <= high and value <= 350.0 and nominal == nominal


@given(st.floats(-1e4, 1e4), st.floats(0.0, 1.0))
def test_a_narrower_limit_never_turns_a_stop_into_less(value: float, share: float) -> None:
    narrow = replace(HT, stop_high=Limit(350.0 * share, "own limit"))
    if judge(value, HT).verdict == "stop":
        assert judge(value, narrow).verdict == "stop"


def test_swapped_leads_are_named() -> None:
    assert any("leads swapped" in reason for reason in judge(-300.0, HT).reasons)
    assert any("leads swapped" in reason for reason in judge(38.0, GRID).reasons)


@pytest.mark.parametrize(
    ("value", "by", "asked"),
    [
        (3.0, HT, True), (60.1, HT, False), (59.9, HT, True), (1499.0, HT, False), (1501.0, HT, True),
        (300.0, HT, False),
        (0.0, HT, True), (inf, OHMS, True), (4.7, OHMS, True), (300.0, FLOATING, False), (5e6, OPEN, False),
    ],
)  # fmt: skip
def test_five_times_off_is_doubtful(value: float, by: Expectation, asked: bool) -> None:
    assert doubtful(value, by) is asked


def test_a_reading_that_passes_is_never_doubted() -> None:
    wide = replace(HT, nominal=0.001, low=0.0, high=1.0, stop_high=None)
    assert judge(0.5, wide).passed and not doubtful(0.5, wide)
