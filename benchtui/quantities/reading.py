"""What the builder types when asked for a reading: a value beyond doubt, or a question back."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import inf
from typing import Literal

from benchtui.quantities.errors import QuantityError, Question
from benchtui.quantities.grammar import NUMBER, fault, normalise
from benchtui.quantities.parse import parse
from benchtui.quantities.show import show
from benchtui.quantities.units import WORDS, Unit

#: A longer entry is no reading.
LONGEST = 16

_OVER_LIMIT = {"ol", "o.l", "o.l.", ".ol", "open"}
_NUMBER = re.compile(rf"[+-]?{NUMBER}")
_MILLI_OR_MICRO = re.compile(rf"[+-]?{NUMBER}\s*[muμ]")
_BASE_UNIT = {Unit.VOLT: r"[Vv]", Unit.AMPERE: r"[Aa]", Unit.OHM: r"(?:ohms?|Ω|R)", Unit.SECOND: r"s"}
_AC = re.compile(r"\s*(?:ac|~)$", re.IGNORECASE)
_DC = re.compile(r"\s*dc$", re.IGNORECASE)


@dataclass(frozen=True)
class Reading:
    """A reading as understood: `value` in SI (infinite for open ohms), `text` as typed, `notes` in words."""

    value: float
    text: str
    notes: tuple[str, ...] = ()


def read(text: str, unit: Unit, *, plain: bool = False, current: Literal["dc", "ac"] | None = None) -> Reading:
    """The reading that `text` gives in `unit`; a number without unit is taken in that unit.

    `plain` is for the discharge gate: nothing but a decimal number and, if wanted, the unit itself.
    `current` says whether the point is DC or AC; text that says the other is asked about.

    Raises Question for whatever could be meant in two ways or is no number; nothing is ever guessed.
    """
    unit = Unit(unit)
    entry = normalise(text)
    if len(entry) > LONGEST:
        raise Question(f"{entry[:LONGEST]}...", "is too long for a reading", "type the number on the meter")
    entry = _without_current(entry, text, current)
    if entry.casefold() in _OVER_LIMIT:
        return _over_limit(text, unit)
    if entry.casefold() == "0l":
        raise Question(text, "may be zero or over limit", "type 0 or OL")
    try:
        value, note = _value(entry, unit, plain=plain)
    except QuantityError as error:
        raise Question(text, error.why, error.hint) from error
    return Reading(value, text, (note,) if note else ())


def _value(entry: str, unit: Unit, *, plain: bool) -> tuple[float, str]:
    wrong = fault(entry)
    if wrong:
        raise QuantityError(entry, *wrong)
    number = re.sub(rf"\s*{_BASE_UNIT.get(unit, re.escape(unit))}$", "", entry)
    if _NUMBER.fullmatch(number):
        return parse(f"{number} {unit}", unit), ""
    if plain:
        raise QuantityError(entry, f"is no plain number of {WORDS[unit]}", "type the digits alone: 0.3, 38.5")
    if unit in (Unit.VOLT, Unit.AMPERE) and _MILLI_OR_MICRO.fullmatch(entry):
        entry += unit
    value = parse(entry, unit)
    return value, f"taken as {show(value, unit, sum(c.isdigit() for c in entry))}"


def _over_limit(text: str, unit: Unit) -> Reading:
    if unit is not Unit.OHM:
        raise Question(text, f"is no reading in {WORDS[unit]}", "take a higher range; check probes and sockets")
    return Reading(inf, text, ("open",))


def _without_current(entry: str, text: str, current: str | None) -> str:
    for said, pattern in (("ac", _AC), ("dc", _DC)):
        if current and pattern.search(entry) and re.match(r"[+-]?[\d.]", entry):
            if said != current:
                hint = f"set the meter to {current.upper()}, read again and type the number"
                raise Question(text, f"says {said.upper()} where {current.upper()} is due", hint)
            return pattern.sub("", entry)
    return entry
