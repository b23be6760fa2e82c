"""What may be typed as a reading, and what is asked about instead; more in tests/badinput."""

from __future__ import annotations

from math import isfinite

import pytest

from benchtui.quantities.errors import Question
from benchtui.quantities.reading import read
from benchtui.quantities.units import Unit


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("383", Unit.VOLT, 383.0),
        ("383.5", Unit.VOLT, 383.5),
        ("38.5V", Unit.VOLT, 38.5),
        ("-38", Unit.VOLT, -38.0),
        (".5", Unit.VOLT, 0.5),
        ("60m", Unit.AMPERE, 0.06),
        ("60 mA", Unit.AMPERE, 0.06),
        ("1.2 M\u2126", Unit.OHM, 1.2e6),
        ("47", Unit.SECOND, 47.0),
    ],
)
def test_what_people_type_is_taken(text: str, unit: Unit, value: float) -> None:
    reading = read(text, unit)
    assert reading.value == value
    assert reading.text == text


@pytest.mark.parametrize("text", ["0.3", "38.5", "-12", "0.3 V", "4v", " 0.3 "])
def test_the_gate_takes_plain_volts(text: str) -> None:
    assert isfinite(read(text, Unit.VOLT, plain=True).value)


def test_a_question_is_one_line_with_a_cure() -> None:
    with pytest.raises(Question) as question:
        read("38.5\n12", Unit.VOLT)
    assert "line end" in question.value.ask and "\n" not in question.value.ask


@pytest.mark.parametrize("text", ["6V3", "0.3 V dc"])
def test_the_gate_takes_nothing_else(text: str) -> None:
    with pytest.raises(Question):
        read(text, Unit.VOLT, plain=True)


def test_a_prefix_is_said_back_in_full() -> None:
    assert read("12m", Unit.VOLT).notes == ("taken as 12 mV",)
    assert read("1k2", Unit.OHM).notes == ("taken as 1.2 kΩ",)
    assert read("12", Unit.VOLT).notes == read("12 V", Unit.VOLT).notes == ()
