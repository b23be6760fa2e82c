"""Which way round an output transformer is: what its exchanged leads do, and which fault an exchange cures."""

from __future__ import annotations

import re
from dataclasses import replace

from benchtui.buildfile.models import Build
from benchtui.circuit.elements import Circuit, OutputTransformer
from benchtui.rehearsal.asked import Planted

ANODES, SECONDARY = "anodes", "secondary"

_STEMS = {ANODES: ("anode", "plate", "primar"), SECONDARY: ("secondar",)}


def turned_over(circuit: Circuit, exchanged: tuple[tuple[str, str], ...]) -> Circuit:
    """The circuit with those leads of its output transformers exchanged, screen taps with them."""
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


def leads_named(build: Build, said: str) -> tuple[tuple[str, str], ...]:
    """Output transformers and their leads that words name, such as "T2 anodes" or "the secondary ends of T2"."""
    words = re.findall(r"\w+", said.casefold())
    parts = [part for part in build.output_transformer if part.casefold() in words]
    named = [leads for leads, stems in _STEMS.items() if any(word.startswith(stems) for word in words)]
    return tuple((part, leads) for part in parts for leads in named)


def leads_exchanged(build: Build, said: str) -> bool:
    """Do words, typed as a cause that was found, say that such leads were exchanged?"""
    return bool(leads_named(build, said)) and re.search(r"exchang|swap|revers|wrong way", said.casefold()) is not None
