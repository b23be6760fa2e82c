"""Numbers to text as the trade writes it."""

from __future__ import annotations

from math import inf, nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtui.quantities.parse import parse
from benchtui.quantities.show import show
from benchtui.quantities.units import SIGNED, Unit


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (18.9, Unit.VOLT, "18.9 V"),
        (370.0, Unit.VOLT, "370 V"),
        (1234.0, Unit.VOLT, "1234 V"),
        (0.0558, Unit.VOLT, "55.8 mV"),
        (-38.5, Unit.VOLT, "-38.5 V"),
        (-0.0, Unit.VOLT, "0 V"),
        (0.9996, Unit.VOLT, "1 V"),
        (4700.0, Unit.OHM, "4k7"),
        (100e3, Unit.OHM, "100k"),
        (47.3e3, Unit.OHM, "47k3"),
        (2.2e6, Unit.OHM, "2M2"),
        (470.0, Unit.OHM, "470 Ω"),
        (0.58, Unit.OHM, "0.58 Ω"),
        (0.0333, Unit.OHM, "0.0333 Ω"),
        (47e-6, Unit.FARAD, "47 \u00b5F"),
        (4700e-6, Unit.FARAD, "4700 \u00b5F"),
        (100e-9, Unit.FARAD, "100 nF"),
        (0.25, Unit.AMPERE, "250 mA"),
        (8.43, Unit.WATT, "8.43 W"),
        (10.0, Unit.HENRY, "10 H"),
        (0.05, Unit.PERCENT, "5 %"),
        (300.0, Unit.SECOND, "300 s"),
        (20.0, Unit.CELSIUS, "20 °C"),
    ],
)
def test_without_digits_it_is_written_as_on_a_part(value: float, unit: Unit, text: str) -> None:
    assert show(value, unit) == text


@pytest.mark.parametrize(
    ("value", "unit", "digits", "text"),
    [
        (19.0, Unit.VOLT, 3, "19.0 V"),
        (383.46, Unit.VOLT, 4, "383.5 V"),
        (4700.0, Unit.OHM, 3, "4.70 kΩ"),
        (0.99996, Unit.VOLT, 4, "1.000 V"),
        (0.0, Unit.VOLT, 3, "0.00 V"),
    ],
)
def test_with_digits_it_is_written_as_a_meter_shows_it(
    value: float, unit: Unit, digits: int, text: str
) -> None:
    assert show(value, unit, digits) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(0.58, Unit.OHM, "0.58 ohm"), (47e-6, Unit.FARAD, "47 uF"), (20.0, Unit.CELSIUS, "20 degC")],
)
def test_ascii_form_is_ascii(value: float, unit: Unit, text: str) -> None:
    assert show(value, unit, ascii=True) == text


def test_what_is_not_finite_is_said_in_words() -> None:
    assert show(inf, Unit.OHM) == "open (OL)"
    assert show(nan, Unit.OHM) == show(nan, Unit.VOLT) == show(inf, Unit.VOLT) == "unknown"


@given(
    mantissa=st.floats(1.0, 9.999),
    exponent=st.integers(-4, 5),
    negative=st.booleans(),
    unit=st.sampled_from([unit for unit in Unit if unit is not Unit.FARAD]),
    digits=st.sampled_from([None, 2, 3, 4, 5]),
    ascii=st.booleans(),
)
@settings(derandomize=True, max_examples=1000)
def test_what_is_shown_is_read_back_to_the_digits_shown(
    mantissa: float, exponent: int, negative: bool, unit: Unit, digits: int | None, ascii: bool
) -> None:
    value = mantissa * 10.0**exponent * (-1 if negative and unit in SIGNED else 1)
    text = show(value, unit, digits, ascii=ascii)
    places = digits or 3
    # half a unit of the last significant digit, and never finer than the six decimals shown
    allowed = max(0.5000001 * 10.0 ** (exponent - places + 1), 0.51e-6)
    assert abs(parse(text, unit) - value) <= allowed
    assert not ascii or text.isascii()


@given(value=st.floats(1e-12, 1.0), digits=st.sampled_from([None, 3, 4]))
@settings(derandomize=True, max_examples=500)
def test_a_capacitance_is_read_back_to_the_digits_shown(value: float, digits: int | None) -> None:
    read_back = parse(show(value, Unit.FARAD, digits), Unit.FARAD)
    assert read_back == pytest.approx(value, rel=0.5001 * 10.0 ** (1 - (digits or 3)))


@given(value=st.floats(), unit=st.sampled_from(Unit), digits=st.sampled_from([None, 3]))
@settings(derandomize=True, max_examples=500)
def test_any_float_can_be_shown(value: float, unit: Unit, digits: int | None) -> None:
    text = show(value, unit, digits)
    assert "nan" not in text and "inf" not in text and not text.startswith("-0 ")


@pytest.mark.parametrize("value", [0.0, -0.0, 1e-14, -1e-14])
def test_what_rounds_to_nothing_is_nothing_without_a_prefix(value: float) -> None:
    assert show(value, Unit.VOLT) == "0 V" and show(value, Unit.VOLT, 3) == "0.00 V"
