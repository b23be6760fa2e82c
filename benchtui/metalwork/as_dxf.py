"""A drawing as a DXF file in millimetres, for those who have the panel cut: a layer for each role."""

from __future__ import annotations

from io import StringIO
from typing import Any

from benchtui.metalwork.drawing import CUT, MARK, Circle, Drawing, Line, Mark, Polygon, Role, Words
from benchtui.quantities.clean import clean

#: Colours by AutoCAD index: what may be cut is in the colour of plain ink, all else in others.
_INK, _ELSE = 7, 8


def dxf(drawing: Drawing) -> str:
    """The drawing as DXF (release 2010), its origin the panel's corner. Raises ModuleNotFoundError without ezdxf.

    Circles stay circles and outlines are closed; words lie on a layer of their own.
    """
    import ezdxf
    from ezdxf import options, units

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # no date and no random number: the same panel, the same file
    try:
        document = ezdxf.new("R2010", units=units.MM)
        document.header.custom_vars.append("Creator", MARK)
        for role in Role:
            document.layers.add(layer(role), color=_INK if role in CUT else _ELSE)
        space = document.modelspace()
        for mark in (*drawing.marks, *_said(drawing)):
            _add(space, mark)
        out = StringIO()
        document.write(out)
        return out.getvalue()
    finally:
        options.write_fixed_meta_data_for_testing = before


def layer(role: Role) -> str:
    """The name of a role's layer, in the capitals that are usual there."""
    return role.value.upper()


def _said(drawing: Drawing) -> list[Words]:
    """What is drawn and what is to be minded, below the panel."""
    told = (drawing.title, drawing.origin, *drawing.minded, _CUT_FROM)
    return [Words(0.0, drawing.box.bottom - 4.0 * number, text) for number, text in enumerate(told, 1)]


_CUT_FROM = "To be cut: " + ", ".join(layer(role) for role in CUT) + ". All other layers only inform."


def _add(space: Any, mark: Mark) -> None:
    on = {"layer": layer(mark.role)}
    match mark:
        case Line(_, x1, y1, x2, y2):
            space.add_line((x1, y1), (x2, y2), dxfattribs=on)
        case Circle(_, x, y, diameter):
            space.add_circle((x, y), diameter / 2, dxfattribs=on)
        case Polygon(_, points):
            space.add_lwpolyline(points, close=True, dxfattribs=on)
        case Words():
            _write(space, mark, on)


def _write(space: Any, words: Words, on: dict[str, str]) -> None:
    from ezdxf.enums import TextEntityAlignment

    align = TextEntityAlignment.CENTER if words.middle else TextEntityAlignment.LEFT
    plain = clean(words.text).replace("%%", "% %")  # two of them begin a code there
    text = space.add_text(plain, height=words.height, rotation=words.turn_deg, dxfattribs=on)
    text.set_placement((words.x, words.y), align=align)
