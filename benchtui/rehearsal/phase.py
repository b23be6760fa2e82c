"""Which way round an output transformer is: what its exchanged leads do, and which fault an exchange cures."""

from __future__ import annotations

from dataclasses import replace

from benchtui.buildfile.models import Build
from benchtui.circuit.elements import Circuit, OutputTransformer
from benchtui.rehearsal.asked import Planted

ANODES, SECONDARY = "anodes", "secondary"


def turned_over(circuit: Circuit, exchanged: tuple[tuple[str, str], ...]) -> Circuit:
    """The circuit with those leads of its output transformers exchanged, taps of an ultra-linear connection with them."""
    elements = list(circuit.elements)
    for name, leads in exchanged:
        for k, each in enumerate(elements):
            if isinstance(each, OutputTransformer) and each.name == name:
                elements[k] = _exchanged(each, leads)
    return Circuit(tuple(elements), circuit.mains_hz)


def _exchanged(part: OutputTransformer, leads: str) -> OutputTransformer:
    if leads == SECONDARY:
        return replace(part, hot=part.cold, cold=part.hot)
    if part.anode_b is None:
        return replace(part, anode_a=part.ht, ht=part.anode_a)
    taps = part.screen_taps
    if taps is not None and taps[1] is not None:
        taps = (taps[1], taps[0], taps[2])
    return replace(part, anode_a=part.anode_b, anode_b=part.anode_a, screen_taps=taps)


def pairs(build: Build, part: str) -> dict[str, tuple[str, str]]:
    """The two pairs of leads of an output transformer, by node, each of which turns the phase when it is exchanged."""
    of = build.output_transformer[part]
    return {ANODES: of.anodes if len(of.anodes) == 2 else (of.anodes[0], of.ht), SECONDARY: of.secondary}


def turns(build: Build, planted: Planted | None) -> bool:
    """Is what is planted an output transformer that is the wrong way round? Either exchange cures it."""
    if planted is None or planted.kind != "leads-exchanged" or planted.part not in build.output_transformer:
        return False
    ends = pairs(build, planted.part).values()
    return any(f"at {a} and {b} are" in planted.says or f"at {b} and {a} are" in planted.says for a, b in ends)
