"""The forming plan and its verdicts, held against published figures and a simulated capacitor."""

from __future__ import annotations

from dataclasses import replace
from math import exp
from random import Random

import pytest

from benchtui.identify.forming import Plan, course, expected_v, findings, judge, leakage
from benchtui.identify.spans import Span

PLAN = Plan(100e-6, 450.0, 450.0, 47e3, 10.0, 2200.0, 10.0, 12.0, 10e6, 6000, 3)


def test_the_leakage_rule_gives_the_handbook_s_figure() -> None:
    """0.01 C V: 100 uF at 450 V 0.45 mA (bench handbook, from memory there)."""
    assert PLAN.good_a == pytest.approx(0.45e-3)


@pytest.mark.parametrize(("farads", "volts", "milliamps"), [(20e-6, 450.0, 1.1), (20e-6, 250.0, 0.7)])
def test_the_old_standard_s_leakage_is_that_of_its_quoted_examples(
    farads: float, volts: float, milliamps: float
) -> None:
    """JAN-C-62 as quoted on a mailing list (second hand): 20 uF at 450 V 1.1 mA, at 250 V 0.7 mA."""
    assert replace(PLAN, farads=farads, rated_v=volts).usable_a * 1e3 == pytest.approx(milliamps)


def test_hold_time_is_five_minutes_and_one_a_month() -> None:
    """Makers' practice (second hand)."""
    assert replace(PLAN, months=60.0).hold_s == 65 * 60


def test_the_resistor_s_watts_are_those_of_a_shorted_capacitor() -> None:
    assert PLAN.worst_w == pytest.approx(450**2 / 47e3)
    assert [f.where for f in findings(replace(PLAN, resistor_w=5.0))] == [("resistor_watts",)]
    assert list(findings(PLAN)) == []


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"volts": 500.0}, "volts"),
        ({"resistor_ohm": 470.0, "resistor_w": 900.0}, "resistor"),
        ({"bleed_ohm": 100.0}, "bleed"),
    ],
)
def test_a_plan_that_would_hurt_is_stopped(change: dict[str, float], where: str) -> None:
    assert (where,) in [f.where for f in findings(replace(PLAN, **change)) if f.severity == "stop"]


def test_a_sound_capacitor_reads_within_the_course_at_every_moment() -> None:
    for farads in (80e-6, 100e-6, 150e-6):
        for leak in (0.0, 0.05 * 112 / 47e3):
            for second in range(1, 120):
                volts = (112 - leak * 47e3) * (1 - exp(-second / (47e3 * farads)))
                low, high = expected_v(PLAN, 112.0, second)
                assert low <= volts + 1e-9 and volts <= high + 1e-9, (farads, leak, second)
    assert [round(t, 1) for t, _, _ in course(PLAN, 112.0)] == [4.7, 9.4, 14.1, 23.5]


def test_leakage_leaves_out_what_the_meter_takes() -> None:
    """450 V across 10 Mohm are 45 uA: more than a small capacitor may leak."""
    volts = 450.0 - 45e-6 * 47e3 * (450 / 452.1)
    span = leakage(PLAN, 450.0, volts)
    assert span.low == 0 and span.value < 1e-6


def test_leakage_encloses_the_truth_for_a_meter_within_its_digits() -> None:
    random = Random(5)
    for _ in range(300):
        leak, supply, gain = random.uniform(0, 2e-3), random.uniform(100, 450), random.uniform(0.995, 1.005)
        volts = (supply - leak * 47e3) / (1 + 47e3 / 10e6)
        shown = [round(v * gain + random.uniform(-0.25, 0.25), 1) for v in (supply, volts)]
        span = leakage(PLAN, *shown)
        assert span.low <= leak * 1.01 and leak * 0.99 <= span.high


def test_nothing_is_said_of_leakage_while_it_charges() -> None:
    assert judge(PLAN, 0, 112.0, 80.0, 5.0, None).word == "charging"
    behind = judge(PLAN, 0, 112.0, 30.0, 5.0, None)
    assert behind.word == "warn" and "behind its course" in behind.text and not behind.on


def test_a_shorted_one_never_passes_and_is_given_up_after_an_hour() -> None:
    """Makers' practice (second hand): given up unless less than 10 % drop within an hour."""
    assert judge(PLAN, 0, 112.0, 0.4, 60.0, None).word == "warn"
    assert judge(PLAN, 0, 112.0, 0.4, 3600.0, None).word == "stop"


def test_rising_leakage_warns_and_stops_where_it_doubles() -> None:
    before = Span(0.1e-3, 0.12e-3, 0.14e-3)
    assert judge(PLAN, 0, 112.0, 102.0, 400.0, before).word == "warn"
    assert judge(PLAN, 0, 112.0, 85.0, 400.0, before).word == "stop"


def test_the_last_step_tells_good_from_usable_from_unusable() -> None:
    def at(leak: float, elapsed: float = 4000.0) -> tuple[str, bool]:
        verdict = judge(PLAN, 3, 450.0, (450.0 - leak * 47e3) / (1 + 47e3 / 10e6), elapsed, None)
        return verdict.word, verdict.on

    assert at(0.2e-3) == ("pass", True)
    assert at(0.9e-3) == ("warn", True)
    assert at(0.2e-3, elapsed=600.0) == ("pass", False)
    usable = replace(PLAN, farads=10e-6)
    assert judge(usable, 3, 450.0, 445.0 - 1.2e-3 * 30e3, 4000.0, None).word == "stop"


def test_a_meter_too_coarse_for_the_rule_gives_no_pass() -> None:
    small = replace(PLAN, farads=1e-6, counts=2000, digits=5)
    assert judge(small, 3, 450.0, 448.0, 4000.0, None).word == "warn"
    coarser = judge(replace(small, digits=12), 3, 450.0, 448.0, 4000.0, None)
    assert (coarser.word, coarser.on) == ("warn", False) and "larger series resistor" in coarser.text


def test_nan_never_passes() -> None:
    verdict = judge(PLAN, 3, 450.0, float("nan"), 4000.0, None)
    assert verdict.word in ("warn", "stop") and not verdict.on
    with pytest.raises(ValueError, match="NaN"):
        judge(PLAN, 3, float("nan"), 450.0, 4000.0, None)
