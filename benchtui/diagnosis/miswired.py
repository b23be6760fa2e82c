"""Wires that go where they should not, as changes of the circuit with its power on: the slips of `forecast/slips.py`.

Every lead that any of them moves gets a joint of its own, in all of them, so that all have one structure and are solved
side by side: a moved lead is one whose joint is open and which is joined to another node instead.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from benchtui.assemble.netlist import JOINT_OHM
from benchtui.assemble.valves import sections
from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import Circuit, Element, Resistor, Valve
from benchtui.diagnosis.changes import OPEN_OHM, Change
from benchtui.forecast.leads import leads, placed
from benchtui.forecast.pins import Pin
from benchtui.forecast.slips import Slip, Work, slips

#: A lead of an element by both names.
Lead = tuple[str, str]

_ELECTRODES = ("anode", "grid", "screen", "cathode")


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
    jointed = _jointed(elements, list(dict.fromkeys(lead for moved in moves for lead in moved)))
    made = []
    for slip, moved in zip(found, moves, strict=True):
        change = jointed.moved(moved) if moved else Change({}, tuple(e for e in slip.put if isinstance(e, Resistor)))
        if moved or change.extra:
            made.append(Miswired(*slip.joins, slip.says, change))
    return tuple(made)


def _works(build: Build, circuit: Circuit) -> Iterator[Work]:
    """What each stage has wired of the circuit, the parts of earlier ones included in none of the later."""
    names = {element.name for element in circuit.elements}
    names |= {w.name for element in circuit.elements for w in getattr(element, "windings", ())}
    nodes = {node for element in circuit.elements for node in _leads(element).values()}
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
            own = _leads(before)
            moved |= {(element.name, k): node for k, node in _leads(element).items() if own[k] != node}
    for valve in {pin.valve for pin in slip.pins}:
        pins = build.valve[valve].pins
        wired = {name: slip.pins.get(Pin(valve, name), node) for name, node in pins.items()}
        alone = build.model_copy(update={"valve": {valve: build.valve[valve].model_copy(update={"pins": wired})}})
        for section in sections(alone):
            if (before := elements.get(section.id)) is not None:
                own = _leads(before)
                moved |= {(section.id, k): n for k, n in section.nodes.items() if k in own and own[k] != n}
    return moved


@dataclass(frozen=True, eq=False)
class _Jointed:
    """All elements with a lead that a slip moves, that lead at a node of its own; and the joints, all closed."""

    instead: Mapping[str, Element]
    joints: Mapping[Lead, Resistor]

    def moved(self, leads: Mapping[Lead, str]) -> Change:
        """Some leads at other nodes."""
        joints = [replace(joint, ohm=OPEN_OHM) if lead in leads else joint for lead, joint in self.joints.items()]
        at = {lead: self.joints[lead].a for lead in leads}
        wrong = [Resistor(f"{at[lead]} wrong", at[lead], node, JOINT_OHM) for lead, node in leads.items()]
        pins = {" ".join(lead): node for lead, node in at.items() if isinstance(self.instead[lead[0]], Valve)}
        return Change(self.instead, (*joints, *wrong), pins)


def _jointed(elements: Mapping[str, Element], moved: list[Lead]) -> _Jointed:
    at: dict[str, dict[str, str]] = {}
    for name, lead in moved:
        at.setdefault(name, {})[lead] = f"{name} {lead} lead"
    instead = {name: _placed(elements[name], nodes) for name, nodes in at.items()}
    joints = {
        (name, lead): Resistor(f"{node} joint", node, _leads(elements[name])[lead], JOINT_OHM)
        for name, nodes in at.items()
        for lead, node in nodes.items()
    }
    return _Jointed(instead, joints)


def _leads(element: Element) -> dict[str, str]:
    """Lead = node, those of a valve too: its pins may be wired wrongly."""
    if isinstance(element, Valve):
        return {pin: node for pin in _ELECTRODES if (node := getattr(element, pin)) is not None}
    return leads(element)


def _placed(element: Element, nodes: Mapping[str, str]) -> Element:
    return replace(element, **nodes) if isinstance(element, Valve) else placed(element, nodes)
