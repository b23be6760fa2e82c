"""From a number in SI units to text as the trade writes it."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from math import inf, isfinite

from benchtui.quantities.units import PREFIXES, Unit, sensible_prefixes

#: How an infinite resistance is shown.
OPEN = "open (OL)"

#: How a value that is not known (NaN) is shown.
UNKNOWN = "unknown"

# Prefixes that can be read but that the trade does without.
_UNUSED = {Unit.VOLT: {"k"}, Unit.WATT: {"k"}, Unit.SECOND: {"u"}}

_SYMBOLS = {Unit.OHM: "Ω", Unit.CELSIUS: "°C"}

#: Decimals at most, below the smallest prefix of a unit.
_MOST_DECIMALS = 6


def show(value: float, unit: Unit, digits: int | None = None, *, ascii: bool = False) -> str:
    """`value` (SI; percent: a fraction) as text: `18.9 V`, `55.8 mV`, `4k7`, `47 µF`.

    Without `digits`: up to three significant ones, as on a part (`4k7`, `100k`, `2.2 W`). With `digits`: that
    many, as a meter shows them (`4.70 kΩ`, `19.0 V`). Whole numbers are never rounded. `ascii` writes ohm, u
    and degC.
    Infinite ohms are `open (OL)`; any other value that is not finite is `unknown`.
    """
    unit = Unit(unit)
    shown = value * 100 if unit is Unit.PERCENT else value
    if not isfinite(shown):
        return OPEN if unit is Unit.OHM and value == inf else UNKNOWN
    prefix, number = _scaled(shown, unit, digits or 3)
    if digits is None:
        number = _trimmed(number)
        if unit is Unit.OHM and prefix:
            return _mark(number, prefix)
    symbol = unit.value if ascii else _SYMBOLS.get(unit, unit.value)
    sign = prefix if ascii or prefix != "u" else "µ"
    return f"{number} {sign}{symbol}"


def fine_percent(percent: float) -> str:
    """A share of distortion: two decimals from 10 % on, four below, six under 0.001 %."""
    return f"{percent:.{2 if percent >= 10 else 4 if percent >= 0.001 else 6}f} %"


def _scaled(value: float, unit: Unit, digits: int) -> tuple[str, str]:
    steps = _steps(unit)
    # the power of ten once rounded: 999.6 with three digits is a thousand
    exponent = int(f"{value:.{digits - 1}e}".partition("e")[2])
    step, prefix = next((s for s in reversed(steps) if exponent >= s[0]), steps[0])
    decimals = min(max(0, digits - 1 - (exponent - step)), _MOST_DECIMALS)
    number = f"{Decimal(value).scaleb(-step):.{decimals}f}"
    return (prefix, number) if float(number) else ("", f"{0:.{digits - 1}f}")


@cache
def _steps(unit: Unit) -> tuple[tuple[int, str], ...]:
    """Powers of ten that have a prefix in the trade, with the prefix, smallest first."""
    prefixes = [p for p in sensible_prefixes(unit) if p not in _UNUSED.get(unit, ())]
    return tuple(sorted((PREFIXES[p].adjusted(), p) for p in prefixes))


def _trimmed(number: str) -> str:
    return number.rstrip("0").rstrip(".") if "." in number else number


def _mark(number: str, prefix: str) -> str:
    whole, _, decimals = number.partition(".")
    return f"{whole}{prefix}{decimals}"
