"""The leads of a part of the circuit: which node each is at, and the part with its leads elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import singledispatch

from benchtui.circuit.elements import (
    Capacitor,
    Choke,
    Diode,
    Element,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Regulator,
    Resistor,
    Transistor,
)

_OF_OUTPUT = ("anode_a", "ht", "anode_b", "hot", "cold")


@singledispatch
def leads(element: Element) -> dict[str, str]:
    """Lead = node; nothing of what is plugged in, not soldered."""
    return {}


@leads.register
def _(element: Resistor | Capacitor | Choke) -> dict[str, str]:
    return {"a": element.a, "b": element.b}


@leads.register
def _(element: Diode | Regulator) -> dict[str, str]:
    return {"anode": element.anode, "cathode": element.cathode}


@leads.register
def _(element: Pot) -> dict[str, str]:
    return {"end_1": element.end_1, "wiper": element.wiper, "end_2": element.end_2}


@leads.register
def _(element: Transistor) -> dict[str, str]:
    return {"collector": element.collector, "base": element.base, "emitter": element.emitter}


@leads.register
def _(element: OutputTransformer) -> dict[str, str]:
    found = {name: node for name in _OF_OUTPUT if (node := getattr(element, name)) is not None}
    taps = element.screen_taps or ()
    return found | {f"tap_{half}": node for half, node in zip("ab", taps[:2], strict=False) if node is not None}


@leads.register
def _(element: MainsTransformer) -> dict[str, str]:
    return {f"{winding.name} {end}": getattr(winding, end) for winding in element.windings for end in "ab"}


def placed(element: Element, nodes: Mapping[str, str]) -> Element:
    """The part with some of its leads at other `nodes`."""
    at = leads(element) | dict(nodes)
    if isinstance(element, MainsTransformer):
        windings = (replace(w, a=at[f"{w.name} a"], b=at[f"{w.name} b"]) for w in element.windings)
        return replace(element, windings=tuple(windings))
    if isinstance(element, OutputTransformer) and element.screen_taps:
        taps = (at["tap_a"], at.get("tap_b"), element.screen_taps[2])
        return replace(element, screen_taps=taps, **{name: at[name] for name in _OF_OUTPUT if name in at})
    return replace(element, **at)
