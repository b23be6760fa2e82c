"""A sheet as an SVG file, in millimetres."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from benchtui.metalwork.drawing import MARK, STYLES, Circle, Line, Mark, Polygon, Words
from benchtui.metalwork.sheets import Sheet
from benchtui.quantities.clean import clean


def svg(sheet: Sheet) -> str:
    """The sheet as SVG, one unit a millimetre, each mark with its role as class. Raises ModuleNotFoundError.

    SVG counts downwards: what is y here is the sheet's height less y there.
    """
    import drawsvg

    width, height = round(sheet.width_mm, 4), round(sheet.height_mm, 4)
    drawing = drawsvg.Drawing(f"{width}mm", f"{height}mm")
    drawing.view_box = (0, 0, width, height)
    drawing.append(drawsvg.Raw(f"<desc>{MARK}</desc>"))
    up = height - (sheet.at[1] - sheet.window.bottom)
    for element in (
        *_elements(drawsvg, sheet.drawn, sheet.at[0] - sheet.window.left, up),
        *_elements(drawsvg, sheet.marks, 0.0, height),
    ):
        drawing.append(element)
    return str(drawing.as_svg())


def _elements(library: Any, marks: tuple[Mark, ...], right: float, down: float) -> Iterator[Any]:
    """Marks moved to the right, and from `down` upwards."""
    for mark in marks:
        style = STYLES[mark.role]
        look = {
            "fill": "none", "stroke": f"rgb({','.join(3 * [str(round(255 * (1 - style.dark)))])})",
            "stroke_width": style.width_mm, "class_": mark.role.value,
        }  # fmt: skip
        if style.dashes_mm:
            look["stroke_dasharray"] = " ".join(f"{each:g}" for each in style.dashes_mm)
        match mark:
            case Line(_, x1, y1, x2, y2):
                yield library.Line(*_at(x1 + right, down - y1), *_at(x2 + right, down - y2), **look)
            case Circle(_, x, y, diameter):
                yield library.Circle(*_at(x + right, down - y), round(diameter / 2, 4), **look)
            case Polygon(_, points):
                flat = [each for x, y in points for each in _at(x + right, down - y)]
                yield library.Lines(*flat, close=True, **look)
            case Words():
                yield _words(library, mark, *_at(mark.x + right, down - mark.y))


def _words(library: Any, words: Words, x: float, y: float) -> Any:
    turned = {"transform": f"rotate({-words.turn_deg:g} {x} {y})"} if words.turn_deg else {}
    anchor = "middle" if words.middle else "start"
    return library.Text(
        clean(words.text), words.height, x, y, font_family="Helvetica, Arial, sans-serif", text_anchor=anchor,
        class_=words.role.value, **turned,
    )  # fmt: skip


def _at(x: float, y: float) -> tuple[float, float]:
    """A place to a tenth of a micrometre, so that files stay short."""
    return round(x, 4), round(y, 4)
