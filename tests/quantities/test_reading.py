"""What may be typed as a reading, and what is asked about instead."""

from __future__ import annotations

import random
from math import inf, isfinite

import pytest

from benchtui.quantities.errors import Question
from benchtui.quantities.reading import read
from benchtui.quantities.units import Unit


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("383", Unit.VOLT, 383.0),
        ("383.5", Unit.VOLT, 383.5),
        ("  38.5 ", Unit.VOLT, 38.5),
        ("38.5V", Unit.VOLT, 38.5),
        ("-38", Unit.VOLT, -38.0),
        ("-0", Unit.VOLT, 0.0),
        (".5", Unit.VOLT, 0.5),
        ("12m", Unit.VOLT, 0.012),
        ("250 mV", Unit.VOLT, 0.25),
        ("0.25 kV", Unit.VOLT, 250.0),
        ("60m", Unit.AMPERE, 0.06),
        ("60 mA", Unit.AMPERE, 0.06),
        ("1k2", Unit.OHM, 1200.0),
        ("12k", Unit.OHM, 12e3),
        ("1.2 M\u2126", Unit.OHM, 1.2e6),
        ("OL", Unit.OHM, inf),
        (" ol ", Unit.OHM, inf),
        ("47", Unit.SECOND, 47.0),
    ],
)
def test_what_people_type_is_taken(text: str, unit: Unit, value: float) -> None:
    reading = read(text, unit)
    assert reading.value == value
    assert str(reading.value) != "-0.0"
    assert reading.text == text


@pytest.mark.parametrize(
    ("text", "unit", "asked"),
    [
        ("38,5", Unit.VOLT, "write 38.5"),
        ("1,234", Unit.VOLT, "write 1.234 or 1234"),
        ("1.234,5", Unit.VOLT, "write 1234.5"),
        ("1e3", Unit.VOLT, "exponent"),
        ("12k", Unit.VOLT, "write 12 kV"),
        ("12m", Unit.OHM, "write 12M for megohms, or 0.012 ohm"),
        ("\u221238", Unit.VOLT, "plain -"),
        ("\u0663\u0668", Unit.VOLT, "another script"),
        ("\uff13\uff18", Unit.VOLT, "another script"),
        ("1_000", Unit.VOLT, "underscore"),
        ("nan", Unit.VOLT, "is no number"),
        ("inf", Unit.VOLT, "is no number"),
        ("inf", Unit.OHM, "is no number"),
        ("1e400", Unit.VOLT, "exponent"),
        ("0x10", Unit.VOLT, "hexadecimal"),
        ("OL", Unit.VOLT, "higher range"),
        ("0L", Unit.OHM, "type 0 or OL"),
        ("38.5 mA", Unit.VOLT, "is in amperes"),
        ("", Unit.VOLT, "is empty"),
        ("   ", Unit.VOLT, "is empty"),
        ("1" * 17, Unit.VOLT, "too long"),
        ("38.5\n", Unit.VOLT, "line end"),
        ("38.5\n12", Unit.VOLT, "line end"),
        ("38.5.1", Unit.VOLT, "two decimal points"),
        ("--5", Unit.VOLT, "two signs"),
        ("5-", Unit.VOLT, "sign after the digits"),
        ("~38", Unit.VOLT, "not exact"),
        ("<1", Unit.VOLT, "not exact"),
        ("38?", Unit.VOLT, "not exact"),
        ("12 volz", Unit.VOLT, "unknown unit"),
        ("[/]", Unit.VOLT, "is no value"),
    ],
)
def test_what_is_not_clear_is_asked_about(text: str, unit: Unit, asked: str) -> None:
    with pytest.raises(Question) as question:
        read(text, unit)
    assert asked in question.value.ask
    assert "\n" not in question.value.ask


@pytest.mark.parametrize("text", ["0.3", "38.5", "-12", "0.3 V", "4v", " 0.3 "])
def test_the_gate_takes_plain_volts(text: str) -> None:
    assert isfinite(read(text, Unit.VOLT, plain=True).value)


@pytest.mark.parametrize(
    "text", ["250 mV", "0.25 kV", "12m", "6V3", "OL", "", "0,3", "3 A", "1e0", "0.3 V dc"]
)
def test_the_gate_takes_nothing_else(text: str) -> None:
    with pytest.raises(Question):
        read(text, Unit.VOLT, plain=True)


def test_a_reading_that_says_ac_is_no_dc_reading() -> None:
    with pytest.raises(Question, match="says AC where DC is due"):
        read("38.5 VAC", Unit.VOLT, current="dc")
    with pytest.raises(Question, match="says DC where AC is due"):
        read("6.3 V dc", Unit.VOLT, current="ac")
    assert read("38.5 VDC", Unit.VOLT, current="dc").value == 38.5
    assert read("6.3 V ac", Unit.VOLT, current="ac").value == 6.3


def test_a_prefix_is_said_back_in_full() -> None:
    assert read("12m", Unit.VOLT).notes == ("taken as 12 mV",)
    assert read("1k2", Unit.OHM).notes == ("taken as 1.2 kΩ",)
    assert read("12", Unit.VOLT).notes == read("12 V", Unit.VOLT).notes == ()


def test_random_entries_give_a_number_or_a_question() -> None:
    random_source = random.Random(57)
    alphabet = "0123456789.,+-kKMmuRVvAΩ\u2126\u00b5% _eExX\n~?\u2212\uff13\u0663infaNOLacdACDC\u202e\x00"
    taken = 0
    for _ in range(20_000):
        text = "".join(random_source.choice(alphabet) for _ in range(random_source.randrange(9)))
        unit = random_source.choice([Unit.VOLT, Unit.AMPERE, Unit.OHM])
        try:
            value = read(text, unit, plain=random_source.random() < 0.3).value
        except Question as question:
            assert question.ask
        else:
            taken += 1
            assert isfinite(value) or (unit is Unit.OHM and value == inf)
    assert taken > 200
