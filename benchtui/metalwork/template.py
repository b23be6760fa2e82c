"""The template of a panel at full size: outline, bends, openings with their centres, names and sizes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from benchtui.buildfile.panels import Edge, edges
from benchtui.metalwork.drawing import Box, Circle, Drawing, Line, Mark, Polygon, Role, Words, around
from benchtui.metalwork.labels import labelled
from benchtui.metalwork.layout import MM, Cut, Plate
from benchtui.metalwork.outlines import corners
from benchtui.quantities.clean import clean

_ARM_MM = 5.0
"""Half a centre cross: longer than the punch mark and a small hole are wide, so that it can be seen around both."""

_MARGIN_MM = 9.0
"""Room around the panel for what its edges are."""


def template(
    plate: Plate, others: Iterable[Plate], origin: str, *, minded: Iterable[str] = (), mirrored: bool = False
) -> Drawing:
    """`plate` as it is seen from outside, or `mirrored`: from inside. `origin` says what it was made from.

    `others` are all plates of the build: how thick one is that meets this one. `minded` is told beside what the
    template itself has to say.
    """
    thick = {other.name: other.thickness_mm for other in others}
    marks = [*_edges(plate, thick), *_openings(plate), *_keep_outs(plate)]
    if mirrored:
        marks = [_mirrored(mark, plate.width_mm) for mark in marks]
    field = Box(0.0, 0.0, plate.width_mm, plate.height_mm)
    named = [(_seen(around(outline(cut)), plate.width_mm, mirrored), _label(cut)) for cut in plate.cuts]
    marks += labelled(named, _in_the_way(marks), field)
    side = "INSIDE, mirrored" if mirrored else "OUTSIDE"
    sheet = f"{plate.width_mm:g} x {plate.height_mm:g} mm, {plate.thickness_mm:g} mm {plate.panel.material}"
    name, title = plate.name, f"{plate.name}: {clean(plate.panel.name, 60)}, {sheet}. Seen from {side}."
    return Drawing(
        f"{name}-inside" if mirrored else name, title, origin, (*minded, *_minded(plate)),
        field.grown(_MARGIN_MM), (*marks, *_datum(plate, mirrored)),
    )  # fmt: skip


def size_text(cut: Cut) -> str:
    """The size of an opening in millimetres, such as 3.4 or 27 x 20."""
    size = f"{cut.diameter_mm:.4g}" if cut.size_mm is None else " x ".join(f"{each:.4g}" for each in cut.size_mm)
    return f"{size} guide" if cut.guide else size


def _label(cut: Cut) -> tuple[str, ...]:
    return cut.name, size_text(cut) if cut.diameter_mm is None else f"\u00d8 {size_text(cut)}"


def outline(cut: Cut, role: Role = Role.HOLE) -> Circle | Polygon:
    """The line to which an opening is worked."""
    if cut.diameter_mm is not None:
        return Circle(role, cut.x_mm, cut.y_mm, cut.diameter_mm)
    return Polygon(role, corners(cut))


def _openings(plate: Plate) -> Iterator[Mark]:
    for mounted in plate.mounted:
        for cut in mounted.cuts:
            own = Role.CUT_OUT if cut.diameter_mm is None else Role.SCREW if mounted.is_fixing(cut) else Role.HOLE
            yield outline(cut, Role.GUIDE if cut.guide else own)
            yield Line(Role.CENTRE, cut.x_mm - _ARM_MM, cut.y_mm, cut.x_mm + _ARM_MM, cut.y_mm)
            yield Line(Role.CENTRE, cut.x_mm, cut.y_mm - _ARM_MM, cut.x_mm, cut.y_mm + _ARM_MM)


def _keep_outs(plate: Plate) -> Iterator[Mark]:
    for name, area in plate.panel.keep_out.items():
        x, y, width, height = (each * MM for each in (*area.at, *area.size))
        yield Polygon(Role.KEEP_OUT, Box(x, y, x + width, y + height).corners)
        yield Words(x + 1.0, y + 1.0, f"{name}: {area.reason}", 2.0)


def _edges(plate: Plate, thick: Mapping[str, float]) -> Iterator[Mark]:
    """The edges, those that end and those that are bent apart, and what lies along them on the inside.

    A panel without a bend is one closed line, fit to be cut. With a bend it is a face of a folded sheet, and no blank:
    then each edge is a line of its own.
    """
    width, height = plate.width_mm, plate.height_mm
    told = dict(edges(plate.panel.edges))
    folded = any(edge.bent for edge in told.values())
    if not folded:
        yield Polygon(Role.OUTLINE, Box(0.0, 0.0, width, height).corners)
    for side in _SIDES:
        edge = told.get(side)
        if folded:
            yield _along(Role.FOLD if edge is not None and edge.bent else Role.OUTLINE, side, 0.0, width, height)
        if edge is not None:
            if (inwards := _behind(edge, plate, thick)) is not None:
                yield _along(Role.BEHIND, side, inwards, width, height)
            yield _named(side, _what(edge), width, height)


_SIDES = ("bottom", "right", "top", "left")


def _behind(edge: Edge, plate: Plate, thick: Mapping[str, float]) -> float | None:
    """How far in from the edge a bend ends and the face is flat, or the plate that meets it ends; None for neither."""
    if edge.meets is not None:
        return thick.get(edge.meets)
    return plate.thickness_mm + plate.radius_mm(edge) if edge.bent else None


def _what(edge: Edge) -> str:
    if edge.meets is not None:
        return f"{edge.meets} stands behind this edge"
    if edge.fold is not None:
        return f"bend, on to {edge.fold}"
    return f"stands against {edge.against}" if edge.lip is None else f"bend, lip of {edge.lip * MM:g} mm inwards"


def _along(role: Role, side: str, inwards: float, width: float, height: float) -> Line:
    if side in ("bottom", "top"):
        y = inwards if side == "bottom" else height - inwards
        return Line(role, 0.0, y, width, y)
    x = inwards if side == "left" else width - inwards
    return Line(role, x, 0.0, x, height)


def _named(side: str, text: str, width: float, height: float) -> Words:
    """What an edge is, written outside of it."""
    if side in ("bottom", "top"):
        return Words(width / 2, -4.0 if side == "bottom" else height + 2.0, text, 2.2, 0.0, True)
    return Words(-2.0 if side == "left" else width + 4.0, height / 2, text, 2.2, 90.0, True)


def _datum(plate: Plate, mirrored: bool) -> Iterator[Mark]:
    """The corner that all places count from, marked outside of the sheet."""
    corner = plate.width_mm if mirrored else 0.0
    out = 1 if mirrored else -1
    yield Line(Role.TEXT, corner, -1.0, corner, -6.0)
    yield Line(Role.TEXT, corner + out * 1.0, 0.0, corner + out * 6.0, 0.0)
    text = Words(corner + 1.5, -6.0, "datum: x 0, y 0", 2.2)
    yield Words(corner - 1.5 - text.length, -6.0, text.text, 2.2) if mirrored else text


def _minded(plate: Plate) -> Iterator[str]:
    if any(edge.bent for _, edge in edges(plate.panel.edges)):
        yield "Bent edges: this is the outer face after bending, no flat blank. Dashes inside them: flat from there on."
    if any(cut.guide for cut in plate.cuts):
        yield "Dashed openings are guides: measure the part in hand, put its size into the build file, print again."


def _seen(box: Box, width: float, mirrored: bool) -> Box:
    return Box(width - box.right, box.bottom, width - box.left, box.top) if mirrored else box


def _in_the_way(marks: Iterable[Mark]) -> list[Mark]:
    """What no label may lie on: openings, their crosses and words; areas and edges may."""
    return [mark for mark in marks if mark.role not in (Role.OUTLINE, Role.FOLD, Role.BEHIND, Role.KEEP_OUT)]


def _mirrored(mark: Mark, width: float) -> Mark:
    """The mark as it is seen from the other side; words stay legible."""
    match mark:
        case Line(role, x1, y1, x2, y2):
            return Line(role, width - x1, y1, width - x2, y2)
        case Circle(role, x, y, diameter):
            return Circle(role, width - x, y, diameter)
        case Polygon(role, points):
            return Polygon(role, tuple((width - x, y) for x, y in reversed(points)))
        case Words(x, y, text, height, turn_deg, middle):
            if turn_deg:  # upright words stand to the left of their line
                return Words(width - x + 0.75 * height, y, text, height, turn_deg, middle)
            return Words(width - x - (0.0 if middle else mark.length), y, text, height, turn_deg, middle)
