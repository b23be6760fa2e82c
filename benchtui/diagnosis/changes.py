"""A change of a circuit: what a fault is to the engine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from benchtui.circuit.elements import Circuit, Element, Resistor

OPEN_OHM, SHORT_OHM, NO_FARAD = 1e12, 0.1, 1e-13


@dataclass(frozen=True, eq=False)
class Change:
    """Elements by name as they are instead, and elements that come on top.

    `pins` are the nodes at which pins of valves are that it moves, by section and electrode ("V2 grid").
    """

    instead: Mapping[str, Element]
    extra: tuple[Resistor, ...] = ()
    pins: Mapping[str, str] = field(default_factory=dict)


def changed(circuit: Circuit, change: Change) -> Circuit:
    """The circuit with the change made."""
    elements = tuple(change.instead.get(element.name, element) for element in circuit.elements)
    return Circuit((*elements, *change.extra), circuit.mains_hz)
