"""Rules of a layout for protective earth: its own bolt, bare metal, the order on it, every metal plate joined to it.

Common practice throughout; local rules prevail.
"""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.buildfile.joints import Joints
from benchtui.buildfile.panels import edges
from benchtui.metalwork.finding import PRACTICE, Finding, called, found, mm
from benchtui.metalwork.layout import Mounted, Plate
from benchtui.metalwork.outlines import apart
from benchtui.metalwork.space import distance
from benchtui.metalwork.workshop import Workshop

_METALS = ("aluminium", "steel", "stainless steel", "brass", "copper")
_LOCAL = f"{PRACTICE}; local rules prevail"
_TAG, _NUTS = "protective earth tag", ("nut", "lock nut")
_WASHERS = ("toothed washer", "washer", "spring washer")
_SHARED_MM = 5.0
_NEAR_MM = 120.0


def earth_there(shop: Workshop) -> Iterator[Finding]:
    """A metal chassis with mains has an earth bolt, and every metal plate is joined to it."""
    metal = [plate for plate in shop.plates if is_metal(plate)]
    if not metal or not _has_mains(shop):
        return
    if not any(_bolt(each) for _, each in shop.mounted()):
        text = (
            'the chassis is metal and has no earth bolt: it wants one of its own, kind = "earth bolt", near the inlet'
        )
        yield found("stop", "panel-earth-missing", metal[0], None, text, source=_LOCAL)
        return
    sheets = _sheets(shop)
    earthed = {
        sheets.root(plate.name) for plate, each in shop.mounted() if _bolt(each) or each.mounting.group == "bond"
    }
    for plate in metal:
        if sheets.root(plate.name) not in earthed and sheets.root(plate.name) == plate.name:
            text = (
                f"{plate.panel.name} is metal and nothing earths it: a joint through paint or oxide is none. Give it a "
                "bonding screw with a lead to the earth bolt, or bare = true at an edge that is clamped bare on bare"
            )
            yield found("stop", "panel-earth-bond", plate, None, text, source=_LOCAL)


def bolts(shop: Workshop) -> Iterator[Finding]:
    """The earth bolt is its own, on bare metal, near the inlet."""
    for plate, mounted in shop.mounted():
        group = mounted.mounting.group
        if group in ("earth", "bond") and is_metal(plate):
            yield from _bare(plate, mounted)
            yield from _own(plate, mounted)
        if group == "earth":
            yield from _stack(plate, mounted)
            yield from _near(shop, plate, mounted)
        elif _TAG in mounted.written.stack and is_metal(plate):
            text = f"{called(mounted)} carries the protective earth on its fixing: earth has a bolt of its own"
            yield found("stop", "panel-earth-shared", plate, mounted, text, source=_LOCAL)


def _bare(plate: Plate, mounted: Mounted) -> Iterator[Finding]:
    if not mounted.written.bare:
        painted = plate.panel.paint is not None
        what = "the panel is painted" if painted else "oxide and anodising insulate"
        text = f"{called(mounted)}: {what}; scrape the metal bare around it and write bare = true"
        yield found("stop" if painted else "warn", "panel-earth-bare", plate, mounted, text, source=_LOCAL)


def _own(plate: Plate, mounted: Mounted) -> Iterator[Finding]:
    for other in plate.mounted:
        for cut in other.cuts if other is not mounted else ():
            way = apart(mounted.cuts[0], cut)
            if way < _SHARED_MM:
                text = (
                    f"{called(mounted)} is the hole of {called(other)} ({mm(way)} from {cut.name}): who takes that off "
                    "takes the earth off; earth has a bolt of its own"
                )
                yield found(
                    "stop", "panel-earth-shared", plate, mounted, text, way, _SHARED_MM, source=_LOCAL, other=other
                )


