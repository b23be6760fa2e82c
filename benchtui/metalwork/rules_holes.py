"""Rules of a layout for the sheet that is left: between openings, to edges, bends and joints, and kept free."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from benchtui.buildfile.panels import SIDES, edges
from benchtui.metalwork.finding import Finding, called, found, mm
from benchtui.metalwork.layout import MM, Cut, Mounted, Plate, Room
from benchtui.metalwork.outlines import apart, to_side, web, wide
from benchtui.metalwork.workshop import Workshop

#: Between large holes screws' rule (three diameters) would forbid every real chassis: a web that does not bend counts.
_WEB_MM = 3.0
_WEB_SHEETS = 2.0
_MOST_WEB_MM = 6.0
_SCREW_APART = 3.0
_SCREW_EDGE = 2.0
_FOLD_SHEETS = 2.5
_BESIDE_JOINT_MM = 1.0
_NEAR = 1e-6


def outside(shop: Workshop) -> Iterator[Finding]:
    """Every opening lies on its panel."""
    for plate, mounted, cut in _cuts(shop):
        left = min(to_side(plate, side, cut) for side in SIDES)
        if left < -_NEAR:
            text = f"{called(mounted)}: {_what(mounted, cut)} reaches {mm(-left)} beyond the panel's edge"
            yield found("warn", "panel-outside", plate, mounted, text, left, 0.0, source="the file's own sizes")


def holes(shop: Workshop) -> Iterator[Finding]:
    """Between two openings enough sheet is left."""
    for plate in shop.plates:
        cuts = [(mounted, cut) for mounted in plate.mounted for cut in mounted.cuts]
        for (mounted, a), (other, b) in combinations(cuts, 2):
            needed = _web_needed(plate, a, b, own=mounted is other, screws=_screw(mounted, a) and _screw(other, b))
            if apart(a, b) > wide(a) + wide(b) + needed:
                continue
            left = web(a, b)
            if left < needed - _NEAR:
                yield _too_near(plate, (mounted, a), (other, b), left, needed)


def _web_needed(plate: Plate, a: Cut, b: Cut, *, own: bool, screws: bool) -> float:
    """Least sheet between two openings; those of one part are where its maker put them."""
    if own:
        return 0.0
    if screws:
        widths = (a.diameter_mm or 0.0, b.diameter_mm or 0.0)
        return _SCREW_APART * max(widths) - sum(widths) / 2
    return _web(plate)


def _web(plate: Plate) -> float:
    return max(_WEB_MM, min(_WEB_SHEETS * plate.thickness_mm, _MOST_WEB_MM))


def _too_near(
    plate: Plate, first: tuple[Mounted, Cut], second: tuple[Mounted, Cut], left: float, need: float
) -> Finding:
    (mounted, a), (other, b) = first, second
    if left < 0:
        text = f"{_named(mounted, a)} and {_named(other, b)} run into each other by {mm(-left)}"
    elif _screw(mounted, a) and _screw(other, b):
        text = (
            f"{_named(mounted, a)} and {_named(other, b)} are {mm(apart(a, b))} apart: three times the hole, "
            f"{mm(apart(a, b) - left + need)}, keeps the sheet between screws whole"
        )
    else:
        text = (
            f"between {_named(mounted, a)} and {_named(other, b)} {mm(left)} of sheet is left: under {mm(need)} "
            "it bends when it is punched or filed"
        )
    return found("warn", "panel-hole-hole", plate, mounted, text, left, need, other=other)


def margins(shop: Workshop) -> Iterator[Finding]:
    """To every edge enough sheet is left: more where it is bent, and nothing opens onto a plate that stands behind."""
    for plate, mounted, cut in _cuts(shop):
        kinds = dict(edges(plate.panel.edges))
        for side in SIDES:
            left, edge = to_side(plate, side, cut), kinds.get(side)
            if left < -_NEAR:
                continue  # told as outside
            if edge is not None and edge.bent:
                # from the inner face of what is bent: 2.5 sheets and the radius
                need = (1 + _FOLD_SHEETS) * plate.thickness_mm + plate.radius_mm(edge)
                rule = "panel-hole-fold" if edge.fold is not None else "panel-hole-lip"
                why = "nearer to a bend the hole is drawn out of round, and its washer has no flat"
            elif edge is not None and edge.meets is not None:
                need, rule = shop.plate(edge.meets).thickness_mm + _BESIDE_JOINT_MM, "panel-hole-joint"
                why = f"{edge.meets} stands behind that edge"
            elif _screw(mounted, cut):
                need, rule = (_SCREW_EDGE - 0.5) * (cut.diameter_mm or 0.0), "panel-hole-edge"
                why = "twice the hole from its centre to the edge keeps the screw from tearing out"
            else:
                need, rule, why = _web(plate), "panel-hole-edge", "a narrower strip bends when it is punched or filed"
            if left < need - _NEAR:
                text = f"{_named(mounted, cut)}: {mm(left)} of sheet to the {side} edge, {mm(need)} are wanted: {why}"
                yield found("warn", rule, plate, mounted, text, left, need)


def kept_free(shop: Workshop) -> Iterator[Finding]:
    """Nothing opens, stands or hangs where the file keeps an area free."""
    for plate in shop.plates:
        for name, area in plate.panel.keep_out.items():
            (x, y), (width, height) = area.at, area.size
            cut = Cut(name, (x + width / 2) * MM, (y + height / 2) * MM, None, (width * MM, height * MM), 0.0, False)
            for mounted in plate.mounted:
                deepest = max((-web(each, cut) for each in _outlines(mounted)), default=0.0)
                if deepest > _NEAR:
                    text = (
                        f"{called(mounted)} takes {mm(deepest)} of the area {name}, which is kept free: {area.reason}"
                    )
                    yield found(
                        "warn", "panel-keep-out", plate, mounted, text, deepest, 0.0, source="the file's keep_out"
                    )


def _outlines(mounted: Mounted) -> tuple[Cut, ...]:
    """Openings of something mounted, and what its rooms cover of the panel."""
    rooms: tuple[Room, ...] = tuple(room for room in (mounted.behind, mounted.front) if room is not None)
    turn, place = mounted.written.turn, (mounted.x_mm, mounted.y_mm)
    flat = (Cut(mounted.name, *place, None, (room.width_mm, room.height_mm), turn, False) for room in rooms)
    return (*mounted.cuts, *flat)


def _cuts(shop: Workshop) -> Iterator[tuple[Plate, Mounted, Cut]]:
    for plate in shop.plates:
        for mounted in plate.mounted:
            for cut in mounted.cuts:
                yield plate, mounted, cut


def _screw(mounted: Mounted, cut: Cut) -> bool:
    return mounted.mounting.group in ("fixing", "earth", "bond") or mounted.is_fixing(cut)


def _named(mounted: Mounted, cut: Cut) -> str:
    part = f" ({mounted.part})" if mounted.part and mounted.part != mounted.name else ""
    return f"{cut.name}{part}"


def _what(mounted: Mounted, cut: Cut) -> str:
    return f"screw {cut.name.rpartition(' ')[2]}" if mounted.is_fixing(cut) else "its opening"
