"""Text to SI numbers: the marks of IEC 60062, prefixes and units, and every refusal."""

from __future__ import annotations

import random
from math import isfinite

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtui.quantities.errors import QuantityError, UnknownUnit
from benchtui.quantities.parse import parse
from benchtui.quantities.units import Unit

IEC_60062_TABLE = "IEC 60062 table in an encyclopaedia article"
IEC_60062_RULE = "IEC 60062 rule, computed"


@pytest.mark.parametrize(
    ("text", "unit", "expected", "source"),
    [
        ("R47", Unit.OHM, 0.47, IEC_60062_TABLE),
        ("4R7", Unit.OHM, 4.7, IEC_60062_TABLE),
        ("470R", Unit.OHM, 470.0, IEC_60062_TABLE),
        ("4K7", Unit.OHM, 4700.0, IEC_60062_TABLE),
        ("47K", Unit.OHM, 47e3, IEC_60062_TABLE),
        ("47K3", Unit.OHM, 47.3e3, IEC_60062_TABLE),
        ("470K", Unit.OHM, 470e3, IEC_60062_TABLE),
        ("4M7", Unit.OHM, 4.7e6, IEC_60062_TABLE),
        ("2k2", Unit.OHM, 2200.0, IEC_60062_RULE),
        ("1R8", Unit.OHM, 1.8, IEC_60062_RULE),
        ("100R", Unit.OHM, 100.0, IEC_60062_RULE),
        ("1M0", Unit.OHM, 1e6, IEC_60062_RULE),
        ("4n7", Unit.FARAD, 4.7e-9, IEC_60062_RULE),
        ("47p", Unit.FARAD, 47e-12, IEC_60062_RULE),
        ("2u2", Unit.FARAD, 2.2e-6, IEC_60062_RULE),
        ("n47", Unit.FARAD, 0.47e-9, IEC_60062_RULE),
    ],
)
def test_marks_read_as_the_standard_says(text: str, unit: Unit, expected: float, source: str) -> None:
    assert parse(text, unit) == expected, source


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("0.1 uF", Unit.FARAD, 1e-7),
        ("47 \u00b5F", Unit.FARAD, 47e-6),
        ("47 \u03bcF", Unit.FARAD, 47e-6),
        ("2\u03bc2", Unit.FARAD, 2.2e-6),
        ("4m7", Unit.FARAD, 4.7e-3),
        ("16 MFD", Unit.FARAD, 16e-6),
        ("100 kohm", Unit.OHM, 100e3),
        ("4.7 k\u03a9", Unit.OHM, 4700.0),
        ("4.7\u00a0k\u2126", Unit.OHM, 4700.0),
        ("4.7k", Unit.OHM, 4700.0),
        ("4k7 ohm", Unit.OHM, 4700.0),
        ("1M", Unit.OHM, 1e6),
        ("1m", Unit.HENRY, 1e-3),
        ("10 H", Unit.HENRY, 10.0),
        ("6V3", Unit.VOLT, 6.3),
        ("250 mV", Unit.VOLT, 0.25),
        ("-38.5 V", Unit.VOLT, -38.5),
        ("+5V", Unit.VOLT, 5.0),
        (".5 V", Unit.VOLT, 0.5),
        ("60 mA", Unit.AMPERE, 0.06),
        ("3A15", Unit.AMPERE, 3.15),
        ("0.5 W", Unit.WATT, 0.5),
        ("120 VA", Unit.VOLT_AMPERE, 120.0),
        ("5 min", Unit.SECOND, 300.0),
        ("1 kHz", Unit.HERTZ, 1000.0),
        ("19 mm", Unit.METRE, 0.019),
        ("0.75 in", Unit.METRE, 0.01905),
        ("3/4 in", Unit.METRE, 0.01905),
        ("1-1/8 in", Unit.METRE, 0.028575),
        ("1 1/8in", Unit.METRE, 0.028575),
        ("5 %", Unit.PERCENT, 0.05),
        ("14 dB", Unit.DECIBEL, 14.0),
        ("20 \u00b0C", Unit.CELSIUS, 20.0),
        ("1 mJ", Unit.JOULE, 1e-3),
    ],
)
def test_number_with_prefix_and_unit(text: str, unit: Unit, expected: float) -> None:
    assert parse(text, unit) == expected


