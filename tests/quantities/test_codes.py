"""Preferred values and codes on parts, against IEC 60063 and IEC 60062."""

from __future__ import annotations

from math import inf, log10, nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtui.quantities.codes import capacitor_code, colour_code, marking, nearest, series
from benchtui.quantities.errors import QuantityError
from benchtui.quantities.units import Unit


@pytest.mark.parametrize(
    ("name", "members"),
    [
        ("E6", "10 15 22 33 47 68"),
        ("E12", "10 12 15 18 22 27 33 39 47 56 68 82"),
        ("E24", "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91"),
    ],
)
def test_series_hold_the_values_of_iec_60063(name: str, members: str) -> None:
    assert series(name) == tuple(int(member) for member in members.split())


@pytest.mark.parametrize(("index", "value"), [(0, 100), (1, 102), (32, 215), (48, 316), (64, 464), (95, 976)])
def test_e96_is_the_list_of_iec_60063(index: int, value: int) -> None:
    assert series("E96")[index] == value


def test_e192_holds_e96_and_its_one_exception() -> None:
    """E96 is every other value of E192 (IEC 60063); 920 in place of 919 is from memory."""
    assert series("E192")[::2] == series("E96")
    assert 920 in series("E192") and 919 not in series("E192")
    assert len(set(series("E192"))) == 192


def test_e24_differs_from_the_rounded_geometric_series_in_eight_places() -> None:
    """Computed: E24 of IEC 60063 against round(10 x 10^(i/24))."""
    geometric = [round(10 * 10 ** (i / 24)) for i in range(24)]
    assert sum(a != b for a, b in zip(series("E24"), geometric, strict=True)) == 8


def test_nearest_goes_by_ratio() -> None:
    """2700/2500 = 1.08 is nearer than 2500/2200 = 1.14; by difference 2200 would be no nearer (computed)."""
    assert nearest(2500.0, "E12") == 2700.0
    assert nearest(9900.0, "E12") == 10_000.0
    assert nearest(0.47e-6, "E6") == 0.47e-6


@given(value=st.floats(1e-12, 1e9), name=st.sampled_from(["E6", "E12", "E24", "E96", "E192"]))
@settings(derandomize=True, max_examples=300)
def test_no_member_is_nearer_than_the_nearest(value: float, name: str) -> None:
    found = nearest(value, name)
    distance = abs(log10(found / value))
    for member in series(name):
        decades = round(log10(value / member))
        assert distance <= abs(log10(member * 10.0**decades / value)) + 1e-9


@pytest.mark.parametrize("value", [0.0, -1.0, inf, nan])
def test_nearest_refuses_what_has_no_ratio(value: float) -> None:
    with pytest.raises(ValueError, match="no preferred value"):
        nearest(value, "E12")


def test_an_unknown_series_is_refused() -> None:
    with pytest.raises(QuantityError, match="E6, E12, E24"):
        series("E13")


@pytest.mark.parametrize(
    ("bands", "ohms"),
    [
        ("yellow violet red", 4700.0),
        ("brown black yellow", 100e3),
        ("red red orange", 22e3),
        ("brown black black brown brown", 1000.0),
        ("yellow violet black red brown", 47e3),
        ("yellow violet gold gold", 4.7),
    ],
)
def test_colours_read_as_iec_60062_says(bands: str, ohms: float) -> None:
    assert colour_code(tuple(bands.split()))[0] == ohms


@pytest.mark.parametrize(
    ("band", "percent", "source"),
    [
        ("brown", 1, "IEC 60062, read"),
        ("red", 2, "IEC 60062, read"),
        ("gold", 5, "IEC 60062, read"),
        ("silver", 10, "IEC 60062, read"),
    ],
)
def test_tolerance_band(band: str, percent: float, source: str) -> None:
    _, tolerance = colour_code(("brown", "black", "red", band))
    assert tolerance == (-percent / 100, percent / 100), source


@pytest.mark.parametrize(
    "bands", ["red red", "red gold red gold", "gold red red brown", "red red red black", "pink red red"]
)
def test_impossible_bands_are_refused(bands: str) -> None:
    with pytest.raises(QuantityError):
        colour_code(tuple(bands.split()))


@pytest.mark.parametrize(
    ("code", "farads"), [("104", 100e-9), ("223", 22e-9), ("471", 470e-12), ("105", 1e-6)]
)
def test_three_digit_capacitor_code(code: str, farads: float) -> None:
    """Three-digit picofarad code, from memory."""
    assert capacitor_code(code) == pytest.approx(farads, rel=1e-12)


@pytest.mark.parametrize("code", ["", "47", "4700", "1O4", "044", "109", "104K"])
def test_other_text_is_no_capacitor_code(code: str) -> None:
    with pytest.raises(QuantityError):
        capacitor_code(code)


@pytest.mark.parametrize(
    ("mark", "unit", "value", "tolerance"),
    [
        ("27KK", Unit.OHM, 27e3, (-0.1, 0.1)),
        ("1R8J", Unit.OHM, 1.8, (-0.05, 0.05)),
        ("47K", Unit.OHM, 47e3, None),
        ("4M7", Unit.OHM, 4.7e6, None),
        ("4n7K", Unit.FARAD, 4.7e-9, (-0.1, 0.1)),
    ],
)
def test_a_trailing_letter_is_the_tolerance(
    mark: str, unit: Unit, value: float, tolerance: tuple[float, float] | None
) -> None:
    """27KK and 1R8J are the examples read in the extract of IEC 60062."""
    assert marking(mark, unit) == (value, tolerance)
