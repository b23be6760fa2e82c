"""Where an ohmmeter can be put in a stage: every reading that may show a wiring slip, the handiest first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from benchtui.buildfile.models import Build
from benchtui.circuit.elements import CHASSIS, MainsTransformer, OutputTransformer
from benchtui.forecast.leads import leads
from benchtui.forecast.ohms import OhmsBench
from benchtui.forecast.pins import Pin, neighbours

MARK = "ohm:"
"""Begins the id of every reading that is computed; no id of a build file can have a colon."""


@dataclass(frozen=True)
class Probe:
    """A place to touch: a node, named by a pin of a socket or by the end of a part where one is there."""

    node: str
    at: str
    pin: Pin | None = None


@dataclass(frozen=True)
class Reading:
    """Two places to put the probes, with an id and a name; `own` where it is a point of the build file."""

    id: str
    name: str
    red: Probe
    black: Probe
    own: bool = False

    @property
    def turned(self) -> Reading:
        """The same with the probes exchanged."""
        return Reading(self.id, self.name, self.black, self.red, self.own)


CHASSIS_PROBE = Probe(CHASSIS, "chassis")


def own_readings(build: Build, stage: str, bench: OhmsBench) -> Iterator[Reading]:
    """The build file's own resistance points of the stage."""
    for id, point in build.point.items():
        if stage in point.stages and point.quantity == "resistance" and {point.red, point.black} <= bench.nominal.nodes:
            yield Reading(id, point.name, Probe(point.red, point.red_at), Probe(point.black, point.black_at), own=True)


def pin_readings(pins: Mapping[Pin, str]) -> Iterator[Reading]:
    """Every pin to chassis."""
    for pin, node in pins.items():
        if node != CHASSIS:
            yield Reading(f"{MARK}{pin}", f"{_upper(pin.place)} to chassis", at_pin(pin, node), CHASSIS_PROBE)


def further_readings(build: Build, bench: OhmsBench, pins: Mapping[Pin, str], fitted: Mapping[str, str]) -> list[Reading]:
    """Windings, then what the stage fitted, from end to end and to chassis, then neighbouring pins."""
    return [*winding_readings(bench), *_parts(bench, fitted), *_pairs(build, pins)]


def rail_readings(build: Build, bench: OhmsBench) -> Iterator[Reading]:
    """Every smoothed rail to chassis, which is a node with a capacitor of a reservoir's size there."""
    seen = set()
    for id, part in build.capacitor.items():
        ends = [node for node in part.nodes if node != CHASSIS]
        if id in bench.state.fitted and len(ends) == 1 and ends[0] not in seen and part.value >= _RAIL_F:
            seen.add(ends[0])
            at = f"{id} {'plus' if part.nodes[0] == ends[0] else 'minus'}, node {ends[0]}"
            yield Reading(f"{MARK}{id}", f"{id} to chassis", Probe(ends[0], at), CHASSIS_PROBE)


_RAIL_F = 1e-6
"""The least capacitor that makes a rail (own decision)."""


def winding_readings(bench: OhmsBench) -> Iterator[Reading]:
    """Each winding of every transformer, a tapped one piece by piece."""
    for element in bench.circuit.elements:
        if isinstance(element, MainsTransformer):
            for winding in element.windings:
                yield _across(winding.name, winding.name, winding.a, winding.b)
        if isinstance(element, OutputTransformer):
            at = leads(element)
            halves = [["ht", *(tap for tap in (f"tap_{half}",) if tap in at), f"anode_{half}"] for half in "ab"]
            for k, half in enumerate((half for half in halves if half[-1] in at), 1):
                for piece, (one, other) in enumerate(pairwise(half), 1):
                    id = f"{element.name}.{k}" + (f".{piece}" if len(half) > 2 else "")
                    yield _across(id, f"{element.name}, primary", at[other], at[one])
            yield _across(f"{element.name}.secondary", f"{element.name}, secondary", at["hot"], at["cold"])


def _parts(bench: OhmsBench, fitted: Mapping[str, str]) -> Iterator[Reading]:
    there = [element for element in bench.circuit.elements if fitted.get(element.name) in _HANDY]
    for element in there:
        ends = list(leads(element).values())
        yield _across(element.name, element.name, ends[0], ends[-1])
    for element in there:
        for node in leads(element).values():
            if node != CHASSIS:
                name = f"{element.name} at {node} to chassis"
                yield Reading(f"{MARK}{element.name}.{node}", name, _end(element.name, node), CHASSIS_PROBE)


_HANDY = ("resistor", "thermistor", "load", "choke", "pot", "link", "fuse", "switch", "capacitor", "diode", "primary")
"""Kinds of part whose ends a probe finds."""


def _pairs(build: Build, pins: Mapping[Pin, str]) -> Iterator[Reading]:
    for ref in dict.fromkeys(pin.valve for pin in pins):
        for one, other in neighbours(build, ref):
            if one in pins and other in pins and pins[one] != pins[other]:
                name = f"Pin {one.name} to pin {other.name} of {ref}"
                yield Reading(f"{MARK}{one}-{other.name}", name, at_pin(one, pins[one]), at_pin(other, pins[other]))


def at_pin(pin: Pin, node: str) -> Probe:
    """The probe on a pin that is at `node`."""
    return Probe(node, f"{pin.place}, node {node}", pin)


def _across(id: str, name: str, a: str, b: str) -> Reading:
    return Reading(f"{MARK}{id}", f"{name}, end to end", _end(id, a), _end(id, b))


def _end(id: str, node: str) -> Probe:
    return CHASSIS_PROBE if node == CHASSIS else Probe(node, f"{id.split('.')[0]}, node {node}")


def _upper(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
