"""Wires that go where they should not, as changes of the circuit with its power on, from `forecast/slips.py`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from benchtui.assemble.valves import sections
from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import Circuit, Element, Resistor
from benchtui.diagnosis.changes import Change
from benchtui.diagnosis.joints import Lead, jointed, leads_of
from benchtui.forecast.pins import Pin
from benchtui.forecast.slips import Slip, Work, slips


@dataclass(frozen=True, eq=False)
class Miswired:
    """A wire that goes where it should not: kind of fault, part, a sentence, and the change."""

    kind: str
    part: str
    says: str
    change: Change


def miswired(build: Build, circuit: Circuit) -> tuple[Miswired, ...]:
    """Every such slip of what is fitted in `circuit`, which was assembled from `build`."""
    elements = {element.name: element for element in circuit.elements}
    found = [slip for work in _works(build, circuit) for slip in slips(work) if slip.joins is not None]
    moves = [_moves(build, elements, slip) for slip in found]
    joined = jointed(elements, dict.fromkeys(lead for moved in moves for lead in moved))
    made = []
    for slip, moved in zip(found, moves, strict=True):
        change = joined.moved(moved) if moved else Change({}, tuple(e for e in slip.put if isinstance(e, Resistor)))
        if moved or change.extra:
            made.append(Miswired(*slip.joins, slip.says, change))
    return tuple(made)


def _works(build: Build, circuit: Circuit) -> Iterator[Work]:
    """What each stage has wired of the circuit, the parts of earlier ones included in none of the later."""
    names = {element.name for element in circuit.elements}
    names |= {w.name for element in circuit.elements for w in getattr(element, "windings", ())}
    nodes = {node for element in circuit.elements for node in leads_of(element).values()}
    there = {section.valve for section in sections(build) if section.id in names}
    pins = {Pin(v, pin): node for v in there for pin, node in build.valve[v].pins.items() if node in nodes}
    listed = [each for each in parts(build) if each.id in names or each.id in there]
    for stage in dict.fromkeys(each.part.stage for each in listed):
        fitted = {each.id: str(each.path[0]) for each in listed if each.part.stage == stage}
        fresh = frozenset(pin for pin in pins if pin.valve in fitted)
        yield Work(build, stage, circuit, fitted, pins, fresh)


def _moves(build: Build, elements: Mapping[str, Element], slip: Slip) -> dict[Lead, str]:
    """The leads that the slip moves, each with the node where it then is; those of a valve are its pins'."""
    moved = {}
    for element in slip.put:
        if (before := elements.get(element.name)) is not None:
            own = leads_of(before)
            moved |= {(element.name, k): node for k, node in leads_of(element).items() if own[k] != node}
    for valve in {pin.valve for pin in slip.pins}:
        pins = build.valve[valve].pins
        wired = {name: slip.pins.get(Pin(valve, name), node) for name, node in pins.items()}
        alone = build.model_copy(update={"valve": {valve: build.valve[valve].model_copy(update={"pins": wired})}})
        for section in sections(alone):
            if (before := elements.get(section.id)) is not None:
                own = leads_of(before)
                moved |= {(section.id, k): n for k, n in section.nodes.items() if k in own and own[k] != n}
    return moved
