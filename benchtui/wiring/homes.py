"""Where loose parts sit: each beside the mounted part that its wires reach best."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from functools import lru_cache

from benchtui.buildfile.models import Build
from benchtui.wiring.ends import CHASSIS, HEATERS, End, ends


@lru_cache(maxsize=16)
def homes(build: Build) -> Mapping[str, str]:
    """Loose part = the mounted part beside which it is soldered; a part that reaches none has its own name.

    A resistor or capacitor hangs at a valve's electrode if it touches one, else at another tag, else at a lead's end;
    a part that touches only loose ones goes where most of them are. Common practice, no source: short leads at grids,
    anodes and cathodes.
    """
    everything = ends(build)
    mounted = [end for end in everything if end.kind != "loose" and end.node != CHASSIS]
    loose: dict[str, list[str]] = {}
    for end in everything:
        if end.kind == "loose" and end.node != CHASSIS:
            loose.setdefault(end.part, []).append(end.node)
    found = {part: best.part for part, nodes in loose.items() if (best := _best(mounted, nodes)) is not None}
    found |= _bridges(build)
    while further := _beside(loose, found):
        found |= further
    every = (end.part for end in everything if end.kind == "loose")
    return {part: found.get(part, part) for part in every}


def _bridges(build: Build) -> dict[str, str]:
    """Diodes that hang together sit together: each has the name of the first as its home."""
    first: dict[str, str] = {}
    for id, diode in build.diode.items():
        beside = next((other for other in first if set(build.diode[other].nodes) & set(diode.nodes) - {CHASSIS}), id)
        first[id] = first.get(beside, id)
    counted = Counter(first.values())
    return {id: home for id, home in first.items() if counted[home] > 1}


def _best(mounted: list[End], nodes: list[str]) -> End | None:
    reached = [end for end in mounted if end.node in nodes]
    return max(reached, key=_nearness, default=None)


def _nearness(end: End) -> int:
    if end.kind == "lead":
        return 2 if end.role.isdigit() else 0  # a choke has parts beside it, a transformer's leads go far
    if end.role in HEATERS:
        return 1
    return 3 if end.role.isdigit() else 4


def _beside(loose: Mapping[str, list[str]], found: Mapping[str, str]) -> dict[str, str]:
    """Homes of further parts: where most of the loose parts are that share a node with them."""
    at: dict[str, Counter[str]] = {}
    for part, home in found.items():
        for node in loose[part]:
            at.setdefault(node, Counter())[home] += 1
    further = {}
    for part, nodes in loose.items():
        counted = sum((at.get(node, Counter()) for node in nodes), Counter())
        if part not in found and counted:
            further[part] = counted.most_common(1)[0][0]
    return further
