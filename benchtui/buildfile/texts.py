"""Texts of a build file made into values; every refusal says what would be right."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from math import inf
from typing import Any

from pydantic import ValidationInfo
from pydantic_core import PydanticCustomError

from benchtui.quantities.clean import clean
from benchtui.quantities.errors import QuantityError, UnknownUnit
from benchtui.quantities.grammar import NUMBER
from benchtui.quantities.parse import parse
from benchtui.quantities.tolerance import accuracy as parse_accuracy
from benchtui.quantities.tolerance import tolerance as parse_tolerance
from benchtui.quantities.units import EXAMPLES, SIGNED, WORDS, Unit

#: Longest reference or node.
LONGEST_NAME = 40
#: Longest free text; what is over is cut with a mark.
LONGEST_NOTE = 400

MENDING = {"mending": True}
"""Validation context in which a value that can't be read is taken as 1: names can still be checked."""

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*", re.ASCII)
_NODE = re.compile(r"[A-Za-z0-9_+-][A-Za-z0-9_.+-]*", re.ASCII)
_TYPE = re.compile(r"[A-Za-z0-9][A-Za-z0-9./-]*", re.ASCII)
_LEAD = re.compile(r"[A-Za-z0-9_./+]{1,20}", re.ASCII)
_PIN = re.compile(r"[1-9]|1[0-4]|[a-z][a-z0-9_]{0,19}", re.ASCII)
_LARGEST_NUMBER = 1e300
_SPELLED_OUT = re.compile(rf"([+-]?{NUMBER})\s*([a-z]{{4,}})", re.ASCII)
_STAND_IN = 1.0
_OPEN = ("ol", "o.l", "o.l.", "open")
_NO_LEADS = ("rest", "core")
"""What stands for all other leads, and for the iron, in a pair."""


def refusal(wrong: str, right: str) -> PydanticCustomError:
    """An error that carries both halves of the sentence: what is wrong, and what would be right."""
    return PydanticCustomError("build_file", "{wrong}: {right}", {"wrong": wrong, "right": right})


def quantity(unit: str) -> Callable[[object, ValidationInfo], float]:
    """A validator: text such as `4k7` or `60 mA` to a float in `unit`, SI."""
    asked = Unit(unit)
    wanted = f"text is wanted, such as {EXAMPLES[asked]}"

    def read(value: object, info: ValidationInfo) -> float:
        return _read(value, info, lambda text: _parsed(text, asked), wanted, unit=asked)

    return read


def reading_limit(value: object, info: ValidationInfo) -> float:
    """A limit in the unit of the point's `quantity`, which is read before it."""
    return quantity("ohm" if info.data.get("quantity") == "resistance" else "V")(value, info)


def share(value: object, info: ValidationInfo) -> float:
    """`43 %` to 0.43; from 0 to 100 %."""
    return _read(value, info, _parsed_share, 'text in percent is wanted, such as "5 %"')


def tolerance(value: object, info: ValidationInfo) -> tuple[float, float]:
    """`5 %` to (-0.05, 0.05), `-20/+50 %` to (-0.2, 0.5)."""
    return _read(value, info, parse_tolerance, 'text is wanted, such as "5 %" or "-20/+50 %"', pair=True)


def accuracy(value: object, info: ValidationInfo) -> tuple[float, float]:
    """`0.5 % + 3` to (0.005, 3.0): share of the reading, digits."""

    def both(text: str) -> tuple[float, float]:
        stated = parse_accuracy(text)
        return stated.share, float(stated.digits)

    return _read(value, info, both, 'text is wanted, such as "0.5 % + 3"', pair=True)


def above_zero(value: float) -> float:
    """`value` if it is more than zero."""
    if not value > 0:
        raise refusal("is not above zero", "a value above zero is wanted")
    return value


def not_negative(value: float) -> float:
    """`value` if it is zero or more."""
    if not value >= 0:
        raise refusal("is below zero", "zero or more is wanted")
    return value


def identifier(text: str) -> str:
    """A reference as written, if it is one."""
    return _name(text, _ID, "letters a-z A-Z, digits, dot, dash and underscore, beginning with a letter or digit")


def node(text: str) -> str:
    """A node's name; `chassis` gives `0`."""
    return "0" if text == "chassis" else _name(text, _NODE, "letters a-z A-Z, digits, underscore, dot, + and -")


def type_name(text: str) -> str:
    """A valve or diode type as written, if it can be one."""
    return _name(text, _TYPE, "letters a-z A-Z, digits, dot, dash and slash")


def pin_name(text: str) -> str:
    """A pin number from 1 to 14, or an electrode's name."""
    if not _PIN.fullmatch(text):
        raise refusal("is no pin", "a pin number from 1 to 14 or an electrode such as anode is wanted")
    return text


