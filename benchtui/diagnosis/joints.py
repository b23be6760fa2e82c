"""Leads with a joint of their own, so that one that comes loose or goes elsewhere changes no structure.

Every lead that any change of a kind moves has its joint in all of them, closed but for the one that is moved: they are
then solved side by side.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from benchtui.assemble.netlist import JOINT_OHM
from benchtui.circuit.elements import Element, Resistor, Valve
from benchtui.diagnosis.changes import OPEN_OHM, Change
from benchtui.forecast.leads import leads, placed

#: A lead of an element by both names.
Lead = tuple[str, str]

_ELECTRODES = ("anode", "grid", "screen", "cathode")


@dataclass(frozen=True, eq=False)
class Jointed:
    """Some leads at nodes of their own, each behind a joint that is closed."""

    instead: Mapping[str, Element]
    joints: Mapping[Lead, Resistor]

    def loose(self, lead: Lead) -> Change:
        """One lead that is joined to nothing, inside its socket: what is soldered there stays where it is."""
        return Change(self.instead, self._opened({lead}))

    def moved(self, to: Mapping[Lead, str]) -> Change:
        """Some leads at other nodes, pins of sockets with what is soldered there."""
        at = {lead: self.joints[lead].a for lead in to}
        wrong = [Resistor(f"{at[lead]} wrong", at[lead], node, JOINT_OHM) for lead, node in to.items()]
        pins = {" ".join(lead): node for lead, node in at.items() if isinstance(self.instead[lead[0]], Valve)}
        return Change(self.instead, (*self._opened(to), *wrong), pins)

    def _opened(self, which: Iterable[Lead]) -> tuple[Resistor, ...]:
        opened = set(which)
        return tuple(replace(j, ohm=OPEN_OHM) if lead in opened else j for lead, j in self.joints.items())


def jointed(elements: Mapping[str, Element], which: Iterable[Lead]) -> Jointed:
    """The leads `which` of `elements` (by name), each with a joint of its own."""
    at: dict[str, dict[str, str]] = {}
    for name, lead in which:
        at.setdefault(name, {})[lead] = f"{name} {lead} lead"
    instead = {name: _placed(elements[name], nodes) for name, nodes in at.items()}
    joints = {
        (name, lead): Resistor(f"{node} joint", node, leads_of(elements[name])[lead], JOINT_OHM)
        for name, nodes in at.items()
        for lead, node in nodes.items()
    }
    return Jointed(instead, joints)


def leads_of(element: Element) -> dict[str, str]:
    """Lead = node, those of a valve too: its pins may be wired wrongly, or make no contact."""
    if isinstance(element, Valve):
        return {pin: node for pin in _ELECTRODES if (node := getattr(element, pin)) is not None}
    return leads(element)


def _placed(element: Element, nodes: Mapping[str, str]) -> Element:
    return replace(element, **nodes) if isinstance(element, Valve) else placed(element, nodes)
