"""Joints: every node is joined by two parts, every part bridges two nodes, and all of it finds chassis."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from benchtui.buildfile.inventory import Listed, parts
from benchtui.buildfile.joints import Joints
from benchtui.buildfile.models import (
    Build,
    Capacitor,
    Diode,
    Fet,
    Fuse,
    Input,
    OutputTransformer,
    Part,
    Pot,
    Switch,
    Transistor,
    Valve,
    Winding,
    Zener,
)
from benchtui.buildfile.problems import Finding, Path, shown, suggestion
from benchtui.buildfile.stages import fitted, stages

CHASSIS = "0"

#: Capacitors that can hold a charge worth a bleeder (own decision, wider than the gate's reservoirs).
_HELD_V = 50.0
_HELD_F = 1e-6

_NO_DIRECT_PATH = (Capacitor,)
_NO_PATH_WHEN_COLD = (Capacitor, Input, Valve)
_NO_SURE_PATH = (Capacitor, Input, Valve, Fuse, Switch, Diode, Zener, Transistor, Fet)


@dataclass(frozen=True)
class End:
    """One end of a part: where it is written, and the node it is at."""

    owner: str
    path: Path
    node: str


def check(build: Build) -> Iterator[Finding]:
    """Findings about nodes."""
    ends = list(_ends(build))
    yield from _dangling(build, ends)
    yield from _short_circuited(build)
    yield from _zero_ohm_loops(build)
    yield from _probes(build, {end.node for end in ends} | {CHASSIS})
    yield from _without_chassis(build, Counter(end.node for end in ends))
    yield from _undischarged(build)
    yield from _not_yet_there(build)


def groups(part: Part) -> tuple[tuple[str, ...], ...]:
    """The nodes that a part joins, in groups with a path for direct current inside each.

    A valve is one group, which flatters: which pins are which electrode is not known here.
    """
    if isinstance(part, OutputTransformer):
        taps = part.screen_taps.nodes if part.screen_taps else ()
        return (*part.anodes, part.ht, *taps), part.secondary
    if isinstance(part, Valve):
        return (tuple(part.pins.values()),)
    return (part.nodes,)


def _ends(build: Build) -> Iterator[End]:
    for listed in parts(build):
        part, path = listed.part, listed.path
        if isinstance(part, Valve):
            yield from (End(listed.id, (*path, "pins", pin), node) for pin, node in part.pins.items())
        elif isinstance(part, OutputTransformer):
            yield from _indexed(listed.id, (*path, "anodes"), part.anodes)
            yield End(listed.id, (*path, "ht"), part.ht)
            yield from _indexed(listed.id, (*path, "secondary"), part.secondary)
            if part.screen_taps:
                yield from _indexed(listed.id, (*path, "screen_taps", "nodes"), part.screen_taps.nodes)
        else:
            yield from _indexed(listed.id, (*path, "nodes"), part.nodes)
    for key, transformer in build.transformer.items():
        yield from _indexed(key, ("transformer", key, "primary", "nodes"), transformer.primary.nodes or ())
    yield from _indexed("mains", ("mains", "nodes"), build.mains.nodes or ())
    if build.mains.earth is not None:
        yield End("mains", ("mains", "earth"), build.mains.earth)


def _indexed(owner: str, path: Path, nodes: Iterable[str]) -> Iterator[End]:
    for number, node in enumerate(nodes):
        yield End(owner, (*path, number), node)


def _dangling(build: Build, ends: list[End]) -> Iterator[Finding]:
    owners: dict[str, set[str]] = defaultdict(set)
    for end in ends:
        owners[end.node].add(end.owner)
    # The mains side may be described in part only: an inlet or a primary is an end in its own right.
    outside = {"mains", *build.transformer}
    loose = {node for node, at in owners.items() if len(at) == 1 and node != CHASSIS and not at & outside}
    unused = {key for key, winding in _windings(build) if set(winding.nodes) <= loose}
    for end in ends:
        if end.node in loose and end.owner not in unused:
            others = (node for node in owners if node != end.node)
            right = f"a second part is wanted there; {suggestion(end.node, others)}"
            yield Finding(end.path, f"is touched by {end.owner} alone", right, shown(end.node))
        elif end.node in loose and end.path[-1] == 0:
            right = "insulate both its ends"
            yield Finding(end.path[:-2], "is a winding that nothing is joined to", right, odd=True)


def _windings(build: Build) -> Iterator[tuple[str, Winding]]:
    for transformer in build.transformer.values():
        yield from transformer.windings.items()


def _is_unused(item: Listed, ends: Counter[str]) -> bool:
    """Whether `item` is a winding that nothing is joined to."""
    return isinstance(item.part, Winding) and all(ends[node] == 1 for node in item.part.nodes)


def _short_circuited(build: Build) -> Iterator[Finding]:
    for listed in parts(build):
        for field, first, second in _terminals(listed.part):
            if first == second:
                path = (*listed.path, field)
                yield Finding(path, "has both ends on one node", "two nodes are wanted", shown(first))
    for key, transformer in build.transformer.items():
        nodes = transformer.primary.nodes
        if nodes and nodes[0] == nodes[1]:
            path = ("transformer", key, "primary", "nodes")
            yield Finding(path, "has both ends on one node", "two nodes are wanted", shown(nodes[0]))


def _terminals(part: Part) -> Iterator[tuple[str, str, str]]:
    if isinstance(part, Valve):
        return
    if isinstance(part, OutputTransformer):
        yield "secondary", *part.secondary
        yield from (("anodes", anode, part.ht) for anode in part.anodes)
        if len(part.anodes) == 2:
            yield "anodes", *part.anodes
    elif isinstance(part, (Pot, Transistor, Fet)):
        yield "nodes", part.nodes[0], part.nodes[2]
    else:
        yield "nodes", *part.nodes


def _zero_ohm_loops(build: Build) -> Iterator[Finding]:
    joints = Joints()
    for key, link in build.link.items():
        if link.value == 0 and link.nodes[0] != link.nodes[1] and not joints.join(*link.nodes):
            right = "leave one out, or give it its ohms"
            yield Finding(("link", key), "closes a loop of links with no resistance", right)


def _probes(build: Build, known: set[str]) -> Iterator[Finding]:
    for key, point in build.point.items():
        for field in ("red", "black"):
            node = getattr(point, field)
            if node not in known:
                yield Finding(("point", key, field), "is no node", suggestion(node, known), shown(node))
        if point.red == point.black:
            yield Finding(("point", key), "has both probes on one node", "two nodes are wanted", shown(point.red))
    for number, node in enumerate(build.gate.clip_between or ()):
        if node not in known:
            path = ("gate", "clip_between", number)
            yield Finding(path, "is no node", suggestion(node, known), shown(node))


def _joined(listed: Iterable[Listed], without: tuple[type[Part], ...]) -> Joints:
    joints = Joints()
    for item in listed:
        if not isinstance(item.part, without):
            for group in groups(item.part):
                joints.join(*group)
    return joints


def _without_chassis(build: Build, ends: Counter[str]) -> Iterator[Finding]:
    """Nodes that nothing ties to chassis, one finding for all that hang together."""
    listed = [item for item in parts(build) if not _is_unused(item, ends)]
    at_all, when_cold = _joined(listed, _NO_DIRECT_PATH), _joined(listed, _NO_PATH_WHEN_COLD)
    mains = [*(build.mains.nodes or ()), *((build.mains.earth,) if build.mains.earth else ())]
    for transformer in build.transformer.values():
        mains.extend(transformer.primary.nodes or ())
        when_cold.join(*(transformer.primary.nodes or ()))
        at_all.join(*(transformer.primary.nodes or ()))
    held = {joints: {joints.root(node) for node in (CHASSIS, *mains)} for joints in (at_all, when_cold)}
    for item in listed:
        for node in dict.fromkeys(node for group in groups(item.part) for node in group):
            for joints, odd in ((at_all, False), (when_cold, True)):
                if joints.root(node) not in held[joints]:
                    held[joints].add(joints.root(node))
                    held[when_cold].add(when_cold.root(node))
                    yield _floating(item, node, odd=odd)


def _floating(item: Listed, node: str, *, odd: bool) -> Finding:
    if odd:
        wrong = f"is at node {node}, which only valves or capacitors tie to chassis"
        return Finding(item.path, wrong, "a resistor, winding or link is usual (a grid leak, a bleeder)", odd=True)
    return Finding(item.path, f"is at node {node}, which has no way to chassis", "a part that leads there is wanted")


def _undischarged(build: Build) -> Iterator[Finding]:
    """Capacitors that nothing discharges when the valves are cold; fuses and switches may open."""
    joints = _joined(parts(build), _NO_SURE_PATH)
    for key, capacitor in build.capacitor.items():
        holds = capacitor.volts >= _HELD_V and capacitor.value >= _HELD_F
        if holds and joints.root(capacitor.nodes[0]) != joints.root(capacitor.nodes[1]):
            wrong = "stays charged when the valves are cold: no resistor is across it"
            yield Finding(("capacitor", key), wrong, "a bleeder is wanted", odd=True)
    rectified = build.diode or build.valve
    if rectified and _windings(build) and not any(c.value >= _HELD_F for c in build.capacitor.values()):
        yield Finding(("capacitor",), "holds no reservoir", "a supply has one of 1 uF or more", odd=True)


def _not_yet_there(build: Build) -> Iterator[Finding]:
    """Points read under power in a stage that has not yet fitted anything at their nodes."""
    listed = list(parts(build))
    for stage in stages(build):
        if stage.kind != "power":
            continue
        there = fitted(build, stage.id)
        nodes = {node for item in listed if item.id in there for group in groups(item.part) for node in group}
        for key, point in build.point.items():
            missing = {point.red, point.black} - nodes - {CHASSIS}
            if stage.id in point.stages and missing:
                path = ("point", key, "stages", point.stages.index(stage.id))
                wrong = f"can't be read yet: nothing is fitted at {', '.join(sorted(missing))}"
                yield Finding(path, wrong, "it is left out there", shown(stage.id), odd=True)
