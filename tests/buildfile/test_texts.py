"""Texts to values: each refusal names what is wrong and what would be right."""

from __future__ import annotations

import subprocess
import sys

import pytest
from pydantic import TypeAdapter, ValidationError

from benchtui.buildfile import values
from benchtui.buildfile.texts import LONGEST_NOTE


def read(kind: str, value: object) -> object:
    return TypeAdapter(getattr(values, kind)).validate_python(value)


def refused(kind: str, value: object) -> str:
    with pytest.raises(ValidationError) as caught:
        read(kind, value)
    return caught.value.errors()[0]["msg"]


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        ("Ohms", "4k7", 4700.0),
        ("Ohms", "1M", 1e6),
        ("Ohms", "0.47 ohm", 0.47),
        ("OhmsOrNone", "0R", 0.0),
        ("Farads", "0.1 uF", 1e-7),
        ("Henries", "1m", 1e-3),
        ("Volts", "6.3 V", 6.3),
        ("VoltsEitherWay", "-38 V", -38.0),
        ("Amps", "60 mA", 0.06),
        ("Watts", "0.5 W", 0.5),
        ("Seconds", "5 min", 300.0),
        ("Hertz", "50 Hz", 50.0),
        ("Share", "43 %", 0.43),
        ("Share", "0 %", 0.0),
        ("Share", "100 %", 1.0),
        ("Tolerance", "5 %", (-0.05, 0.05)),
        ("Tolerance", "-20/+50 %", (-0.2, 0.5)),
        ("Accuracy", "0.5 % + 3", (0.005, 3.0)),
        ("Accuracy", "1 %", (0.01, 0.0)),
        ("Id", "v2_cathode-1.a", "v2_cathode-1.a"),
        ("Node", "chassis", "0"),
        ("Node", "B+", "B+"),
        ("Node", "k.L", "k.L"),
        ("TypeName", "ECC82/12AU7", "ECC82/12AU7"),
        ("PinName", "14", "14"),
        ("PinName", "grid", "grid"),
        ("Number", 1350, 1350.0),
    ],
)
def test_what_a_builder_writes_is_read(kind: str, text: object, value: object) -> None:
    assert read(kind, text) == pytest.approx(value) if not isinstance(value, str) else read(kind, text) == value


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [("2 watts", "Watts", 2.0), ("47 microfarads", "Farads", 47e-6), ("3 henries", "Henries", 3.0)],
)
def test_units_in_full_words_are_read(text: str, kind: str, value: float) -> None:
    assert read(kind, text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("kind", "value", "words"),
    [
        ("Ohms", 470, 'write "470 ohm" or "470R"'),
        ("Volts", 230, 'write "230 V"'),
        ("Ohms", 1e400, "text is wanted"),
        ("Ohms", float("nan"), "text is wanted"),
        ("Ohms", "nan", "is no number"),
        ("Ohms", "1m", "write 1M for megohms"),
        ("Farads", "1M", "uF"),
        ("Ohms", "4k7k", "4k7"),
        ("Ohms", "4,7k", "write 4.7k"),
        ("Ohms", "-1k", "below zero"),
        ("Ohms", "0R", "not above zero"),
        ("Watts", "-1 W", "below zero"),
        ("Watts", "-2 watts", "below zero"),
        ("Volts", "-5 V", "not above zero"),
        ("Ohms", "12", "has no unit"),
        ("Ohms", "5 V", "is in volts"),
        ("Farads", "1 PF", "unknown unit"),
        ("Watts", "2 furlongs", "unknown unit"),
        ("Watts", "2 ohms per volt", "unknown unit"),
        ("Ohms", True, "is no text"),
        ("Ohms", ["4k7"], "is no text"),
        ("Share", 0.43, "percent"),
        ("Share", "143 %", "from 0 % to 100 %"),
        ("Share", "-1 %", "from 0 % to 100 %"),
        ("Share", "43", "has no unit"),
        ("Tolerance", 5, '"5 %"'),
        ("Tolerance", "5", "write for example 5 %"),
        ("Accuracy", "3 digits", "0.5 % + 3"),
        ("Id", "", "is empty"),
        ("Id", "x" * 41, "at most 40"),
        ("Id", ".V2", "only inside [each...]"),
        ("Id", "V2 a", "is no name"),
        ("Id", "V\u0430", "is no name"),
        ("Id", "V2\n", "is no name"),
        ("Id", "_V2", "is no name"),
        ("Id", "\uff36\uff12", "is no name"),
        ("Node", "a b", "is no name"),
        ("Node", ".k", "only inside [each...]"),
        ("Node", "k\u202e", "is no name"),
        ("TypeName", "6V6 GT", "is no name"),
        ("PinName", "15", "is no pin"),
        ("PinName", "0", "is no pin"),
        ("PinName", "\u0663", "is no pin"),
        ("Number", "1350", "a bare number is wanted"),
        ("Number", True, "a bare number is wanted"),
        ("Number", float("inf"), "finite"),
        ("Number", float("nan"), "finite"),
        ("Number", 10**400, "finite"),
    ],
)
def test_what_is_not_clear_is_refused_with_what_would_be_right(kind: str, value: object, words: str) -> None:
    assert words in refused(kind, value)


def test_a_note_is_folded_cleaned_and_cut() -> None:
    assert read("Text", "  two\n  lines\t\u202e ") == "two lines <U+202E>"
    assert read("Text", "x" * 500) == "x" * (LONGEST_NOTE - 1) + "…"
    assert read("Text", "[/] {0} %s =1+1") == "[/] {0} %s =1+1"


def test_pint_is_imported_only_where_a_unit_needs_it() -> None:
    code = (
        "import sys; from pydantic import TypeAdapter; from benchtui.buildfile import values; "
        "watts = TypeAdapter(values.Watts); watts.validate_python('2 W'); assert 'pint' not in sys.modules; "
        "watts.validate_python('2 watts'); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
