"""Openings as outlines on their panel: how much sheet is left between them and to the edges. Lengths in millimetres."""

from __future__ import annotations

from math import cos, hypot, radians, sin

from benchtui.metalwork.layout import Cut, Plate
from benchtui.metalwork.space import Box, from_side, overlap

Point = tuple[float, float]


def corners(cut: Cut) -> tuple[Point, ...]:
    """The corners of a cut-out, against the clock; none of a round hole."""
    if cut.size_mm is None:
        return ()
    c, s = cos(radians(cut.turn_deg)), sin(radians(cut.turn_deg))
    w, h = cut.size_mm[0] / 2, cut.size_mm[1] / 2
    return tuple((cut.x_mm + c * u - s * v, cut.y_mm + s * u + c * v) for u, v in ((-w, -h), (w, -h), (w, h), (-w, h)))


def apart(a: Cut, b: Cut) -> float:
    """From centre to centre."""
    return hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm)


def wide(cut: Cut) -> float:
    """Half of an opening at its widest."""
    return cut.diameter_mm / 2 if cut.diameter_mm is not None else hypot(*(cut.size_mm or (0.0, 0.0))) / 2


def web(a: Cut, b: Cut) -> float:
    """Sheet that is left between two openings, at its narrowest; below zero where they run into each other."""
    if a.diameter_mm is not None and b.diameter_mm is not None:
        return apart(a, b) - (a.diameter_mm + b.diameter_mm) / 2
    if a.diameter_mm is not None or b.diameter_mm is not None:
        circle, other = (a, b) if a.diameter_mm is not None else (b, a)
        centre, outline = (circle.x_mm, circle.y_mm), corners(other)
        to_side = _to_outline(centre, outline)
        return (-to_side if _inside(centre, outline) else to_side) - (circle.diameter_mm or 0.0) / 2
    p, q = corners(a), corners(b)
    if not _separated(p, q):
        return -overlap(flat(a), flat(b))
    return min(*(_to_outline(each, q) for each in p), *(_to_outline(each, p) for each in q))


def to_side(plate: Plate, side: str, cut: Cut) -> float:
    """Sheet that is left between an opening and an edge of its panel; below zero beyond it."""
    if cut.diameter_mm is not None:
        return from_side(plate, side, cut.x_mm, cut.y_mm) - cut.diameter_mm / 2
    return min(from_side(plate, side, *corner) for corner in corners(cut))


def flat(cut: Cut) -> Box:
    """A cut-out as a thin box, so that how far two of them are in each other can be told."""
    c, s = cos(radians(cut.turn_deg)), sin(radians(cut.turn_deg))
    width, height = cut.size_mm or (0.0, 0.0)
    axes = ((c, s, 0.0), (-s, c, 0.0), (0.0, 0.0, 1.0))
    return Box((cut.x_mm, cut.y_mm, 0.0), axes, (width / 2, height / 2, 1e3))


def _sides(outline: tuple[Point, ...]) -> list[tuple[Point, Point]]:
    return list(zip(outline, outline[1:] + outline[:1], strict=True))


def _to_outline(point: Point, outline: tuple[Point, ...]) -> float:
    return min(_to_segment(point, *side) for side in _sides(outline))


def _to_segment(point: Point, start: Point, end: Point) -> float:
    ax, ay = end[0] - start[0], end[1] - start[1]
    px, py = point[0] - start[0], point[1] - start[1]
    length = ax * ax + ay * ay
    share = min(1.0, max(0.0, (px * ax + py * ay) / length)) if length else 0.0
    return hypot(px - share * ax, py - share * ay)


def _left_of(point: Point, start: Point, end: Point) -> float:
    return (end[0] - start[0]) * (point[1] - start[1]) - (end[1] - start[1]) * (point[0] - start[0])


def _inside(point: Point, outline: tuple[Point, ...]) -> bool:
    return all(_left_of(point, *side) >= 0 for side in _sides(outline))


def _separated(p: tuple[Point, ...], q: tuple[Point, ...]) -> bool:
    """Two convex outlines are apart just where a side of one has all of the other on its outside."""
    return any(
        all(_left_of(point, *side) < 0 for point in other)
        for outline, other in ((p, q), (q, p))
        for side in _sides(outline)
    )
