"""A reading's scale as a picture: window, nominal and limits, and where the typed value falls."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from rich.cells import cell_len
from rich.text import Text

from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.session.view import Scale
from benchtui.tui.drawing.block import block, centred_at, line
from benchtui.tui.look import Look
from benchtui.tui.plain import wrapped

# In widths of the window: what is drawn beside it, and how far a limit may lie before the axis is broken.
_BESIDE = 1.0
_FARTHEST_LIMIT = 4.0
_BREAK = 5


@dataclass(frozen=True)
class _Axis:
    """Values at the two ends of the unbroken part, its columns, and which side is broken towards a limit."""

    low: float
    high: float
    first: int
    last: int
    width: int
    broken_low: bool
    broken_high: bool

    def column(self, value: float) -> int:
        share = (value - self.low) / (self.high - self.low)
        return self.first + round(max(0.0, min(share, 1.0)) * (self.last - self.first))


def scale(of: Scale | None, typed: float | None, look: Look, width: int) -> Text:
    """The spoken line, the pointer of the `typed` value in SI, the picture and its numbers; nothing without a scale."""
    if of is None:
        return Text("")
    drawn = [line((f" {row}", look.inks.strong)) for row in wrapped(look.words(of.spoken), width - 2)]
    axis = _axis(of, min(width - 4, 100))
    if axis is None:
        return block(drawn, width)
    drawn += [_pointer(of, axis, typed, look), _picture(of, axis, look), _numbers(of, axis, look)]
    return block(drawn, width)


def _axis(of: Scale, width: int) -> _Axis | None:
    if width < 16 or not isfinite(of.nominal) or not (isfinite(of.low) or isfinite(of.high)):
        return None
    low = of.low if isfinite(of.low) else of.nominal
    high = of.high if isfinite(of.high) else of.nominal
    window = max(high - low, abs(of.nominal) * 0.02) or 1.0
    begin, end = low - _BESIDE * window, high + _BESIDE * window
    if low >= 0:
        begin = max(begin, 0.0)
    near_low = of.stop_low is not None and low - of.stop_low <= _FARTHEST_LIMIT * window
    near_high = of.stop_high is not None and of.stop_high - high <= _FARTHEST_LIMIT * window
    if near_low and of.stop_low is not None:
        begin = of.stop_low - 0.5 * window
    if near_high and of.stop_high is not None:
        end = of.stop_high + 0.5 * window
    broken_low = of.stop_low is not None and not near_low
    broken_high = of.stop_high is not None and not near_high
    first = _BREAK if broken_low else 0
    last = width - 1 - (_BREAK if broken_high else 0)
    return _Axis(begin, end, first, last, width, broken_low, broken_high)


def _picture(of: Scale, axis: _Axis, look: Look) -> Text:
    inks, signs = look.inks, look.signs
    cells = [(signs.axis, inks.warn)] * axis.width
    inside = range(axis.column(of.low), axis.column(of.high) + 1)
    for column in inside:
        cells[column] = (signs.window, inks.window if of.proves else inks.screened)
    cells[axis.column(of.nominal)] = (signs.nominal, inks.strong)
    if of.stop_low is not None:
        limit = 2 if axis.broken_low else axis.column(of.stop_low)
        cells[: limit + 1] = [(signs.beyond, inks.bad)] * limit + [(signs.limit, inks.bad)]
    if of.stop_high is not None:
        limit = axis.width - 3 if axis.broken_high else axis.column(of.stop_high)
        cells[limit:] = [(signs.limit, inks.bad)] + [(signs.beyond, inks.bad)] * (axis.width - 1 - limit)
    if axis.broken_low:
        cells[axis.first - 1] = (signs.gap, inks.quiet)
    if axis.broken_high:
        cells[axis.last + 1] = (signs.gap, inks.quiet)
    return line(("  ", ""), *cells)


def _pointer(of: Scale, axis: _Axis, typed: float | None, look: Look) -> Text:
    if typed is None or typed != typed:
        return Text("")
    column, sign = axis.column(typed), look.signs.pointer
    if typed > axis.high:
        beyond = of.stop_high is not None and typed > of.stop_high
        column, sign = (axis.width - 1 if beyond else min(axis.last + 1, axis.width - 1)), look.signs.right
    elif typed < axis.low:
        beyond = of.stop_low is not None and typed < of.stop_low
        column, sign = (0 if beyond else max(axis.first - 1, 0)), look.signs.left
    said = _shown(typed, of.unit, look)
    if column + cell_len(said) + 2 <= axis.width:
        return line((" " * (column + 2), ""), (f"{sign} {said}", look.inks.value))
    start = max(column - cell_len(said) - 1, 0)
    return line((" " * (start + 2), ""), (f"{said} {sign}", look.inks.value))


def _numbers(of: Scale, axis: _Axis, look: Look) -> Text:
    """The numbers under the picture; limits first, then the window, each only where there is room left."""
    wanted: list[tuple[float, int, str]] = []
    if of.stop_low is not None:
        wanted.append((of.stop_low, 2 if axis.broken_low else axis.column(of.stop_low), look.inks.bad))
    if of.stop_high is not None:
        column = axis.width - 3 if axis.broken_high else axis.column(of.stop_high)
        wanted.append((of.stop_high, column, look.inks.bad))
    wanted += [(value, axis.column(value), look.inks.text) for value in (of.low, of.high) if isfinite(value)]
    wanted.append((of.nominal, axis.column(of.nominal), look.inks.strong))
    placed: list[tuple[int, str, str]] = []
    for value, column, ink in wanted:
        said = _shown(value, of.unit, look)
        start = centred_at(said, column, axis.width)
        if all(start + cell_len(said) < at or start > at + cell_len(other) for at, other, _ in placed):
            placed.append((start, said, ink))
    made, reached = [("  ", "")], 0
    for start, said, ink in sorted(placed):
        made += [(" " * (start - reached), ""), (said, ink)]
        reached = start + cell_len(said)
    return line(*made)


def _shown(value: float, unit: str, look: Look) -> str:
    if unit not in set(Unit):
        return f"{value:.4g} {look.words(unit)}"
    return look.words(show(value, Unit(unit), 3, ascii=not look.utf8))