def lead(text: str) -> str:
    """The name of a transformer's lead, such as its colour."""
    if not _LEAD.fullmatch(text) or text in _NO_LEADS:
        raise refusal("is no name for a lead", "letters, digits, underscore, dot, slash and + are wanted, no dash")
    return text


def lead_pair(text: str) -> str:
    """Two leads with a dash between them; the second may be `rest` or `core`."""
    ends = text.split("-")
    if len(ends) != 2 or not all(_LEAD.fullmatch(end) for end in ends) or ends[0] == ends[1] or ends[0] in _NO_LEADS:
        raise refusal("is no pair of leads", "two leads with a dash between them are wanted, such as 1-2")
    return text


def ohms_or_open(value: object, info: ValidationInfo) -> float:
    """Ohms as a meter shows them: infinite for `OL`."""
    if isinstance(value, str) and value.strip().casefold() in _OPEN:
        return inf
    return quantity("ohm")(value, info)


def number(value: object) -> float:
    """A bare number as a float, if it is a finite one."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refusal("is no number", "a bare number is wanted, such as 1350 or 1.35")
    if not abs(value) <= _LARGEST_NUMBER:
        raise refusal("is no finite number", "a finite number is wanted")
    return float(value)


def whole(value: object) -> object:
    """`value` unless it is true or a decimal number, which python takes for equal to a whole one."""
    if isinstance(value, bool | float):
        raise refusal("is no whole number", "a whole number is wanted")
    return value


def note(text: str) -> str:
    """Free text on one line, hidden characters named, cut at LONGEST_NOTE with a mark."""
    return clean(" ".join(re.split(r"[ \t\r\n]+", text.strip(" \t\r\n"))), LONGEST_NOTE)


def _name(text: str, pattern: re.Pattern[str], allowed: str) -> str:
    if text.startswith("."):
        raise refusal("begins with a dot", "a name of the channel like this is known only inside [each...]")
    if len(text) > LONGEST_NAME:
        raise refusal("is too long for a name", f"at most {LONGEST_NAME} characters are wanted")
    if not pattern.fullmatch(text):
        raise refusal("is no name" if text else "is empty", f"allowed are {allowed}")
    return text


def _read(
    value: object,
    info: ValidationInfo,
    reader: Callable[[str], Any],
    wanted: str,
    *,
    unit: Unit | None = None,
    pair: bool = False,
) -> Any:
    try:
        return _text_read(value, reader, wanted, unit)
    except PydanticCustomError:
        if info.context == MENDING:
            return (_STAND_IN, _STAND_IN) if pair else _STAND_IN
        raise


def _text_read(value: object, reader: Callable[[str], Any], wanted: str, unit: Unit | None) -> Any:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise refusal("is no text", wanted)
    if not isinstance(value, str):
        raise refusal("is a bare number", _with_unit(value, unit) or wanted)
    try:
        return reader(value)
    except QuantityError as error:
        raise refusal(error.why, error.hint) from error


def _with_unit(number: float, unit: Unit | None) -> str:
    """How to write a bare number if it was meant in `unit`; empty where that is no help."""
    written = str(number)
    if unit is None or len(written) > 12 or not re.fullmatch(r"-?[0-9.]+", written):
        return ""
    if unit is Unit.OHM:
        return f'write "{written} ohm" or "{written}R" if ohms are meant'
    return f'write "{written} {unit}" if {WORDS[unit]} are meant'


def _parsed(text: str, unit: Unit) -> float:
    try:
        return parse(text, unit)
    except UnknownUnit as unknown:
        found = _spelled_out(text, unit)
        if found is None:
            raise
        if found < 0 and unit not in SIGNED:
            raise QuantityError(text, "is below zero", f"write for example {EXAMPLES[unit]}") from unknown
        return found


def _parsed_share(text: str) -> float:
    value = parse(text, Unit.PERCENT)
    if not 0 <= value <= 1:
        raise QuantityError(text, "is no share", "from 0 % to 100 % is wanted")
    return value


def _spelled_out(text: str, unit: Unit) -> float | None:
    """SI value of a number with its unit in full words, such as `2 watts`; None if it is no such thing.

    Symbols are not looked up: among all that exist, `PF` would be petafarads.
    """
    match = _SPELLED_OUT.fullmatch(text.strip())
    if match is None:
        return None
    number, words = match.groups()
    factor = _factor(words, unit)
    return None if factor is None else float(number) * factor


@cache
def _factor(words: str, unit: Unit) -> float | None:
    """What a unit in full words comes to in `unit`; None if it is unknown or of another kind."""
    import pint  # its import and first registry take about half a second, so only where a file needs it

    try:
        return float(_registry().Quantity(1, words).to(str(unit)).magnitude)
    except (pint.PintError, ValueError, TypeError, AttributeError):
        return None


@cache
def _registry() -> Any:
    import pint

    registry = pint.UnitRegistry()
    registry.define("@alias henry = henries")
    return registry
