"""A computed run in time (settling, or the fall after switch-off) as a plot made of text."""

from __future__ import annotations

from bisect import bisect_right
from math import isfinite

from rich.text import Text

from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.session.view import Course
from benchtui.tui.drawing.block import block, line, spread
from benchtui.tui.look import Look

# Dots of a Braille cell by (column, row), as bits above U+2800 (Unicode, block Braille Patterns).
_DOTS = ((0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80))
_MARGIN = 10


def course(of: Course | None, look: Look, height: int, width: int) -> Text:
    """In `height` rows: caption where there is room, plot with the time now and the switch-off line, time axis.

    Nothing where there is no course, too little room, or fewer than two finite points in order of time.
    """
    if of is None or width < _MARGIN + 20 or height < 4:
        return Text("")
    if len(of.times_s) < 2 or not all(map(isfinite, of.times_s + of.values)):
        return Text("")
    columns = min(width - _MARGIN - 2, 90)
    top = max(*of.values, of.switch_off if of.switch_off is not None else of.values[0])
    top = top * 1.05 if top > 0 else 1.0
    bottom = min(0.0, *of.values) if min(of.values) < -0.02 * top else 0.0
    return block(_rows(of, look, height, columns, (bottom, top)), width)


def _rows(of: Course, look: Look, rows: int, columns: int, span: tuple[float, float]) -> list[Text]:
    inks, signs, captioned = look.inks, look.signs, rows > 4
    height = rows - 1 - captioned
    bottom, top = span
    end_s = of.times_s[-1]
    now = round(min(max(of.now_s / end_s, 0.0), 1.0) * (columns - 1)) if end_s > 0 else 0
    cells = _curve(of, look, height, columns, span)
    limit = None
    if of.switch_off is not None:
        limit = max(0, min(height - 1, int((top - of.switch_off) / (top - bottom) * height)))
        cells[limit] = [(signs.dash, inks.bad) if sign == " " else (sign, ink) for sign, ink in cells[limit]]
    for row in cells:
        row[now] = (signs.bar, inks.strong) if row[now][0] in (" ", signs.dash) else (row[now][0], inks.strong)
    drawn = [line((f" {look.words(of.caption)}", inks.text))] if captioned else []
    for number, row in enumerate(cells):
        label, ink = "", inks.quiet
        if number == limit and of.switch_off is not None:
            label, ink = _shown(of.switch_off, of.unit, look), inks.bad
        elif number in (0, height - 1):
            label = _shown(top if number == 0 else bottom, of.unit, look)
        drawn.append(line((f"{label:>{_MARGIN - 1}} ", ink), (signs.bar, inks.line), *row))
    drawn.append(_times(of, look, columns, end_s))
    return drawn


def _times(of: Course, look: Look, columns: int, end_s: float) -> Text:
    here = f"now {of.now_s:.0f} s"
    if of.times_s[0] <= of.now_s <= end_s:
        here += f", computed {_shown(_value(of, of.now_s), of.unit, look)}"
    if of.switch_off is not None:
        here += f"   {look.signs.dash}{look.signs.dash} switch off"
    left = line((" " * _MARGIN + " 0 s   ", look.inks.quiet), (here, look.inks.strong))
    return spread(left, line((f"{end_s:.0f} s", look.inks.quiet)), columns + _MARGIN + 1)


def _curve(of: Course, look: Look, height: int, columns: int, span: tuple[float, float]) -> list[list[tuple[str, str]]]:
    """Cells of the curve: Braille dots, or stars where the look is ASCII."""
    across, down = (2, 4) if look.utf8 else (1, 1)
    bits = [[0] * columns for _ in range(height)]
    begin_s, end_s = of.times_s[0], of.times_s[-1]
    bottom, top = span
    before = None
    for x in range(columns * across):
        value = _value(of, begin_s + (end_s - begin_s) * x / (columns * across - 1))
        y = min(height * down - 1, max(0, int((top - value) / (top - bottom) * height * down)))
        for dot in _between(before, y):
            bits[dot // down][x // across] |= _DOTS[x % across][dot % down]
        before = y
    sign = (lambda b: chr(0x2800 + b)) if look.utf8 else (lambda b: "*")
    return [[(sign(b), look.inks.accent) if b else (" ", "") for b in row] for row in bits]


def _between(before: int | None, y: int) -> range:
    if before is None or abs(before - y) <= 1:
        return range(y, y + 1)
    return range(before + 1, y + 1) if before < y else range(y, before)


def _value(of: Course, at_s: float) -> float:
    right = min(max(bisect_right(of.times_s, at_s), 1), len(of.times_s) - 1)
    begin_s, end_s = of.times_s[right - 1], of.times_s[right]
    share = (at_s - begin_s) / (end_s - begin_s) if end_s > begin_s else 1.0
    return of.values[right - 1] + share * (of.values[right] - of.values[right - 1])


def _shown(value: float, unit: str, look: Look) -> str:
    known = unit in set(Unit)
    return look.words(show(value, Unit(unit), 3, ascii=not look.utf8) if known else f"{value:.3g} {unit}")
