"""A plot as a drawing of lines and letters: SVG for a page in a browser, vectors in a PDF. Needs reportlab."""

from __future__ import annotations

import re
from itertools import pairwise
from math import ceil, isfinite
from typing import Any

from benchtui.plots.model import BEYOND, Plot, Series, Strip, Strips, strip_share
from benchtui.plots.ticks import ticks
from benchtui.quantities.letters import western

WIDTH, HEIGHT = 470.0, 205.0
"""Points: the width of the text on an A4 sheet."""

_LEFT, _RIGHT, _BOTTOM, _TOP = 40.0, 12.0, 34.0, 8.0
_SMALL, _FONT = 7.5, "Helvetica"
_ROW = 13.0

_DASHES = {"solid": None, "dashed": [6, 3], "dotted": [1.5, 2.5]}
_GREY = {"measured": 0.0, "computed": 0.35, "rating": 0.0}
"""How dark each kind is drawn: readable in print without colour, told apart by dashes and letters."""


def plot_drawing(plot: Plot) -> Any:
    """A reportlab Drawing of the plot with its legend below. Raises ModuleNotFoundError without reportlab."""
    from reportlab.graphics.shapes import Drawing

    legend = plot.legend
    height = HEIGHT + _ROW * ceil(len(legend) / 2)
    drawing = Drawing(WIDTH, height)
    pen = _Pen(drawing, plot, height - HEIGHT)
    pen.axes()
    pen.bands()
    for series in plot.series:
        pen.series(series)
    for mark in plot.marks:
        if 0.0 <= plot.x.share(mark.x) <= 1.0 and 0.0 <= plot.y.share(mark.y) <= 1.0:
            pen.mark(*pen.at(mark.x, mark.y), mark.told)
    _legend(pen, plot, height - HEIGHT)
    return drawing


def svg(drawing: Any, id: str) -> str:
    """The drawing as one SVG element to be put into a page, the same bytes for the same plot.

    `id` is used nowhere else on the page.
    """
    from reportlab.graphics import renderSVG

    text = renderSVG.drawToString(drawing)
    text = text.decode("utf-8") if isinstance(text, bytes) else text
    text = re.sub(r"\s*<(title|desc)>.*?</\1>", "", text[text.index("<svg") :], flags=re.DOTALL)
    return text.replace('id="clip"', f'id="{id}-clip"').replace("#clip", f"#{id}-clip").replace('"group"', f'"{id}"')


class _Pen:
    """Draws in the units of a plot."""

    def __init__(self, drawing: Any, plot: Plot, bottom: float) -> None:
        self.drawing, self.plot = drawing, plot
        self.left, self.bottom = _LEFT, bottom + _BOTTOM
        self.width, self.height = WIDTH - _LEFT - _RIGHT, HEIGHT - _BOTTOM - _TOP

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Where a place of the plot lies on the paper."""
        across, up = self.plot.x.share(x), self.plot.y.share(y)
        return self.left + across * self.width, self.bottom + up * self.height

    def axes(self) -> None:
        for value, said in ticks(self.plot.x, 8):
            x = self.left + self.plot.x.share(value) * self.width
            self.line(x, self.bottom, x, self.bottom + self.height, 0.85, 0.4)
            self.words(x, self.bottom - 10, said, "middle")
        for value, said in ticks(self.plot.y, 6):
            y = self.bottom + self.plot.y.share(value) * self.height
            self.line(self.left, y, self.left + self.width, y, 0.85, 0.4)
            self.words(self.left - 4, y - 2.5, said, "end")
        right, top = self.left + self.width, self.bottom + self.height
        for ends in ((self.left, self.bottom, right, self.bottom), (self.left, self.bottom, self.left, top)):
            self.line(*ends, 0.0, 0.8)
        self.words(right, self.bottom - 22, self.plot.x.title, "end")
        self.words(self.left, self.bottom - 22, f"upwards: {self.plot.y.title}", "start")

    def bands(self) -> None:
        from reportlab.graphics.shapes import Rect
        from reportlab.lib.colors import Color

        for band in self.plot.bands:
            low, high = (min(1.0, max(0.0, self.plot.y.share(end))) for end in (band.low, band.high))
            y, height = self.bottom + low * self.height, (high - low) * self.height
            if height > 0.0:
                shade = Color(0.9, 0.9, 0.9)
                self.drawing.add(Rect(self.left, y, self.width, height, fillColor=shade, strokeColor=None))
            else:
                self.line(self.left, y, self.left + self.width, y, 0.0, 0.8, _DASHES["dotted"])

    def series(self, series: Series) -> None:
        grey, width = _GREY[series.told], 1.4 if series.weight == "bold" else 0.6
        runs: list[list[tuple[float, float]]] = []
        for one, other in pairwise(series.points):
            clipped = _clipped(self.plot, one, other)
            if clipped is not None:
                begin, end = (self.at_share(*each) for each in clipped)
                if not runs or runs[-1][-1] != begin:
                    runs.append([begin])
                runs[-1].append(end)
        for run in runs:
            self.lines(run, grey, width, _DASHES[series.style])
        if series.label and runs:
            x, y = runs[-1][-1]
            self.words(
                min(x, self.left + self.width) - 2, min(y, self.bottom + self.height - 6) + 2, series.label, "end"
            )

    def at_share(self, across: float, up: float) -> tuple[float, float]:
        return self.left + across * self.width, self.bottom + up * self.height

    def mark(self, x: float, y: float, told: str) -> None:
        """A filled circle is measured, an open one computed."""
        from reportlab.graphics.shapes import Circle
        from reportlab.lib.colors import black, white

        fill = black if told == "measured" else white
        self.drawing.add(Circle(x, y, 3.2, strokeColor=black, strokeWidth=1.1, fillColor=fill))

    def line(
        self, x1: float, y1: float, x2: float, y2: float, grey: float, width: float, dashes: list[float] | None = None
    ) -> None:
        self.lines([(x1, y1), (x2, y2)], grey, width, dashes)

    def lines(
        self, points: list[tuple[float, float]], grey: float, width: float, dashes: list[float] | None = None
    ) -> None:
        from reportlab.graphics.shapes import PolyLine
        from reportlab.lib.colors import Color

        flat = [round(each, 2) for point in points for each in point]
        self.drawing.add(PolyLine(flat, strokeColor=Color(grey, grey, grey), strokeWidth=width, strokeDashArray=dashes))

    def words(self, x: float, y: float, said: str, anchor: str) -> None:
        from reportlab.graphics.shapes import String

        self.drawing.add(
            String(round(x, 2), round(y, 2), western(said), fontName=_FONT, fontSize=_SMALL, textAnchor=anchor)
        )


_LEGEND = 52
"""Letters of a legend's entry that its half of the width has room for."""


