"""Rules of a layout for heat and stray fields: valves, transformers and electrolytics beside each other.

Gaps are between what stands in front of the panels: bulbs and cans are round, transformers are boxes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations
from math import hypot

from benchtui.metalwork.finding import Finding, called, found, mm
from benchtui.metalwork.layout import Mounted, Plate
from benchtui.metalwork.solids import Body
from benchtui.metalwork.space import Vector, between, dot, from_box
from benchtui.metalwork.workshop import Workshop

#: Common practice, no source: a hot bulb has its own diameter of air towards another and towards an electrolytic,
#: half of it towards a transformer.
_VALVE_DIAMETERS = 1.0
_CAN_DIAMETERS = 1.0
_TRANSFORMER_DIAMETERS = 0.5
#: Common practice, no source: how far what is sensitive stands off the mains transformer.
_INPUT_MM = 75.0
_OUTPUT_MM = 80.0
#: Axes within 17 degrees of a right angle count as one.
_SQUARE = 0.3

_Is = Callable[[Workshop, Body], bool]


def valves(shop: Workshop) -> Iterator[Finding]:
    """Two hot valves have air between them."""
    for a, b in _pairs(shop, _hot, _hot):
        wide = max(_bulb(a), _bulb(b))
        yield from _air(
            shop, a, b, wide * _VALVE_DIAMETERS, "panel-valve-heat", "a bulb's diameter of air lets both cool"
        )


def transformers(shop: Workshop) -> Iterator[Finding]:
    """A hot valve does not heat a transformer or choke."""
    for a, b in _pairs(shop, _hot, _iron):
        need = _bulb(a) * _TRANSFORMER_DIAMETERS
        yield from _air(shop, a, b, need, "panel-iron-heat", "half a bulb's diameter of air keeps the winding cooler")


def electrolytics(shop: Workshop) -> Iterator[Finding]:
    """A hot valve does not dry out an electrolytic."""
    for a, b in _pairs(shop, _hot, _can):
        need = _bulb(a) * _CAN_DIAMETERS
        yield from _air(shop, a, b, need, "panel-electrolytic-heat", "10 K more halve the life of an electrolytic")


def field_at_inputs(shop: Workshop) -> Iterator[Finding]:
    """Inputs and the first valve stand off the mains transformer."""
    for group in shop.groups:
        iron = [body for body in shop.bodies(group) if _mains_iron(shop, body)]
        for name in group:
            plate = shop.plate(name)
            for mounted in plate.mounted:
                if not _sensitive(shop, mounted):
                    continue
                for body in iron:
                    gap = from_box(body.box, shop.place(plate, mounted))
                    if gap < _INPUT_MM:
                        yield _hums(plate, mounted, body, gap)


def _hums(plate: Plate, mounted: Mounted, body: Body, gap: float) -> Finding:
    text = (
        f"{called(mounted, plate)} is {mm(gap)} from {called(body.mounted)}, straight through the air: its stray field "
        f"hums in there, {mm(_INPUT_MM)} or more are usual"
    )
    return found("warn", "panel-field-input", plate, mounted, text, gap, _INPUT_MM, other=body.mounted)


def field_at_output(shop: Workshop) -> Iterator[Finding]:
    """An output transformer is turned at a right angle to the mains transformer, or stands away from it."""
    for a, b in _pairs(shop, _output_iron, _mains_iron, inside=True):
        gap = between(a.box, b.box)
        if gap >= _OUTPUT_MM:
            continue
        first, second = _axis(a), _axis(b)
        if first is None or second is None:
            text = (
                f"{called(a.mounted)} is {mm(gap)} from {called(b.mounted)}: give the axis of both, so that it can be "
                "seen whether they stand at right angles; try it with the mains transformer on before you drill"
            )
            yield found("note", "panel-field-axis", a.plate, a.mounted, text, gap, _OUTPUT_MM, other=b.mounted)
        elif abs(dot(first, second)) > _SQUARE:
            text = (
                f"{called(a.mounted)} is {mm(gap)} from {called(b.mounted)}, their axes not at right angles: hum "
                f"is induced; turn one of them, or leave {mm(_OUTPUT_MM)}"
            )
            yield found("warn", "panel-field-output", a.plate, a.mounted, text, gap, _OUTPUT_MM, other=b.mounted)


def _air(shop: Workshop, a: Body, b: Body, need: float, rule: str, why: str) -> Iterator[Finding]:
    gap = _gap(shop, a, b)
    if gap < need - 1e-6:
        text = f"{called(a.mounted)} and {called(b.mounted)} have {mm(gap)} between them, {mm(need)} are wanted: {why}"
        yield found("warn", rule, a.plate, a.mounted, text, gap, need, other=b.mounted)


def _gap(shop: Workshop, bulb: Body, other: Body) -> float:
    """Air between a bulb and what stands beside it, bulbs and cans being round; to another panel by boxes."""
    if bulb.plate is not other.plate:
        return between(bulb.box, other.box)
    a, b = bulb.mounted, other.mounted
    if b.mounting.group in ("valve", "capacitor"):
        return max(0.0, hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) - (_bulb(bulb) + _bulb(other)) / 2)
    foot = shop.frame(bulb.plate).point(a.x_mm, a.y_mm, 1.0)
    return max(0.0, from_box(other.box, foot) - _bulb(bulb) / 2)


def _pairs(shop: Workshop, first: _Is, second: _Is, *, inside: bool = False) -> Iterator[tuple[Body, Body]]:
    """Pairs of bodies in front, or `inside` too, of which one is a `first` and the other a `second`; each once."""
    for group in shop.groups:
        for a, b in combinations(shop.bodies(group) if inside else shop.fronts(group), 2):
            if first(shop, a) and second(shop, b):
                yield a, b
            elif first(shop, b) and second(shop, a):
                yield b, a


def _hot(shop: Workshop, body: Body) -> bool:
    return body.mounted.part in shop.roles.hot and body.mounted.mounting.group == "valve"


def _iron(shop: Workshop, body: Body) -> bool:
    return body.mounted.mounting.group in ("transformer", "choke")


def _can(shop: Workshop, body: Body) -> bool:
    return body.mounted.mounting.group == "capacitor"


def _mains_iron(shop: Workshop, body: Body) -> bool:
    mounted = body.mounted
    if mounted.part is not None:
        return mounted.part in shop.build.transformer
    return mounted.mounting.name in ("mains transformer", "drop-through transformer")


def _output_iron(shop: Workshop, body: Body) -> bool:
    mounted = body.mounted
    if mounted.part is not None:
        return mounted.part in shop.build.output_transformer
    return mounted.mounting.name == "output transformer"


def _sensitive(shop: Workshop, mounted: Mounted) -> bool:
    if mounted.part is not None:
        return mounted.part in shop.roles.input_valves or mounted.part in shop.build.input
    return mounted.mounting.group == "input"


def _bulb(body: Body) -> float:
    """Diameter of a bulb."""
    return 2 * max(body.box.half[:2])


def _axis(body: Body) -> Vector | None:
    """The way that the axis of a winding points in space; None where the file does not say."""
    which = body.mounted.written.axis
    return None if which is None else dict(zip(("right", "up", "out"), body.box.axes, strict=True))[which]
