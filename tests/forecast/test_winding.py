"""The winding's temperature by its ohms: a textbook example, synthetic cooling of known constants, a coarse meter."""

from __future__ import annotations

from math import exp, isnan

import pytest

from benchtui.forecast.winding import COPPER, expect_heat, unresolved, winding_heat
from benchtui.verdicts.judge import judge

AT = (30.0, 75.0, 120.0, 165.0, 210.0)


def _cooling(cold_ohm: float, room_c: float, rise: float, tau_s: float) -> list[tuple[float, float]]:
    """Ohms of a winding that is `rise` over the room at switch-off and cools with one time constant."""
    per_kelvin = cold_ohm / (COPPER + room_c)
    return [(at, cold_ohm + per_kelvin * rise * exp(-at / tau_s)) for at in AT]


def test_eight_ohms_that_became_nine_point_six_are_a_rise_of_51_kelvins() -> None:
    """(9.6 / 8) x (234.5 + 20) - (234.5 + 20), the usual example of the resistance method (no source)."""
    found = winding_heat(20.0, 8.0, [(0.0, 9.6), (1.0, 9.6)], 0.001)
    assert found.rise == pytest.approx(50.9, abs=0.05) and found.celsius == pytest.approx(70.9, abs=0.05)


@pytest.mark.parametrize("tau_s", [600.0, 3600.0])
@pytest.mark.parametrize("rise", [15.0, 60.0])
def test_an_exponential_fall_is_followed_back_to_switch_off(tau_s: float, rise: float) -> None:
    assert winding_heat(22.0, 9.5, _cooling(9.5, 22.0, rise, tau_s), 0.01).rise == pytest.approx(rise, rel=1e-6)


@pytest.mark.parametrize("digit", [0.1, 0.01])
@pytest.mark.parametrize("cold_ohm", [4.0, 9.5, 40.0])
def test_with_a_meters_rounding_the_truth_lies_within_what_is_said_to_be_unsure(digit: float, cold_ohm: float) -> None:
    for rise in (20.0, 35.0, 50.0, 65.0):
        read = [(at, round(ohm / digit) * digit) for at, ohm in _cooling(cold_ohm, 22.0, rise, 2400.0)]
        found = winding_heat(22.0, round(cold_ohm / digit) * digit, read, digit)
        assert abs(found.rise - rise) <= found.unsure


def test_a_tenth_of_an_ohm_on_ten_is_two_and_a_half_kelvins_in_each_reading() -> None:
    same = winding_heat(20.0, 10.0, [(60.0, 12.0), (120.0, 12.0)], 0.1)
    assert same.unsure >= 2.5 * (1.0 + 1.2)


def test_where_the_copper_is_quicker_than_the_iron_the_figure_is_a_little_low() -> None:
    """Two time constants, a fifth of the rise in the first three minutes: 60 K are told as at least 54."""
    slow, fast = _cooling(9.5, 22.0, 48.0, 3600.0), _cooling(9.5, 22.0, 12.0, 150.0)
    both = [(at, a + b - 9.5) for (at, a), (_, b) in zip(slow, fast, strict=True)]
    assert 54.0 < winding_heat(22.0, 9.5, both, 0.01).rise < 60.0


def test_readings_that_are_not_over_the_cold_one_tell_nothing() -> None:
    assert isnan(winding_heat(22.0, 9.5, [(30.0, 9.5), (90.0, 9.6)], 0.1).celsius)
    assert isnan(winding_heat(22.0, 9.5, [(30.0, 9.9)], 0.1).celsius)


def test_noise_that_rises_counts_by_its_mean_and_is_never_followed_back_below_it() -> None:
    rising = winding_heat(20.0, 10.0, [(30.0, 11.0), (120.0, 12.0)], 0.01)
    assert rising.rise > winding_heat(20.0, 10.0, [(0.0, 11.4), (0.0, 11.4)], 0.01).rise


def test_a_hot_room_is_thought_of_and_what_is_unsure_is_taken_from_the_window() -> None:
    by = expect_heat("w", 20.0, 5.0)
    verdicts = [judge(value, by).verdict for value in (70.0, 74.0, 76.0, 94.0, 96.0)]
    assert verdicts == ["pass", "pass", "warn", "warn", "stop"]


def test_a_meter_that_cannot_tell_it_is_named_as_lacking() -> None:
    assert unresolved(4.0) == "" and "resolves" in unresolved(20.0)
