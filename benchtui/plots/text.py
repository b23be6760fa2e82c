"""A plot in characters, readable without colour: each line has its own sign, and a legend that tells all of them.

As rows of pieces each piece says what it shows, so that a screen can colour it; as lines it is the same without.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from itertools import groupby, pairwise
from math import ceil, isfinite

from benchtui.plots.model import BEYOND, Plot, Strip, Strips, strip_share
from benchtui.plots.ticks import ticks
from benchtui.quantities.clean import clean, to_ascii

WIDTH = 78
_MARGIN, _HEIGHT = 8, 20
_STRIP = 25

Piece = tuple[str, str]
"""Characters, and what they show: "measured", "computed", "rating", "axis", "label", "title" or "text"."""

Row = list[Piece]


def plot_lines(plot: Plot) -> list[str]:
    """Title, picture with both axes, legend and notes: lines of at most `WIDTH` ASCII characters."""
    return ["".join(text for text, _ in row).rstrip() for row in plot_rows(plot, WIDTH, _HEIGHT)]


def plot_rows(plot: Plot, width: int, height: int) -> list[Row]:
    """The same `width` characters wide, its field `height` rows high, as rows of pieces."""
    columns = width - _MARGIN - 2
    field = [[(" ", "axis")] * columns for _ in range(height)]
    _bands(plot, field)
    for series in plot.series:
        _line(plot, field, series.points, (series.sign, series.told))
    labelled: set[int] = set()
    for series in plot.series:
        _label(plot, field, series.points, series.label, labelled)
    for mark in plot.marks:
        if (at := _cell(plot, field, mark.x, mark.y)) is not None:
            field[at[1]][at[0]] = (mark.sign, mark.told)
    rows = [*_wrapped(plot.title, width, "", "title"), *_framed(plot, field)]
    rows += [row for sign, said, told in plot.legend for row in _wrapped(f"{sign}  {said}", width, "   ", told)]
    return rows + [row for note in plot.notes for row in _wrapped(note, width, "")]


def strip_lines(strips: Strips) -> list[str]:
    """Title, then a row for each reading: name, its place in the window, the reading, the window."""
    told = [tuple(to_ascii(clean(text)) for text in row.shown) for row in strips.rows]
    reads, windows = (max((len(each[k]) for each in told), default=0) for k in range(2))
    names = max(WIDTH - _STRIP - reads - windows - 7, 12)
    lines = _folded(strips.title, WIDTH)
    for row, (value, window) in zip(strips.rows, told, strict=True):
        first, *rest = textwrap.wrap(to_ascii(clean(row.name)), names) or [""]
        lines.append(f"{first:<{names}} {_strip(row)} {value:>{reads}}  {window:<{windows}} {row.verdict}".rstrip())
        lines += [f"  {more}" for more in rest]
    lines += _folded("[ and ] are the ends of the window (computed), | the nominal value (computed), "
                     "O the reading (measured).", WIDTH)  # fmt: skip
    return lines + [line for note in strips.notes for line in _folded(note, WIDTH)]


def _strip(row: Strip) -> str:
    share = strip_share(row)
    if share is None:
        return " " * _STRIP
    edge = round(BEYOND / (1.0 + 2.0 * BEYOND) * (_STRIP - 1))
    cells = [*"." * edge, "[", *"=" * (_STRIP - 2 * edge - 2), "]", *"." * edge]
    middle = (row.nominal - row.low) / (row.high - row.low)
    if isfinite(middle) and 0.0 <= middle <= 1.0:
        cells[round((middle + BEYOND) / (1.0 + 2.0 * BEYOND) * (_STRIP - 1))] = "|"
    cells[round(share * (_STRIP - 1))] = "O"
    return "".join(cells)


def _joined(cells: Sequence[Piece]) -> Row:
    """Neighbouring characters that show the same, as one piece."""
    return [("".join(text for text, _ in run), what) for what, run in groupby(cells, key=lambda cell: cell[1])]


def _cell(plot: Plot, field: list[list[Piece]], x: float, y: float) -> tuple[int, int] | None:
    """Column and row of a place, None outside of the axes."""
    if not (isfinite(x) and isfinite(y)):
        return None
    across, up = plot.x.share(x), plot.y.share(y)
    if not (-1e-9 <= across <= 1.0 + 1e-9 and -1e-9 <= up <= 1.0 + 1e-9):
        return None
    return round(across * (len(field[0]) - 1)), round((1.0 - up) * (len(field) - 1))


def _line(plot: Plot, field: list[list[Piece]], points: tuple[tuple[float, float], ...], sign: Piece) -> None:
    """Each stretch by as many steps as it is long in cells."""
    rows, columns = len(field), len(field[0])
    for (x1, y1), (x2, y2) in pairwise(points):
        if not all(map(isfinite, (x1, y1, x2, y2))):
            continue
        ends = [(plot.x.share(x), plot.y.share(y)) for x, y in ((x1, y1), (x2, y2))]
        (a1, u1), (a2, u2) = ends
        steps = max(1, min(4000, ceil(2.0 * max(abs(a2 - a1) * columns, abs(u2 - u1) * rows))))
        for k in range(steps + 1):
            across, up = a1 + (a2 - a1) * k / steps, u1 + (u2 - u1) * k / steps
            if -1e-9 <= across <= 1.0 + 1e-9 and -1e-9 <= up <= 1.0 + 1e-9:
                field[round((1.0 - up) * (rows - 1))][round(across * (columns - 1))] = sign


def _bands(plot: Plot, field: list[list[Piece]]) -> None:
    rows = len(field)
    for band in plot.bands:
        low, high = (plot.y.share(end) for end in (band.low, band.high))
        for row in range(rows):
            up = 1.0 - row / (rows - 1)
            if min(abs(up - low), abs(up - high)) <= 0.5 / (rows - 1) or low <= up <= high:
                field[row] = [(band.sign, band.told)] * len(field[row])


def _label(
    plot: Plot, field: list[list[Piece]], points: tuple[tuple[float, float], ...], label: str, taken: set[int]
) -> None:
    """The label at the last point that is in sight, where its row has none yet."""
    cells = [at for x, y in points if (at := _cell(plot, field, x, y)) is not None]
    if not label or not cells:
        return
    column, row = cells[-1]
    if row in taken:
        return
    taken.add(row)
    said = to_ascii(clean(label))
    start = max(0, min(column - len(said) + 1, len(field[row]) - len(said)))
    field[row][start : start + len(said)] = [(letter, "label") for letter in said]


def _framed(plot: Plot, field: list[list[Piece]]) -> list[Row]:
    rows, columns = len(field), len(field[0])
    marked = {round((1.0 - plot.y.share(value)) * (rows - 1)): said for value, said in ticks(plot.y, rows // 3)}
    framed: list[Row] = [[(to_ascii(clean(plot.y.title)), "axis")]]
    for number, cells in enumerate(field):
        said = marked.get(number, "")
        framed.append([(f"{said:>{_MARGIN}} {'+' if said else '|'}", "axis"), *_joined(cells)])
    rule, under = ["-"] * columns, [" "] * (columns + 4)
    for value, said in ticks(plot.x, columns // 9):
        column = round(plot.x.share(value) * (columns - 1))
        rule[column] = "+"
        start = max(0, min(column - len(said) // 2, columns - len(said)))
        under[start : start + len(said)] = said
    title = to_ascii(clean(plot.x.title)).rjust(_MARGIN + 2 + columns)
    last = (f"{'':>{_MARGIN}} +{''.join(rule)}", f"{'':>{_MARGIN}}  {''.join(under)[:columns]}", title)
    return [*framed, *([(text, "axis")] for text in last)]


def _wrapped(text: str, width: int, indent: str, what: str = "text") -> list[Row]:
    return [[(line, what)] for line in _folded(text, width, indent)]


def _folded(text: str, width: int, indent: str = "") -> list[str]:
    return textwrap.wrap(to_ascii(clean(text)), width, subsequent_indent=indent, break_on_hyphens=False) or [""]