def _stack(plate: Plate, mounted: Mounted) -> Iterator[Finding]:
    """Toothed washer at the metal, the protective earth's tag, a nut that holds it alone, a lock."""
    stack = mounted.written.stack
    wrong = _wrong_in(stack)
    if wrong is not None:
        severity, text = wrong
        right = "toothed washer, protective earth tag, nut, lock nut is usual"
        yield found(severity, "panel-earth-stack", plate, mounted, f"{called(mounted)}: {text}; {right}", source=_LOCAL)


def _wrong_in(stack: tuple[str, ...]) -> tuple[str, str] | None:
    """What is gravest about the order on an earth bolt."""
    if not stack:
        return "warn", "stack does not say what it carries"
    if _TAG not in stack:
        return "stop", "its stack has no protective earth tag"
    at = stack.index(_TAG)
    above = [each for each in stack[at + 1 :] if each not in _WASHERS]
    if any(each not in _WASHERS for each in stack[:at]):
        return "stop", f"the {next(e for e in stack if e not in _WASHERS)} is under the earth tag, which comes first"
    if not above or above[0] not in _NUTS:
        held = f"the {above[0]}" if above else "nothing"
        return "stop", f"above the earth tag comes {held}: the first nut is for the earth alone"
    if stack[0] != "toothed washer":
        return "warn", "no toothed washer bites into the metal below the earth tag"
    if sum(each in _NUTS for each in above) < 2 and "spring washer" not in stack:
        return "warn", "nothing keeps its nut from working loose"
    return None


def _near(shop: Workshop, plate: Plate, mounted: Mounted) -> Iterator[Finding]:
    here = shop.place(plate, mounted)
    ways = [
        (distance(here, shop.place(other, each)), each)
        for other, each in shop.mounted()
        if each.mounting.group == "mains" and shop.together(plate.name, other.name)
    ]
    way, inlet = min(ways, key=lambda pair: pair[0], default=(0.0, mounted))
    if way > _NEAR_MM:
        text = (
            f"{called(mounted)} is {mm(way)} from {called(inlet)}, {mm(_NEAR_MM)} at most are usual: the earth lead is "
            "short, though a little longer than the other two, so that it parts last"
        )
        yield found("warn", "panel-earth-far", plate, mounted, text, way, _NEAR_MM, source=_LOCAL, other=inlet)


def loose_metal(shop: Workshop) -> Iterator[Finding]:
    """On wood or plastic, transformers and what carries mains have an earth lead of their own where they are metal."""
    if not _has_mains(shop):
        return
    for plate in shop.plates:
        if is_metal(plate):
            continue
        for each in plate.mounted:
            bare = each.mounting.metal and not {_TAG, "other tag"} & set(each.written.stack)
            grave = each.mounting.group in ("transformer", "choke") or each.part in shop.roles.mains
            if bare and grave:
                text = (
                    f"{called(each)} is metal on {plate.panel.material}, which earths nothing: give it its own earth "
                    'lead, stack = ["toothed washer", "protective earth tag", "nut"]'
                )
                yield found("warn", "panel-earth-loose", plate, each, text, source=_LOCAL)


def is_metal(plate: Plate) -> bool:
    """Whether a panel conducts."""
    return plate.panel.material in _METALS


def _bolt(mounted: Mounted) -> bool:
    return mounted.mounting.group == "earth"


def _has_mains(shop: Workshop) -> bool:
    return shop.build.mains.earth is not None or any(each.mounting.group == "mains" for _, each in shop.mounted())


def _sheets(shop: Workshop) -> Joints:
    """Metal panels that are one piece, or clamped bare on bare."""
    joints = Joints()
    for plate in shop.plates:
        joints.join(plate.name)
        for _, edge in edges(plate.panel.edges):
            other = next((each for each in shop.plates if each.name == edge.neighbour), None)
            if other is None or not (is_metal(plate) and is_metal(other)):
                continue
            back = next((e for _, e in edges(other.panel.edges) if e.neighbour == plate.name), None)
            if edge.fold is not None or edge.bare or (back is not None and back.bare):
                joints.join(plate.name, other.name)
    return joints
