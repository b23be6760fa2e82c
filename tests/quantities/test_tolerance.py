"""Tolerances and accuracies as written."""

from __future__ import annotations

import pytest

from benchtui.quantities.errors import QuantityError
from benchtui.quantities.tolerance import LETTERS, Accuracy, accuracy, tolerance


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("5 %", (-0.05, 0.05)),
        ("+-5 %", (-0.05, 0.05)),
        ("\u00b15%", (-0.05, 0.05)),
        ("0.25 %", (-0.0025, 0.0025)),
        ("-20/+50 %", (-0.2, 0.5)),
        ("+50/-20 %", (-0.2, 0.5)),
        ("-0/+100 %", (0.0, 1.0)),
        ("J", (-0.05, 0.05)),
        ("Z", (-0.2, 0.8)),
    ],
)
def test_tolerance_is_read_as_lower_and_upper_fraction(text: str, expected: tuple[float, float]) -> None:
    assert tolerance(text) == expected


@pytest.mark.parametrize(
    ("letter", "percent", "source"),
    [
        ("B", 0.1, "from memory"),
        ("C", 0.25, "from memory"),
        ("D", 0.5, "from memory"),
        ("F", 1.0, "from memory"),
        ("G", 2.0, "IEC 60062, read in an extract"),
        ("J", 5.0, "IEC 60062, read in an extract"),
        ("K", 10.0, "IEC 60062, read in an extract"),
        ("M", 20.0, "from memory"),
    ],
)
def test_tolerance_letters_are_those_of_the_standard(letter: str, percent: float, source: str) -> None:
    assert LETTERS[letter] == (-percent / 100, percent / 100), source


@pytest.mark.parametrize(
    "text", ["", "5", "5,5 %", "+5 %", "-20/-50 %", "-100/+5 %", "5 %%", "nan %", "j", "4k7", "-20/+50"]
)
def test_other_text_is_no_tolerance(text: str) -> None:
    with pytest.raises(QuantityError):
        tolerance(text)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0.5 % + 3", Accuracy(0.005, 3)),
        ("0.7%+2 digits", Accuracy(0.007, 2)),
        ("\u00b1(0.8 % + 1 digit)", Accuracy(0.008, 1)),
        ("1 %", Accuracy(0.01, 0)),
    ],
)
def test_accuracy_is_share_of_reading_and_digits(text: str, expected: Accuracy) -> None:
    assert accuracy(text) == expected


@pytest.mark.parametrize("text", ["", "3", "0,5 % + 3", "(0.5 % + 3", "0.5 % + x", "100 % + 1", "-1 %"])
def test_other_text_is_no_accuracy(text: str) -> None:
    with pytest.raises(QuantityError):
        accuracy(text)
