"""From text as the trade writes it to a number in SI units."""

from __future__ import annotations

import re
from decimal import Decimal
from math import isfinite

from benchtui.quantities.errors import QuantityError, UnknownUnit
from benchtui.quantities.grammar import NUMBER, fault, normalise
from benchtui.quantities.units import (
    EXAMPLES,
    FACTORS,
    MARKS,
    PREFIXES,
    SIGNED,
    WORDS,
    Unit,
    senseless_prefix,
    unit_of,
)

#: Longer text is no quantity.
LONGEST = 40

_MARK = re.compile(r"([+-]?)(\d*)([A-Za-zμ])(\d+) ?([A-Za-zΩ]*)")
#: Inches as rules and drills have them: 3/4 in, 1-1/8 in. Halves to sixty-fourths, as rules are divided.
_INCHES = re.compile(r"(?:(\d{1,2})[- ])?(\d{1,2})/(2|4|8|16|32|64)\s*in")
_PLAIN = re.compile(rf"([+-]?)({NUMBER})\s*([A-Za-zΩμ°%/ ]*)")


def parse(text: str, unit: Unit) -> float:
    """The quantity that `text` states, in SI (percent: a fraction), always finite.

    Takes IEC 60062 marks (`4k7`, `R47`, `2u2`), a number with its unit (`0.1 uF`, `4.7 kΩ`, `60 mA`), and of lengths
    fractions of an inch (`1-1/8 in`).
    Prefixes are case sensitive: `1M` on ohms and `1m` on henries are right, `1m` on ohms and `1M` on farads
    are refused.

    Raises:
        UnknownUnit: a plain number, followed by a unit that is not known here.
        QuantityError: anything else that is not clear beyond doubt; never guesses.
    """
    unit = Unit(unit)
    plain = normalise(text)
    if len(plain) > LONGEST:
        raise QuantityError(plain[:LONGEST] + "...", "is too long", _like(unit))
    fraction = _INCHES.fullmatch(plain) if unit is Unit.METRE else None
    if fraction is not None:
        whole, parts, of = (Decimal(each or 0) for each in fraction.groups())
        return float((whole + parts / of) * FACTORS[unit]["in"])
    wrong = fault(plain)
    if wrong:
        raise QuantityError(text, *wrong)
    return _checked(_value(plain, text, unit), text, unit)


def _like(unit: Unit) -> str:
    return f"write for example {EXAMPLES[unit]}"


def _value(plain: str, text: str, unit: Unit) -> Decimal:
    match = _MARK.fullmatch(plain)
    if match:
        return _marked_value(match, text, unit)
    match = _PLAIN.fullmatch(plain)
    if match is None:
        raise QuantityError(text, f"is no value in {WORDS[unit]}", _like(unit))
    sign, number, suffix = match.groups()
    return Decimal(sign + number) * _factor(number, suffix.strip(), text, unit)


def _marked_value(match: re.Match[str], text: str, unit: Unit) -> Decimal:
    sign, whole, letter, decimals, after = match.groups()
    factor = MARKS.get(unit, {}).get(letter)
    if factor is None:
        _refuse_prefix(f"{whole or 0}.{decimals}", letter, text, unit)
        raise QuantityError(text, f"has the mark {letter!r}, which {WORDS[unit]} have not", _like(unit))
    if after and FACTORS[unit].get(after) != 1:
        hint = f"write {sign}{whole}{letter}{decimals}, and a tolerance in its own place"
        raise QuantityError(text, f"has {after!r} after the mark", hint)
    return Decimal(f"{sign}{whole or 0}.{decimals}") * factor


def _factor(number: str, suffix: str, text: str, unit: Unit) -> Decimal:
    if suffix in FACTORS[unit]:
        return FACTORS[unit][suffix]
    if not suffix:
        raise QuantityError(text, "has no unit", _like(unit))
    _refuse_prefix(number, suffix, text, unit)
    other = unit_of(suffix)
    if other is not None:
        raise QuantityError(text, f"is in {WORDS[other]}", f"{WORDS[unit]} are due, such as {EXAMPLES[unit]}")
    if suffix in PREFIXES or suffix == "μ":
        sensible = suffix + unit in FACTORS[unit]
        hint = f"write {number} {suffix}{unit}" if sensible else _like(unit)
        raise QuantityError(text, "has a prefix but no unit", hint)
    raise UnknownUnit(text, f"has the unknown unit {suffix!r}", _like(unit))


def _refuse_prefix(number: str, suffix: str, text: str, unit: Unit) -> None:
    prefix = senseless_prefix(suffix, unit)
    if prefix is None:
        return
    hint = _like(unit)
    thousandfold = 1000 * Decimal(number)
    if unit is Unit.OHM and prefix == "m":
        hint = f"write {number}M for megohms, or {Decimal(number) / 1000} ohm for milliohms"
    elif unit is Unit.FARAD and prefix in "mM":
        hint = f"write {number} uF for microfarads (mF on old parts), {thousandfold} uF for millifarads"
    elif prefix == "M":
        hint = f"write {number} m{unit} if milli was meant"
    elif prefix == "m":
        hint = f"write {number} M{unit} if mega was meant"
    raise QuantityError(text, f"has the prefix {prefix!r}, which makes no sense on {WORDS[unit]}", hint)


def _checked(value: Decimal, text: str, unit: Unit) -> float:
    result = float(value)
    if not isfinite(result):
        raise QuantityError(text, "is no finite number", _like(unit))
    if result < 0 and unit not in SIGNED:
        raise QuantityError(text, "is below zero", f"{WORDS[unit]} cannot be negative")
    return result + 0.0
