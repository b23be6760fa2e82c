"""Plates in space: where each stands beside the others, and boxes that may be in each other's way.

Every panel has a frame of its own: x to the right and y up as seen from outside, z outwards, its origin at the lower
left corner of the outer face. Panels that share an edge stand at right angles, the outsides away from each other.
Walked against the clock as seen from outside, an edge runs one way on the one panel and the other way on its neighbour;
that fixes how the neighbour lies. All lengths are in millimetres.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from benchtui.buildfile.panels import Edge, edges
from benchtui.metalwork.layout import MM, Plate

Vector = tuple[float, float, float]

#: Of each side: the way along it against the clock, the way inwards, and whether its left or lower end comes first.
_SIDES: Mapping[str, tuple[tuple[int, int], tuple[int, int], bool]] = {
    "bottom": ((1, 0), (0, 1), True),
    "right": ((0, 1), (-1, 0), True),
    "top": ((-1, 0), (0, -1), False),
    "left": ((0, -1), (1, 0), False),
}


@dataclass(frozen=True)
class Frame:
    """Where a panel lies: its origin and the directions of its x, y and z, as unit vectors."""

    origin: Vector
    x: Vector
    y: Vector

    @property
    def z(self) -> Vector:
        """Outwards."""
        return _cross(self.x, self.y)

    def point(self, x: float, y: float, z: float = 0.0) -> Vector:
        """The place in space of a place on the panel."""
        return add(self.origin, scaled(self.x, x), scaled(self.y, y), scaled(self.z, z))


@dataclass(frozen=True)
class Box:
    """A block in space: its middle, three directions at right angles, and half its size along each."""

    middle: Vector
    axes: tuple[Vector, Vector, Vector]
    half: tuple[float, float, float]

    @property
    def corners(self) -> Iterator[Vector]:
        """Its eight corners."""
        for signs in product((-1.0, 1.0), repeat=3):
            ways = (scaled(axis, sign * h) for axis, sign, h in zip(self.axes, signs, self.half, strict=True))
            yield add(self.middle, *ways)

    @property
    def radius(self) -> float:
        """From its middle to a corner."""
        return dot(self.half, self.half) ** 0.5

    def reach(self, axis: Vector) -> float:
        """Half of its extent along a unit vector."""
        return sum(h * abs(dot(axis, own)) for h, own in zip(self.half, self.axes, strict=True))


def overlap(a: Box, b: Box) -> float:
    """How far two boxes are in each other: the least way by which one must move; below zero where they are apart.

    Two boxes are apart just where one of 15 directions separates them: their six faces' and the nine at right angles to
    an edge of each. Below zero it is a gap that no two points of them undercut.
    """
    between = add(b.middle, scaled(a.middle, -1.0))
    beyond = a.radius + b.radius - dot(between, between) ** 0.5
    if beyond < 0:  # far apart, as nearly all are: no direction need be tried
        return beyond
    crossed = (_cross(p, q) for p, q in product(a.axes, b.axes))
    axes = [*a.axes, *b.axes, *(unit for unit in map(_unit, crossed) if unit is not None)]
    return min(a.reach(axis) + b.reach(axis) - abs(dot(between, axis)) for axis in axes)


def from_box(box: Box, place: Vector) -> float:
    """Distance from a place to the nearest of a box; zero inside it."""
    way = add(place, scaled(box.middle, -1.0))
    beyond = (max(0.0, abs(dot(way, axis)) - half) for axis, half in zip(box.axes, box.half, strict=True))
    return sum(each**2 for each in beyond) ** 0.5


def between(a: Box, b: Box) -> float:
    """Distance of two boxes; zero where they overlap. From the corners of each to the other, which is all there is to
    be told where both stand on one panel; across an edge to an edge it may be a little more than the least.
    """
    if overlap(a, b) >= 0:
        return 0.0
    return min(min(from_box(b, each) for each in a.corners), min(from_box(a, each) for each in b.corners))


def distance(a: Vector, b: Vector) -> float:
    """From one place to the other, straight."""
    return sum((p - q) ** 2 for p, q in zip(a, b, strict=True)) ** 0.5


def frames(plates: Iterable[Plate]) -> tuple[dict[str, Frame], ...]:
    """Panels that hang together, each group in the frame of its first panel."""
    by_name = {plate.name: plate for plate in plates}
    groups: list[dict[str, Frame]] = []
    for name in by_name:
        if any(name in group for group in groups):
            continue
        group = {name: Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))}
        todo = [name]
        while todo:
            plate = by_name[todo.pop()]
            for _, other, frame in beside(plate, group[plate.name], by_name):
                if other not in group:
                    group[other] = frame
                    todo.append(other)
        groups.append(group)
    return tuple(groups)


def beside(plate: Plate, frame: Frame, by_name: Mapping[str, Plate]) -> Iterator[tuple[str, str, Frame]]:
    """Side, name and frame of each neighbour as the edges of `plate` have it."""
    for side, edge in edges(plate.panel.edges):
        other = by_name.get(edge.neighbour or "")
        if other is None:
            continue
        back = [(s, e) for s, e in edges(other.panel.edges) if e.neighbour == plate.name]
        if back:
            yield side, other.name, _neighbour(plate, frame, (side, edge), other, back[0])


def _neighbour(plate: Plate, frame: Frame, at: tuple[str, Edge], other: Plate, back: tuple[str, Edge]) -> Frame:
    (side, edge), (other_side, _) = at, back
    along, inwards, _ = _SIDES[side]
    e = add(scaled(frame.x, along[0]), scaled(frame.y, along[1]))
    out = scaled(add(scaled(frame.x, inwards[0]), scaled(frame.y, inwards[1])), -1.0)
    # the neighbour's own way along its edge, and its way inwards from there
    its_along, its_inwards = scaled(e, -1.0), scaled(frame.z, -1.0)
    (ex, ey), (ix, iy), _ = _SIDES[other_side]
    x = add(scaled(its_along, ex), scaled(its_inwards, ix))
    y = add(scaled(its_along, ey), scaled(its_inwards, iy))
    start = add(frame.point(*_start(plate, side)), scaled(e, _shared(plate, at, other, back)))
    if edge.meets is not None:  # this panel lies over the neighbour's edge
        start = add(start, scaled(frame.z, -plate.thickness_mm))
    elif edge.against is not None:  # the neighbour lies over this one's
        start = add(start, scaled(out, other.thickness_mm))
    corner = _start(other, other_side)
    return Frame(add(start, scaled(x, -corner[0]), scaled(y, -corner[1])), x, y)


def _shared(plate: Plate, at: tuple[str, Edge], other: Plate, back: tuple[str, Edge]) -> float:
    """How far along this edge, walked against the clock, the neighbour's edge begins when it is walked so."""
    (side, edge), (other_side, other_edge) = at, back
    mine, theirs = side_mm(plate, side), side_mm(other, other_side)
    if edge.begins is not None:
        first = edge.begins * MM
        return first + theirs if _SIDES[side][2] else mine - first
    if other_edge.begins is not None:
        first = other_edge.begins * MM
        return mine + first if _SIDES[other_side][2] else theirs - first
    return mine


