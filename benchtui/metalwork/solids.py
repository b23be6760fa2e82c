"""What takes up room at a chassis, as boxes: sheets, lips, bends, bodies behind and in front, nuts of screws."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, radians, sin

from benchtui.buildfile.panels import edges
from benchtui.metalwork.layout import MM, Mounted, Plate, Room
from benchtui.metalwork.space import Box, Frame, add, scaled, side_mm

#: A nut and the end of its screw behind a sheet, as times the clearance hole (M3: 7.5 mm wide); common practice.
_NUT_WIDTH = 2.2
_NUT_DEPTH_MM = 8.0


@dataclass(frozen=True)
class Body:
    """A box of something mounted: the plate and what is mounted there, and whether it is only the nut of a screw."""

    plate: Plate
    mounted: Mounted
    box: Box
    nut: bool = False


@dataclass(frozen=True)
class Wall:
    """A box of a plate itself: its `sheet`, or the `lip` or `bend` at one of its sides."""

    plate: Plate
    what: str
    side: str
    box: Box


def behind(plate: Plate, frame: Frame) -> Iterator[Body]:
    """Bodies behind a plate, and the nuts of screws that stand outside them."""
    for mounted in plate.mounted:
        room = mounted.behind
        if room is not None:
            yield Body(plate, mounted, _room_box(mounted, room, frame, plate.thickness_mm, behind=True))
        # the small hole of a control takes a lug, no screw
        for cut in mounted.fixings if mounted.mounting.group != "control" else ():
            if room is None or not covered(mounted, room, cut.x_mm, cut.y_mm):
                wide = _NUT_WIDTH * (cut.diameter_mm or 0.0)
                nut = Room(wide, wide, _NUT_DEPTH_MM)
                box = _box(frame, (cut.x_mm, cut.y_mm), nut, 0.0, (-plate.thickness_mm - nut.depth_mm, nut.depth_mm))
                yield Body(plate, mounted, box, nut=True)


def front(plate: Plate, frame: Frame) -> Iterator[Body]:
    """Bodies in front of a plate."""
    for mounted in plate.mounted:
        if mounted.front is not None:
            yield Body(plate, mounted, _room_box(mounted, mounted.front, frame, plate.thickness_mm, behind=False))


def walls(plate: Plate, frame: Frame) -> Iterator[Wall]:
    """The sheet, its lips, and what the inside radius of each bend fills of the corner."""
    t = plate.thickness_mm
    middle = (plate.width_mm / 2, plate.height_mm / 2)
    whole = Room(plate.width_mm, plate.height_mm, t)
    yield Wall(plate, "sheet", "", _box(frame, middle, whole, 0.0, (-t, t)))
    for side, edge in edges(plate.panel.edges):
        if edge.lip is not None:
            yield Wall(plate, "lip", side, _along(plate, frame, side, t, edge.lip * MM))
        if edge.bent:
            bent = t + plate.radius_mm(edge)
            yield Wall(plate, "bend", side, _along(plate, frame, side, bent, bent))


def covered(mounted: Mounted, room: Room, x: float, y: float) -> bool:
    """Whether a place on the panel lies under the room of what is mounted."""
    angle = radians(-mounted.written.turn)
    dx, dy = x - mounted.x_mm, y - mounted.y_mm
    u, v = dx * cos(angle) - dy * sin(angle), dx * sin(angle) + dy * cos(angle)
    return abs(u) <= room.width_mm / 2 and abs(v) <= room.height_mm / 2


def _room_box(mounted: Mounted, room: Room, frame: Frame, thickness_mm: float, *, behind: bool) -> Box:
    lowest = -thickness_mm - room.depth_mm if behind else 0.0
    return _box(frame, (mounted.x_mm, mounted.y_mm), room, mounted.written.turn, (lowest, room.depth_mm))


def _box(frame: Frame, at: tuple[float, float], size: Room, turn: float, z: tuple[float, float]) -> Box:
    """A box over the place `at`, turned against the clock; `z` is its lowest and how high it is."""
    c, s = cos(radians(turn)), sin(radians(turn))
    x = add(scaled(frame.x, c), scaled(frame.y, s))
    y = add(scaled(frame.x, -s), scaled(frame.y, c))
    half = (size.width_mm / 2, size.height_mm / 2, z[1] / 2)
    return Box(frame.point(*at, z[0] + z[1] / 2), (x, y, frame.z), half)


def _along(plate: Plate, frame: Frame, side: str, wide: float, deep: float) -> Box:
    """A box along the inside of an edge, from the outer face inwards."""
    length = side_mm(plate, side)
    at = {
        "left": (wide / 2, length / 2),
        "right": (plate.width_mm - wide / 2, length / 2),
        "bottom": (length / 2, wide / 2),
        "top": (length / 2, plate.height_mm - wide / 2),
    }[side]
    size = Room(wide, length, deep) if side in ("left", "right") else Room(length, wide, deep)
    return _box(frame, at, size, 0.0, (-deep, deep))
