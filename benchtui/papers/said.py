"""Figures in the words of a document: each with its unit, at as many digits as a meter has."""

from __future__ import annotations

from math import inf, isfinite, isnan

from benchtui.quantities.errors import Question
from benchtui.quantities.reading import read
from benchtui.quantities.units import Unit
from benchtui.session import figures

NONE = "-"
"""What stands where nothing is known or nothing applies."""


_NOTHING = {"V": 5e-5, "ohm": 5e-5, "A": 5e-8, "W": 5e-7}
"""What is less than this no meter of a bench shows: it reads zero (own decision)."""


def value(number: float | None, unit: str, digits: int = 3) -> str:
    """A figure with its unit; a dash where there is none, "open" for ohms without end."""
    if number is None or isnan(number) or (not isfinite(number) and unit != "ohm"):
        return NONE
    if number == inf:
        return "open"
    if abs(number) < _NOTHING.get(unit, 0.0):
        return f"0 {_symbol(unit)}"
    if unit and unit not in set(Unit):
        return f"{number:.{digits}g} {unit}"
    return figures.shown(number, unit, digits)


def _symbol(unit: str) -> str:
    return figures.shown(1.0, unit, 1).partition(" ")[2] if unit in set(Unit) else unit


def window(low: float, high: float, unit: str) -> str:
    """From where to where, the unit once where both have the same."""
    if isnan(low) or isnan(high):
        return NONE
    if not isfinite(low) and not isfinite(high):
        return NONE
    if not isfinite(high):
        return f"over {value(low, unit)}"
    if not isfinite(low):
        return f"under {value(high, unit)}"
    low = max(low, 0.0) if unit == "ohm" else low
    first, last = value(low, unit) if low else f"0 {value(high, unit).partition(' ')[2]}", value(high, unit)
    number, _, suffix = first.partition(" ")
    return f"{number} to {last}" if suffix == last.partition(" ")[2] else f"{first} to {last}"


def typed(text: str, number: float, unit: str) -> str:
    """A reading as it was typed, with the unit; where that alone does not tell, also what was understood."""
    if not text:
        return value(number, unit, 4)
    if _is_plain(text, number, unit):
        told = text.strip()
        return told if unit and told.endswith((unit, _symbol(unit))) else f"{told} {_symbol(unit)}".rstrip()
    return f"{text.strip()} = {value(number, unit, 4)}"


def _is_plain(text: str, number: float, unit: str) -> bool:
    """Whether `text` is the bare number in the unit itself."""
    try:
        return float(text) == number
    except ValueError:
        pass
    try:
        return unit in set(Unit) and read(text, Unit(unit)).value == number and text.strip().endswith(unit)
    except Question:
        return False


def clock(wall: float) -> str:
    return figures.clock(wall).replace("time unknown", "unknown")