def side_mm(plate: Plate, side: str) -> float:
    """Length of an edge."""
    return plate.height_mm if side in ("left", "right") else plate.width_mm


def from_side(plate: Plate, side: str, x: float, y: float) -> float:
    """Distance of a place on the panel from an edge, inwards."""
    return {"left": x, "right": plate.width_mm - x, "bottom": y, "top": plate.height_mm - y}[side]


def _start(plate: Plate, side: str) -> tuple[float, float]:
    """The corner where an edge begins, walked against the clock."""
    return {
        "bottom": (0.0, 0.0),
        "right": (plate.width_mm, 0.0),
        "top": (plate.width_mm, plate.height_mm),
        "left": (0.0, plate.height_mm),
    }[side]


def add(*vectors: Vector) -> Vector:
    """The sum of vectors."""
    return tuple(map(sum, zip(*vectors, strict=True)))  # type: ignore[return-value]


def scaled(vector: Vector, by: float) -> Vector:
    """A vector made longer or turned round."""
    return vector[0] * by, vector[1] * by, vector[2] * by


def dot(a: Vector, b: Vector) -> float:
    """Inner product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def _unit(vector: Vector) -> Vector | None:
    """The direction of a vector; None where it has next to no length, as between edges that are parallel."""
    length = dot(vector, vector) ** 0.5
    return None if length < 1e-6 else scaled(vector, 1.0 / length)
