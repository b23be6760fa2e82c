"""Rules of a layout for mains parts: together in one corner, away from inputs. Ways are straight lines in space."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from benchtui.metalwork.finding import Finding, called, found, mm
from benchtui.metalwork.layout import Mounted, Plate
from benchtui.metalwork.space import distance
from benchtui.metalwork.workshop import Workshop

#: Common practice, no source.
_INPUT_MM = 70.0
_FUSE_MM = 120.0
_SWITCH_MM = 200.0


def mains_and_inputs(shop: Workshop) -> Iterator[Finding]:
    """Mains parts stand away from inputs."""
    mains = [(plate, each) for plate, each in shop.mounted() if carries_mains(shop, each)]
    inputs = [(plate, each) for plate, each in shop.mounted() if takes_signal(shop, each)]
    for (plate, each), (other_plate, other) in product(mains, inputs):
        way = _way(shop, (plate, each), (other_plate, other))
        if way is not None and way < _INPUT_MM:
            text = (
                f"{called(each, plate)} carries mains and is {mm(way)} from {called(other, other_plate)}, where the "
                f"signal comes in: {mm(_INPUT_MM)} or more keep hum, and mains, out of it"
            )
            yield found("warn", "panel-mains-input", plate, each, text, way, _INPUT_MM, other=other)


def mains_together(shop: Workshop) -> Iterator[Finding]:
    """Inlet, fuse and switch stand together: before the fuse every lead is protected by the house's alone."""
    inlets = [(plate, each) for plate, each in shop.mounted() if each.mounting.group == "mains"]
    if not inlets:
        return
    for plate, each in shop.mounted():
        if each.mounting.group == "mains" or not carries_mains(shop, each):
            continue
        ways = [(_way(shop, (plate, each), inlet), inlet) for inlet in inlets]
        way, inlet = min(((w, i) for w, i in ways if w is not None), key=lambda pair: pair[0], default=(0.0, inlets[0]))
        fuse = each.mounting.group == "fuse"
        most = _FUSE_MM if fuse else _SWITCH_MM
        if way > most:
            why = (
                "the lead before it is protected by the house's fuse alone, keep it short"
                if fuse
                else "its leads carry mains through the chassis: sleeved, twisted, along a corner away from inputs"
            )
            text = f"{called(each, plate)} is {mm(way)} from {called(inlet[1], inlet[0])}: {why}"
            rule, severity = ("panel-mains-fuse", "warn") if fuse else ("panel-mains-switch", "note")
            yield found(severity, rule, plate, each, text, way, most, other=inlet[1])


def carries_mains(shop: Workshop, mounted: Mounted) -> bool:
    """Whether mains comes to it: by its part, or as an inlet or gland; so is a fuse holder that names no part."""
    if mounted.mounting.group == "mains" or mounted.part in shop.roles.mains:
        return True
    return mounted.mounting.group == "fuse" and mounted.part is None


def takes_signal(shop: Workshop, mounted: Mounted) -> bool:
    """Whether a signal comes in there."""
    if mounted.part is not None:
        return mounted.part in shop.build.input
    return mounted.mounting.group == "input"


def _way(shop: Workshop, a: tuple[Plate, Mounted], b: tuple[Plate, Mounted]) -> float | None:
    """The straight way from one place to another; None between panels that nothing joins."""
    if not shop.together(a[0].name, b[0].name):
        return None
    return distance(shop.place(*a), shop.place(*b))
