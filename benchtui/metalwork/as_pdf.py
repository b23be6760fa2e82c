"""Sheets as a PDF file, at full size."""

from __future__ import annotations

from collections.abc import Iterable
from io import BytesIO
from typing import Any

from benchtui.metalwork.drawing import MARK, STYLES, Circle, Line, Mark, Polygon, Words
from benchtui.metalwork.sheets import Sheet
from benchtui.quantities.letters import western

_POINTS = 72 / 25.4
"""Points in a millimetre: PDF counts 72 to the inch."""


def pdf(sheets: Iterable[Sheet]) -> bytes:
    """A PDF of one page a sheet; the same sheets give the same bytes. Raises ModuleNotFoundError without reportlab."""
    from reportlab.pdfgen.canvas import Canvas

    out = BytesIO()
    canvas = Canvas(out, pageCompression=1, invariant=1)
    canvas.setCreator(MARK)
    canvas.setTitle("Drilling template")
    for sheet in sheets:
        canvas.setPageSize((sheet.width_mm * _POINTS, sheet.height_mm * _POINTS))
        canvas.scale(_POINTS, _POINTS)
        _window(canvas, sheet)
        for mark in sheet.marks:
            _draw(canvas, mark)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _window(canvas: Any, sheet: Sheet) -> None:
    """The part of the drawing that this sheet shows."""
    canvas.saveState()
    x, y = sheet.at
    path = canvas.beginPath()
    path.rect(x, y, sheet.window.width, sheet.window.height)
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.translate(x - sheet.window.left, y - sheet.window.bottom)
    for mark in sheet.drawn:
        _draw(canvas, mark)
    canvas.restoreState()


def _draw(canvas: Any, mark: Mark) -> None:
    style = STYLES[mark.role]
    canvas.setLineWidth(style.width_mm)
    canvas.setDash(list(style.dashes_mm))
    canvas.setStrokeGray(1 - style.dark)
    match mark:
        case Line(_, x1, y1, x2, y2):
            canvas.line(x1, y1, x2, y2)
        case Circle(_, x, y, diameter):
            canvas.circle(x, y, diameter / 2)
        case Polygon(_, points):
            path = canvas.beginPath()
            path.moveTo(*points[0])
            for point in points[1:]:
                path.lineTo(*point)
            path.close()
            canvas.drawPath(path)
        case Words():
            _write(canvas, mark)


def _write(canvas: Any, words: Words) -> None:
    canvas.saveState()
    canvas.translate(words.x, words.y)
    canvas.rotate(words.turn_deg)
    canvas.setFont("Helvetica", words.height)
    (canvas.drawCentredString if words.middle else canvas.drawString)(0, 0, western(words.text))
    canvas.restoreState()
