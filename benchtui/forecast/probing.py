"""Where an ohmmeter can be put in a stage: every reading that may show a wiring slip, the handiest first."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import Literal

from benchtui.buildfile.models import Build, Point
from benchtui.buildfile.stages import stages
from benchtui.circuit.elements import CHASSIS, MainsTransformer, OutputTransformer
from benchtui.forecast.gate import reservoirs_of
from benchtui.forecast.leads import leads
from benchtui.forecast.ohms import OhmsBench
from benchtui.forecast.pins import Pin, is_heater, neighbours
from benchtui.quantities.sentence import capital


def computed_id(place: str) -> str:
    """The id of a reading that is computed; no id of a build file can have a space."""
    return f"{place} ohm"


@dataclass(frozen=True)
class Probe:
    """A place to touch: a node, named by a pin of a socket or by the end of a part where one is there."""

    node: str
    at: str
    pin: Pin | None = None


@dataclass(frozen=True)
class Reading:
    """Two places to put the probes, with an id and a name.

    `kind`: a "point" of the build file, the "closing"'s own (HT+ to chassis with the clip off), or "computed" here.
    """

    id: str
    name: str
    red: Probe
    black: Probe
    kind: Literal["point", "closing", "computed"] = "computed"

    @property
    def turned(self) -> Reading:
        """The same with the probes exchanged."""
        return replace(self, red=self.black, black=self.red)


CHASSIS_PROBE = Probe(CHASSIS, "chassis")


def own_readings(build: Build, stage: str, bench: OhmsBench) -> Iterator[Reading]:
    """The build file's own resistance points of the stage."""
    for id, point in build.point.items():
        if stage in point.stages and point.quantity == "resistance" and {point.red, point.black} <= bench.nominal.nodes:
            red = _named_pin(build, point.red, point.red_at) or _socket_pin(build, point)
            black = _named_pin(build, point.black, point.black_at)
            probes = Probe(point.red, point.red_at, red), Probe(point.black, point.black_at, black)
            yield Reading(id, point.name, *probes, kind="point")


def _named_pin(build: Build, node: str, at: str) -> Pin | None:
    """The pin that the words for a place name, such as "pin 2 of the socket of V3"."""
    said = re.search(r"\bpin (\w+) of (?:the socket of )?(\w+)", at)
    return _pin_at(build, said[2], said[1], node) if said else None


def _socket_pin(build: Build, point: Point) -> Pin | None:
    """The pin that a point shows, where red is put at the socket, such as "end of R13 at the socket"."""
    valve, _, name = (point.socket or "").rpartition(".")
    return _pin_at(build, valve, name, point.red) if "socket" in point.red_at else None


def _pin_at(build: Build, valve: str, name: str, node: str) -> Pin | None:
    return Pin(valve, name) if valve in build.valve and build.valve[valve].pins.get(name) == node else None


def closing_reading(build: Build, stage: str) -> Reading | None:
    """HT+ to chassis as a closing reads it once the clip is off; None where nothing is powered or holds a charge."""
    if not any(info.id == stage and info.kind == "power" for info in stages(build)):
        return None
    rail = next((each.red for each in reservoirs_of(build, stage) if each.black == CHASSIS), None)
    name = "HT+ to chassis at the closing, clip off"
    return None if rail is None else Reading("closing", name, Probe(rail, "HT+"), CHASSIS_PROBE, "closing")


def pin_readings(pins: Mapping[Pin, str]) -> Iterator[Reading]:
    """Every pin to chassis."""
    for pin, node in pins.items():
        if node != CHASSIS:
            yield Reading(computed_id(str(pin)), f"{capital(pin.place)} to chassis", at_pin(pin, node), CHASSIS_PROBE)


def further_readings(
    build: Build, bench: OhmsBench, pins: Mapping[Pin, str], fitted: Mapping[str, str]
) -> list[Reading]:
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
            yield Reading(computed_id(id), f"{id} to chassis", Probe(ends[0], at), CHASSIS_PROBE)


_RAIL_F = 1e-6
"""The least capacitor that makes a rail (own decision)."""


def winding_readings(bench: OhmsBench) -> Iterator[Reading]:
    """Each winding of every transformer, a tapped one piece by piece."""
    for element in bench.circuit.elements:
        if isinstance(element, MainsTransformer):
            for winding in element.windings:
                yield _across(winding.name, f"{winding.name}, end to end", winding.a, winding.b)
        if isinstance(element, OutputTransformer):
            at = leads(element)
            halves = [["ht", *(tap for tap in (f"tap_{half}",) if tap in at), f"anode_{half}"] for half in "ab"]
            for k, half in enumerate((half for half in halves if half[-1] in at), 1):
                for piece, (one, other) in enumerate(pairwise(half), 1):
                    id = f"{element.name}.{k}" + (f".{piece}" if len(half) > 2 else "")
                    yield _across(id, f"{element.name}, {at[other]} to {at[one]}", at[other], at[one])
            yield _across(f"{element.name}.secondary", f"{element.name}, secondary", at["hot"], at["cold"])


def _parts(bench: OhmsBench, fitted: Mapping[str, str]) -> Iterator[Reading]:
    there = [element for element in bench.circuit.elements if fitted.get(element.name) in _HANDY]
    for element in there:
        ends = list(leads(element).values())
        yield _across(element.name, f"{element.name}, end to end", ends[0], ends[-1])
    for element in there:
        for node in leads(element).values():
            if node != CHASSIS:
                name = f"{element.name} at {node} to chassis"
                yield Reading(computed_id(f"{element.name}.{node}"), name, _end(element.name, node), CHASSIS_PROBE)


_HANDY = ("resistor", "thermistor", "load", "choke", "pot", "link", "fuse", "switch", "capacitor", "diode", "primary")
"""Kinds of part whose ends a probe finds."""


def _pairs(build: Build, pins: Mapping[Pin, str]) -> Iterator[Reading]:
    """Neighbouring pins, and the two ends of each heater, which hides a missing wire from any reading to chassis."""
    for ref in dict.fromkeys(pin.valve for pin in pins):
        hot = [pin for pin in pins if pin.valve == ref and is_heater(build, pin)]
        for one, other in (*combinations(hot, 2), *neighbours(build, ref)):
            if one in pins and other in pins and pins[one] != pins[other]:
                name = f"Pin {one.name} to pin {other.name} of {ref}"
                probes = at_pin(one, pins[one]), at_pin(other, pins[other])
                yield Reading(computed_id(f"{one}-{other.name}"), name, *probes)


def at_pin(pin: Pin, node: str) -> Probe:
    """The probe on a pin that is at `node`."""
    return Probe(node, f"{pin.place}, node {node}", pin)


def _across(id: str, name: str, a: str, b: str) -> Reading:
    return Reading(computed_id(id), name, _end(id, a), _end(id, b))


def _end(id: str, node: str) -> Probe:
    return CHASSIS_PROBE if node == CHASSIS else Probe(node, f"{id.split('.')[0]}, node {node}")