def test_minus_zero_is_zero() -> None:
    assert str(parse("-0 V", Unit.VOLT)) == "0.0"


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("1m", Unit.OHM, "write 1M for megohms, or 0.001 ohm for milliohms"),
        ("1 mohm", Unit.OHM, "write 1M for megohms, or 0.001 ohm for milliohms"),
        ("1M", Unit.FARAD, "write 1 uF for microfarads"),
        ("4M7", Unit.FARAD, "write 4.7 uF for microfarads"),
        ("10 mF", Unit.FARAD, "write 10 uF for microfarads (mF on old parts), 10000 uF for millifarads"),
        ("1M", Unit.HENRY, "write 1 mH if milli was meant"),
        ("12 MA", Unit.AMPERE, "write 12 mA if milli was meant"),
        ("1 mHz", Unit.HERTZ, "write 1 MHz if mega was meant"),
        ("38,5", Unit.VOLT, "write 38.5"),
        ("1,234", Unit.VOLT, "write 1.234 or 1234"),
        ("1.234,5", Unit.VOLT, "write 1234.5"),
        ("1,234,567", Unit.OHM, "write 1234567"),
        ("4,7k", Unit.OHM, "write 4.7k"),
        ("38", Unit.VOLT, "has no unit"),
        ("4700", Unit.OHM, "has no unit"),
        ("60m", Unit.AMPERE, "write 60 mA"),
        ("12M", Unit.VOLT, "write for example 250 V"),
        ("60 mA", Unit.VOLT, "is in amperes"),
        ("4k7k", Unit.OHM, "write 4k7"),
        ("1R8J", Unit.OHM, "write 1R8, and a tolerance in its own place"),
        ("1k2", Unit.VOLT, "has the mark 'k', which volts have not"),
        ("nan", Unit.OHM, "is no number"),
        ("inf", Unit.OHM, "is no number"),
        ("-Infinity V", Unit.VOLT, "is no number"),
        ("1e3", Unit.OHM, "has an exponent"),
        ("1e400 V", Unit.VOLT, "has an exponent"),
        ("0x10", Unit.OHM, "is a hexadecimal number"),
        ("1_000 ohm", Unit.OHM, "has an underscore"),
        ("\uff13\uff18 V", Unit.VOLT, "has digits of another script"),
        ("\u0663\u0668 V", Unit.VOLT, "has digits of another script"),
        ("10\u00b2 V", Unit.VOLT, "has digits of another script"),
        ("\u221238 V", Unit.VOLT, "write a plain -"),
        ("1 000 V", Unit.VOLT, "has a blank between digits"),
        ("38. V", Unit.VOLT, "ends in a decimal point"),
        ("38.5.1 V", Unit.VOLT, "has two decimal points"),
        ("--5 V", Unit.VOLT, "has two signs"),
        ("5- V", Unit.VOLT, "has a sign after the digits"),
        ("~38 V", Unit.VOLT, "is not exact"),
        ("-4k7", Unit.OHM, "is below zero"),
        ("-47u", Unit.FARAD, "is below zero"),
        ("-2 W", Unit.WATT, "is below zero"),
        ("", Unit.OHM, "is empty"),
        ("  ", Unit.OHM, "is empty"),
        ("4k7\n", Unit.OHM, "has a line end"),
        ("\x1b[31m4k7", Unit.OHM, "control character"),
        ("k", Unit.OHM, "is no value in ohms"),
        ("x" * 1000, Unit.OHM, "is too long"),
    ],
)
def test_what_is_not_clear_is_refused_with_a_way_out(text: str, unit: Unit, said: str) -> None:
    with pytest.raises(QuantityError) as refused:
        parse(text, unit)
    assert said in str(refused.value)
    assert not isinstance(refused.value, UnknownUnit)
    assert refused.value.why and refused.value.hint
    assert "\n" not in str(refused.value) and "\x1b" not in str(refused.value)


@pytest.mark.parametrize("text", ["5 furlong", "2 watts", "1.5 kilovolt"])
def test_a_plain_number_with_an_unknown_unit_is_told_apart(text: str) -> None:
    with pytest.raises(UnknownUnit):
        parse(text, Unit.WATT)


@given(
    whole=st.integers(0, 999),
    decimals=st.integers(0, 99),
    letter=st.sampled_from("RkKMG"),
)
@settings(derandomize=True, max_examples=300)
def test_a_mark_and_its_long_form_are_the_same_value(whole: int, decimals: int, letter: str) -> None:
    mark = f"{whole}{letter}{decimals}"
    long_form = f"{whole}.{decimals} {letter.replace('R', '')}ohm"
    assert parse(mark, Unit.OHM) == parse(long_form, Unit.OHM)


def _random_text(random_source: random.Random) -> str:
    """A value as somebody might write it, mostly with a few characters changed."""
    number = f"{random_source.uniform(-5, 500):.{random_source.randrange(4)}f}"
    endings = ["", "k", "M", "m", " mA", " V", "k7", "uF", " Ω", " µF", "R", " kohm", " H", " %", "J", " W"]
    text = list(number + random_source.choice(endings))
    odd = "0123456789.,+-kKMmunpRV Ω\u2126\u00b5%_eExX\n\t~?\u2212\uff13\u0663infaNOL\u202e\x00\ud800°"
    for _ in range(random_source.randrange(4)):
        text.insert(random_source.randrange(len(text) + 1), random_source.choice(odd))
    return "".join(text)


def test_random_text_never_gives_a_non_finite_value_or_another_error() -> None:
    random_source = random.Random(60062)
    units, taken = list(Unit), 0
    for _ in range(20_000):
        text, unit = _random_text(random_source), random_source.choice(units)
        try:
            value = parse(text, unit)
        except QuantityError as refused:
            assert refused.hint
        else:
            taken += 1
            assert isfinite(value)
            assert "," not in text
    assert taken > 300


@given(text=st.text(max_size=50), unit=st.sampled_from(Unit))
@settings(derandomize=True, max_examples=500)
def test_any_text_gives_a_finite_value_or_a_refusal(text: str, unit: Unit) -> None:
    try:
        assert isfinite(parse(text, unit))
    except QuantityError as refused:
        assert refused.why


@pytest.mark.parametrize("text", ["3/4", "3/5 in", "1--1/8 in", "3/4 mm", "-3/4 in", "1/0 in", "3/4 in 2"])
def test_a_fraction_that_no_rule_has_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        parse(text, Unit.METRE)


def test_only_lengths_come_in_fractions() -> None:
    with pytest.raises(QuantityError):
        parse("1/2 V", Unit.VOLT)
