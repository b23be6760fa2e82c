"""Rules of a layout for bodies: behind the panels, in the corners where panels meet, and in front."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product
from math import inf

from benchtui.buildfile.panels import edges
from benchtui.metalwork.finding import Finding, called, found, mm
from benchtui.metalwork.layout import Mounted, Plate
from benchtui.metalwork.outlines import apart
from benchtui.metalwork.solids import Body, Wall, walls
from benchtui.metalwork.space import Frame, add, beside, distance, dot, overlap, scaled
from benchtui.metalwork.workshop import Workshop

#: Bodies that touch are no clash: sizes are read to a tenth.
_TOUCH_MM = 0.05
#: Panels that come this near to where another way round puts them fit.
_FITS_MM = 0.5
_ROOMS = "sizes by the file, or the library's guide where it has none"

_DOUBLE_PLUG_MM = (19.05, 25.4)
_PLUG_SLACK_MM = 0.3
_PAIR_MM = 32.0


def behind(shop: Workshop) -> Iterator[Finding]:
    """Nothing behind the panels is in the way of another body, also round a corner of the chassis."""
    for group in shop.groups:
        for a, b in combinations(shop.behinds(group), 2):
            into = overlap(a.box, b.box)
            if a.mounted is b.mounted or into <= _TOUCH_MM:
                continue
            corner = a.plate is not b.plate
            rule = "panel-room-corner" if corner else "panel-room-behind"
            where = "in the corner of both panels" if corner else "behind the panel"
            text = f"{_body(a, corner)} and {_body(b, corner)} are in each other's way {where} by {mm(into)}"
            yield found("warn", rule, a.plate, a.mounted, text, into, 0.0, source=_ROOMS, other=b.mounted)


def against_walls(shop: Workshop) -> Iterator[Finding]:
    """Nothing behind a panel is in the way of a lip, a bend, or a plate that stands there."""
    for group in shop.groups:
        standing = [wall for name, frame in group.items() for wall in walls(shop.plate(name), frame)]
        for body in shop.behinds(group):
            for wall in standing:
                if wall.what == "sheet" and wall.plate is body.plate:
                    continue
                into = overlap(body.box, wall.box)
                if into > _TOUCH_MM:
                    rule, what = _wall(body, wall)
                    text = f"{_body(body, False)} is {mm(into)} in the way of {what}"
                    yield found("warn", rule, body.plate, body.mounted, text, into, 0.0, source=_ROOMS)


def too_deep(shop: Workshop) -> Iterator[Finding]:
    """No body hangs out below the walls of the chassis."""
    for group in shop.groups:
        for body in shop.behinds(group):
            frame = group[body.plate.name]
            ends = [_inwards(frame, group[name], shop.plate(name)) for name in _neighbours(body.plate) if name in group]
            room = max(ends, default=inf)
            deep = body.box.reach(frame.z) - dot(add(body.box.middle, scaled(frame.origin, -1.0)), frame.z)
            if deep > room + _TOUCH_MM:
                text = (
                    f"{_body(body, False)} reaches {mm(deep)} inwards from the outside of {body.plate.name}, the walls "
                    f"beside it {mm(room)}: it hangs out, where it is touched or stands on its wires"
                )
                rule = "panel-room-deep"
                yield found("warn", rule, body.plate, body.mounted, text, deep, room, source=_ROOMS)


def _neighbours(plate: Plate) -> list[str]:
    return [edge.neighbour for _, edge in edges(plate.panel.edges) if edge.neighbour is not None]


def _inwards(frame: Frame, other: Frame, plate: Plate) -> float:
    """How far a neighbour reaches inwards from the outside of a panel."""
    corners = product((0.0, plate.width_mm), (0.0, plate.height_mm))
    return max(-dot(add(other.point(*corner), scaled(frame.origin, -1.0)), frame.z) for corner in corners)


def _wall(body: Body, wall: Wall) -> tuple[str, str]:
    """The rule for a body in the way of a wall, and what the wall is."""
    at = f"at the {wall.side} edge of {wall.plate.name}"
    edge = dict(edges(wall.plate.panel.edges)).get(wall.side)
    if edge is not None and edge.lip is not None:
        return "panel-room-lip", f"the lip {at}"
    if wall.what == "bend":
        return "panel-room-fold", f"the bend {at}"
    if wall.plate.name in {edge.fold for _, edge in edges(body.plate.panel.edges)}:
        return "panel-room-fold", f"{wall.plate.name} behind the bend"
    return "panel-room-plate", f"the plate {wall.plate.name}"


def in_front(shop: Workshop) -> Iterator[Finding]:
    """Knobs, plugs, bulbs and bodies in front leave room for each other, and for fingers."""
    for group in shop.groups:
        for a, b in combinations(shop.fronts(group), 2):
            into = overlap(a.box, b.box)
            if into > _TOUCH_MM:
                corner = a.plate is not b.plate
                text = (
                    f"{_body(a, corner)} and {_body(b, corner)} are in each other's way in front by {mm(into)}, "
                    "plugs and fingers counted in"
                )
                yield found(
                    "warn", "panel-room-front", a.plate, a.mounted, text, into, 0.0, source=_ROOMS, other=b.mounted
                )


def posts(shop: Workshop) -> Iterator[Finding]:
    """Two binding posts side by side take a double plug."""
    for plate in shop.plates:
        single = [each for each in plate.mounted if each.mounting.name == "binding post" and each.cuts]
        for each, other in combinations(single, 2):
            way = apart(each.cuts[0], other.cuts[0])
            nearest = min(apart(each.cuts[0], third.cuts[0]) for third in single if third is not each)
            if way > nearest or way > _PAIR_MM or any(abs(way - usual) <= _PLUG_SLACK_MM for usual in _DOUBLE_PLUG_MM):
                continue
            text = (
                f"{called(each)} and {called(other)} are {mm(way)} apart: double plugs want 19.05 mm (3/4 in), some "
                "makers' 25.4 mm"
            )
            source = "3/4 in is the spacing of double plugs; read in a secondary text"
            yield found("note", "panel-post-spacing", plate, each, text, way, 19.05, source=source, other=other)


def corners(shop: Workshop) -> Iterator[Finding]:
    """Panels that are joined round a corner end where the third one has them, and none stands alone."""
    by_name = {plate.name: plate for plate in shop.plates}
    for group in shop.groups:
        for name, frame in group.items():
            for side, other, there in beside(by_name[name], frame, by_name):
                ends = ((0.0, 0.0), (by_name[other].width_mm, by_name[other].height_mm))
                off = max(distance(there.point(*end), group[other].point(*end)) for end in ends)
                if off > _FITS_MM:
                    text = (
                        f"at its {side} edge {other} lies {mm(off)} off from where other panels put it: look at sizes, "
                        "meets, against and begins"
                    )
                    yield found(
                        "warn", "panel-corner", by_name[name], None, text, off, _FITS_MM, source="the file's sizes"
                    )
    if len(shop.groups) > 1:
        alone = "; ".join(", ".join(group) for group in shop.groups)
        text = f"no edge joins these panels: {alone}. What is in the way from one to the other is not looked at"
        yield found("note", "panel-alone", shop.plates[0], None, text)


def _body(body: Body, with_plate: bool) -> str:
    mounted: Mounted = body.mounted
    plate: Plate | None = body.plate if with_plate else None
    return f"a nut of {called(mounted, plate)}" if body.nut else called(mounted, plate)
