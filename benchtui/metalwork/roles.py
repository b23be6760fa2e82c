"""What the parts of a build are for, as far as a layout asks: hot valves, input valves, what carries mains."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import chain

from benchtui.buildfile.joints import joined_by, passed_on
from benchtui.buildfile.models import Build
from benchtui.buildfile.wiring import CHASSIS
from benchtui.parts import valves as library
from benchtui.parts.errors import PartError


@dataclass(frozen=True)
class Roles:
    """References of parts by what they are for."""

    hot: frozenset[str]
    """Output and rectifier valves."""

    input_valves: frozenset[str]
    """Valves that an input leads to through resistors, capacitors and controls alone; no output valves but those with
    a small section in the same bottle."""

    mains: frozenset[str]
    """Fuses and switches that carry mains."""

    bases: Mapping[str, str]
    """Valve = its base, where the library knows its type."""


def roles(build: Build) -> Roles:
    """The roles of a build's parts."""
    known = dict(_known(build))
    anodes = {node for transformer in build.output_transformer.values() for node in transformer.anodes}
    output = {ref for ref, valve in build.valve.items() if anodes & set(valve.pins.values())}
    rectifiers = {ref for ref, found in known.items() if "rectifier" in found.kind}
    driving = {ref for ref in output if ref in known and _anodes(build, ref, known[ref]) - anodes}
    first = frozenset(_first_valves(build)) - (output - driving)
    return Roles(
        frozenset(output | rectifiers), first, _mains(build), {ref: found.base for ref, found in known.items()}
    )


def _known(build: Build) -> Iterator[tuple[str, library.ValveType]]:
    for ref, valve in build.valve.items():
        try:
            yield ref, library.find(valve.type)
        except PartError:
            continue


def _anodes(build: Build, ref: str, found: library.ValveType) -> set[str]:
    """Nodes of all anodes of a valve: a triode in the bottle of an output valve has one of its own."""
    pins = build.valve[ref].pins
    return {node for pin, node in pins.items() if found.pins.get(pin, pin).endswith("anode")}


def _mains(build: Build) -> frozenset[str]:
    """Fuses and switches on the way from the mains lead to the primaries."""
    joints = joined_by(build, ("fuse", "switch", "link", "thermistor"), apart=(CHASSIS,))
    live = {joints.root(node) for node in build.mains.nodes or ()}
    carrying = chain(build.fuse.items(), build.switch.items())
    return frozenset(ref for ref, part in carrying if {joints.root(node) for node in part.nodes} <= live)


def _first_valves(build: Build) -> Iterator[str]:
    """Valves at the first pins that a signal comes to: the way ends there, and at the chassis."""
    at_valves: dict[str, list[str]] = {}
    for ref, valve in build.valve.items():
        for node in valve.pins.values():
            at_valves.setdefault(node, []).append(ref)
    todo = [node for source in build.input.values() for node in source.nodes]
    seen = {CHASSIS}
    while todo:
        node = todo.pop()
        if node in seen:
            continue
        seen.add(node)
        yield from at_valves.get(node, ())
        if node not in at_valves:
            todo += passed_on(build, node)
