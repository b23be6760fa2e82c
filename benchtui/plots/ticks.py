"""Where an axis is marked, at round numbers, and how the numbers are written."""

from __future__ import annotations

from math import ceil, floor, log10

from benchtui.plots.model import Axis

_ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)


def ticks(axis: Axis, most: int) -> tuple[tuple[float, str], ...]:
    """At most about `most` values of the axis with their words, from low to high."""
    return _logarithmic(axis, most) if axis.log else _linear(axis, most)


def round_up(value: float) -> float:
    """The next round number at or above a positive `value`, for the end of an axis."""
    power = 10.0 ** floor(log10(value))
    steps = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
    return next(step * power for step in steps if step * power >= value * (1.0 - 1e-9))


def _linear(axis: Axis, most: int) -> tuple[tuple[float, str], ...]:
    span = axis.high - axis.low
    power = 10.0 ** floor(log10(span / max(most, 1)))
    step = next(round_ * power for round_ in _ROUND if span / (round_ * power) <= most + 1e-9)
    first = ceil(axis.low / step - 1e-9)
    last = floor(axis.high / step + 1e-9)
    decimals = max(0, -floor(log10(step) + 1e-9)) + (1 if abs(step / power - 2.5) < 1e-9 and power < 10.0 else 0)
    return tuple((n * step, f"{n * step:.{decimals}f}" if n else "0") for n in range(first, last + 1))


def _logarithmic(axis: Axis, most: int) -> tuple[tuple[float, str], ...]:
    decades = range(floor(log10(axis.low)), ceil(log10(axis.high)) + 1)
    for mantissas in ((1, 2, 5), (1,)):
        found = [m * 10.0**d for d in decades for m in mantissas]
        inside = [value for value in found if axis.low * (1 - 1e-9) <= value <= axis.high * (1 + 1e-9)]
        if len(inside) <= most:
            break
    return tuple((value, _short(value)) for value in inside)


def _short(value: float) -> str:
    if value >= 1e6:
        return f"{value / 1e6:g}M"
    return f"{value / 1e3:g}k" if value >= 1e3 else f"{value:g}"
