"""Values: complete, not contradicting each other, and such as anyone would build with."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.buildfile.inventory import parts
from benchtui.buildfile.joints import Joints
from benchtui.buildfile.models import Build, Capacitor, OutputTransformer, Point, Winding, Zener
from benchtui.buildfile.problems import Finding, Path

# What is built with, as (table, field) -> lowest, highest, unit. Beyond it a value is possible but odd.
# Common practice, no source.
_USUAL = {
    ("resistor", "value"): (0.1, 47e6, "ohm"),
    ("capacitor", "value"): (1e-12, 10e-3, "F"),
    ("choke", "value"): (1e-3, 100.0, "H"),
    ("load", "value"): (1.0, 600.0, "ohm"),
    ("output_transformer", "impedance"): (300.0, 50e3, "ohm"),
    ("pot", "value"): (1.0, 10e6, "ohm"),
    ("zener", "value"): (2.0, 200.0, "V"),
    ("transistor", "gain"): (10.0, 1000.0, ""),
    ("fet", "idss"): (1e-4, 1.0, "A"),
    ("fet", "pinch_off"): (0.3, 10.0, "V"),
}
_HOT = ("resistor", "load", "zener", "transistor", "fet")
"""Tables of parts whose heat is judged by their own rating."""

_USUAL_MAINS_V = (90.0, 260.0)
_USUAL_MAINS_HZ = (45.0, 65.0)

#: How far the volts of a heater may be from those of its winding (common practice, no source).
_HEATER_SHARE = 0.25


def check(build: Build) -> Iterator[Finding]:
    """Findings about values."""
    yield from _mains(build)
    yield from _windings(build)
    yield from _heaters(build)
    for key, transformer in build.output_transformer.items():
        yield from _output_transformer(("output_transformer", key), transformer)
    for key, capacitor in build.capacitor.items():
        yield from _capacitor(("capacitor", key), capacitor)
    for key, zener in build.zener.items():
        yield from _zener(("zener", key), zener)
    for key, point in build.point.items():
        yield from _point(("point", key), point)
    yield from _adjustments(build)
    yield from _odd(build)
    yield from _unrated(build)


def _mains(build: Build) -> Iterator[Finding]:
    mains = build.mains
    if mains.inlet == "captive lead" and not mains.dead_at:
        right = "with a captive lead, say where the mains side is read dead"
        yield Finding(("mains", "dead_at"), "is missing", right)
    yield from _usual(("mains", "volts"), mains.volts, *_USUAL_MAINS_V, "V")
    yield from _usual(("mains", "frequency"), mains.frequency, *_USUAL_MAINS_HZ, "Hz")
    for key, transformer in build.transformer.items():
        if not abs(transformer.primary.volts / mains.volts - 1) <= 0.1:
            path = ("transformer", key, "primary", "volts")
            wrong = f"is more than 10 % off the mains of {mains.volts:g} V"
            yield Finding(path, wrong, "a tap nearer to it is usual", other=("mains", "volts"), odd=True)


def _windings(build: Build) -> Iterator[Finding]:
    for name, transformer in build.transformer.items():
        for key, winding in transformer.windings.items():
            yield from _winding(("transformer", name, "windings", key), winding)


def _winding(path: Path, winding: Winding) -> Iterator[Finding]:
    if winding.emf is None and winding.volts is None:
        right = "emf measured off load, or rated volts with regulation, is needed"
        yield Finding(path, "has no volts", right)
    elif winding.emf is None and winding.regulation is None:
        right = 'how much the volts rise off load is needed with rated volts, such as "8 %"'
        yield Finding((*path, "regulation"), "is missing", right)
    for field, needed in (("at", "emf"), ("regulation", "volts")):
        if getattr(winding, field) is not None and getattr(winding, needed) is None:
            yield Finding((*path, field), f"means nothing without {needed}", f"add {needed}, or leave {field} out")


def off_load_v(winding: Winding) -> float | None:
    """Volts off load, as measured or from the rating; None where the file does not say."""
    if winding.emf is not None:
        return winding.emf
    if winding.volts is None or winding.regulation is None:
        return None
    return winding.volts * (1 + winding.regulation)


def _heaters(build: Build) -> Iterator[Finding]:
    """A heater straight across a winding has about its volts; pins are checked with the valve library."""
    joints = Joints()
    for link in build.link.values():
        joints.join(*link.nodes)
    windings = {}
    for transformer in build.transformer.values():
        for key, winding in transformer.windings.items():
            windings[frozenset(joints.root(node) for node in winding.nodes)] = (key, off_load_v(winding))
    for key, heater in build.heater.items():
        name, volts = windings.get(frozenset(joints.root(node) for node in heater.nodes), ("", None))
        if volts is not None and not abs(volts / heater.volts - 1) <= _HEATER_SHARE:
            wrong = f"does not fit {name}, which gives {volts:.3g} V off load"
            yield Finding(("heater", key, "volts"), wrong, "a winding of the heater's own volts is wanted")


def _output_transformer(path: Path, transformer: OutputTransformer) -> Iterator[Finding]:
    count = len(transformer.anodes)
    if count not in (1, 2):
        right = "one is wanted if single-ended, two in push-pull"
        yield Finding((*path, "anodes"), f"has {count} nodes", right)
        return
    if len(transformer.resistance) != count:
        wrong = f"has {len(transformer.resistance)} entries for {count} anodes"
        yield Finding((*path, "resistance"), wrong, "one for each half is wanted, one if single-ended")
    taps = transformer.screen_taps
    if taps is not None and len(taps.nodes) != count:
        wrong = f"has {len(taps.nodes)} nodes for {count} anodes"
        yield Finding((*path, "screen_taps", "nodes"), wrong, "one for each anode is wanted")
    if taps is not None and not 0 < taps.share < 1:
        wrong = "is no tap between the HT end and the anode"
        yield Finding((*path, "screen_taps", "share"), wrong, "a share such as 43 % is wanted")


def _capacitor(path: Path, capacitor: Capacitor) -> Iterator[Finding]:
    if capacitor.surge is not None and not capacitor.surge >= capacitor.volts:
        yield Finding((*path, "surge"), "is below the rated volts", "a surge rating is at least those")
    measured = capacitor.measured
    if measured is not None and not 0.5 <= measured / capacitor.value <= 2:
        right = "about the marked value is usual"
        yield Finding((*path, "measured"), "is less than half or more than twice the marked value", right, odd=True)


def _zener(path: Path, zener: Zener) -> Iterator[Finding]:
    if not zener.resistance * zener.at < zener.value / 2:
        right = "the slope at the test current is wanted, some ohms to some hundred"
        yield Finding((*path, "resistance"), "would drop half of its volts at the test current", right)


def _point(path: Path, point: Point) -> Iterator[Finding]:
    limits = [limit for limit in (point.stop_low, point.stop_high) if limit is not None]
    if limits and not point.reason:
        right = "a limit is narrowed only with a reason"
        yield Finding((*path, "reason"), "is missing", right)
    if len(limits) == 2 and not limits[0] < limits[1]:
        yield Finding((*path, "stop_low"), "is not below stop_high", "the lower limit is wanted here")
    wanted = {"bond": "resistance", "insulation": "resistance", "grid bias": "dc"}.get(point.guards or "")
    if wanted is not None and point.quantity != wanted:
        right = f'{point.guards} is read as "{wanted}"'
        yield Finding((*path, "guards"), f"does not fit the quantity {point.quantity}", right)


def _adjustments(build: Build) -> Iterator[Finding]:
    for key, adjustment in build.adjust.items():
        path = ("adjust", key)
        if (adjustment.target is None) == (adjustment.dissipation is None):
            wrong = "has no aim" if adjustment.target is None else "has two aims"
            yield Finding(path, wrong, "either target or dissipation is wanted")
        if adjustment.dissipation is not None and adjustment.valve is None:
            yield Finding((*path, "valve"), "is missing", "name the valve whose dissipation is meant")
        if adjustment.dissipation is not None and not adjustment.dissipation > 0:
            yield Finding((*path, "dissipation"), "is no dissipation", "a share such as 65 % is wanted")
        point = build.point.get(adjustment.point)
        if point is not None and point.quantity != "dc":
            other = ("point", adjustment.point, "quantity")
            yield Finding((*path, "point"), f"reads {point.quantity}", "a point that reads dc is wanted", other=other)


def _odd(build: Build) -> Iterator[Finding]:
    for (table, field), (lowest, highest, unit) in _USUAL.items():
        for key, entry in getattr(build, table).items():
            yield from _usual((table, key, field), getattr(entry, field), lowest, highest, unit)
    for key, resistor in build.resistor.items():
        if resistor.measured is not None:
            low, high = resistor.tolerance
            if not 1 + low <= resistor.measured / resistor.value <= 1 + high:
                right = "fit another, or correct the value or the tolerance"
                yield Finding(("resistor", key, "measured"), "is outside the tolerance", right, odd=True)
    for key, thermistor in build.thermistor.items():
        if not thermistor.cold > thermistor.value:
            right = "one that limits the inrush has more ohms cold than hot"
            yield Finding(("thermistor", key, "cold"), "is not above the hot value", right, odd=True)


def _usual(path: Path, value: float, lowest: float, highest: float, unit: str) -> Iterator[Finding]:
    if not lowest <= value <= highest:
        right = f"{lowest:g} to {highest:g} {unit}".rstrip() + " is usual"
        yield Finding(path, f"is odd: {value:g} {unit}".rstrip(), right, odd=True)


def _unrated(build: Build) -> Iterator[Finding]:
    for listed in parts(build):
        if getattr(listed.part, "watts", 0.0) is None and listed.path[0] in _HOT:
            yield Finding(listed.path, "has no power rating", "write watts, or its heat can't be judged", odd=True)