def _legend(pen: _Pen, plot: Plot, top: float) -> None:
    """Each kind of line or mark as it is drawn, two in a row."""
    items = {(item.sign, item.name, item.told): item for item in reversed((*plot.marks, *plot.series, *plot.bands))}
    for number, item in enumerate(reversed(items.values())):
        left, y = _LEFT + number % 2 * (WIDTH - _LEFT) / 2, top - _ROW * (number // 2 + 1) + 4.0
        if isinstance(item, Series):
            width = 1.4 if item.weight == "bold" else 0.6
            pen.line(left, y + 2.5, left + 26, y + 2.5, _GREY[item.told], width, _DASHES[item.style])
            said = f"{item.name}, {item.told}" + (f"; {item.label} at its end" if _single(plot, item) else "")
        elif hasattr(item, "x"):
            pen.mark(left + 13, y + 2.5, item.told)
            said = f"{item.name}, {item.told}"
        else:
            pen.line(left, y + 2.5, left + 26, y + 2.5, 0.0, 0.8, _DASHES["dotted"])
            said = f"{item.name}, {item.told}"
        pen.words(left + 34, y, said if len(said) <= _LEGEND else f"{said[: _LEGEND - 3]}...", "start")


def _single(plot: Plot, series: Series) -> bool:
    """Whether a labelled series stands alone under its name."""
    return bool(series.label) and sum(each.name == series.name for each in plot.series) == 1


def _clipped(
    plot: Plot, one: tuple[float, float], other: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """A stretch in shares of both axes, cut at their ends; None where nothing of it is in sight (Liang and Barsky)."""
    if not all(map(isfinite, (*one, *other))):
        return None
    (a1, u1), (a2, u2) = ((plot.x.share(x), plot.y.share(y)) for x, y in (one, other))
    begin, end = 0.0, 1.0
    for start, step in ((a1, a2 - a1), (u1, u2 - u1)):
        for distance, way in ((start, -step), (1.0 - start, step)):
            if way == 0.0:
                if distance < -1e-9:
                    return None
            elif way < 0.0:
                begin = max(begin, distance / way)
            else:
                end = min(end, distance / way)
    if begin >= end:
        return None
    return tuple((a1 + t * (a2 - a1), u1 + t * (u2 - u1)) for t in (begin, end))  # type: ignore[return-value]


_NAMES, _BAR = 175.0, 150.0


def strips_drawing(strips: Strips) -> Any:
    """A reportlab Drawing of readings in their windows, a row each. Raises ModuleNotFoundError without reportlab."""
    from reportlab.graphics.shapes import Drawing

    drawing = Drawing(WIDTH, _ROW * (len(strips.rows) + 1))
    pen = _Pen(drawing, _NO_PLOT, 0.0)
    for number, row in enumerate(strips.rows):
        _strip(pen, row, _ROW * (len(strips.rows) - number))
    pen.mark(8, 5.5, "measured")
    pen.words(16, 3, "reading, measured", "start")
    pen.line(100, 5.5, 122, 5.5, 0.35, 4.0)
    pen.words(127, 3, "window, computed", "start")
    pen.line(210, 1.5, 210, 9.5, 0.0, 1.2)
    pen.words(215, 3, "nominal, computed", "start")
    return drawing


def _strip(pen: _Pen, row: Strip, y: float) -> None:
    pen.words(0, y, row.name if len(row.name) <= 42 else f"{row.name[:40]}...", "start")
    share, whole = strip_share(row), 1.0 + 2.0 * BEYOND
    if share is not None:
        left, right = (_NAMES + _BAR * each / whole for each in (BEYOND, 1.0 + BEYOND))
        pen.line(_NAMES, y + 2.5, _NAMES + _BAR, y + 2.5, 0.7, 0.4)
        pen.line(left, y + 2.5, right, y + 2.5, 0.6, 4.0)
        middle = (row.nominal - row.low) / (row.high - row.low)
        if isfinite(middle) and 0.0 <= middle <= 1.0:
            x = _NAMES + _BAR * (middle + BEYOND) / whole
            pen.line(x, y - 1.5, x, y + 6.5, 0.0, 1.2)
        pen.mark(_NAMES + _BAR * share, y + 2.5, "measured")
    pen.words(_NAMES + _BAR + 45, y, row.shown[0], "end")
    pen.words(_NAMES + _BAR + 52, y, f"{row.shown[1]}  {row.verdict}", "start")


_NO_PLOT = Plot("", None, None)  # type: ignore[arg-type]
