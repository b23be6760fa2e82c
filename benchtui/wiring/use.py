"""What each wire is for, by what is at its node."""

from __future__ import annotations

from functools import lru_cache

from benchtui.assemble.valves import rectifier_valves
from benchtui.buildfile.joints import joined_by
from benchtui.buildfile.models import Build
from benchtui.parts.wiring import Use, uses
from benchtui.wiring.ends import CHASSIS, HEATERS, ends
from benchtui.wiring.joins import Join
from benchtui.wiring.spots import STAR


def use(build: Build, join: Join) -> Use:
    """The use of a wire."""
    return uses()[_by_link(build, join) or _by_ends(build, join) or _by_way(build, join.node)]


def _by_link(build: Build, join: Join) -> str:
    if join.homes[0] == STAR:
        return "reference"
    if join.node == CHASSIS or join.homes[1] == STAR:
        return "return"
    if join.link and build.mains.earth in build.link[join.link].nodes:
        return "earth"
    return "feedback" if join.link and build.link[join.link].feedback else ""


def _by_ends(build: Build, join: Join) -> str:
    node = join.node
    if node in mains_nodes(build):
        return "mains"
    electrodes = {end.role for end in ends(build) if end.node == node}
    within = {*build.transformer, *build.valve}
    if electrodes & set(HEATERS) and (set(join.homes) <= within or node not in _rails(build)):
        return "heater"
    if node in _heater_taps(build):
        return "heater"
    if "secondary" in electrodes:
        return "loudspeaker"
    if node in _winding_nodes(build) - _rails(build) and not electrodes & set(HEATERS):
        return "winding"
    if node in _input_nodes(build):
        return "input"
    if node in _rails(build):
        return "ht"
    return next((name for name in ("anode", "screen", "grid", "cathode") if any(name in e for e in electrodes)), "")


def _by_way(build: Build, node: str) -> str:
    """What a node without any electrode is for, by where its resistors lead."""
    if _before_a_grid(build, node):
        return "grid"
    if node in _through_resistors(build, _bias_nodes(build)):
        return "negative"
    return "ht" if node in _through_resistors(build, _rails(build)) else "other"


def _bias_nodes(build: Build) -> frozenset[str]:
    """Nodes of the pots that set a bias."""
    return frozenset(n for each in build.adjust.values() for n in build.pot[each.pot].nodes if n != CHASSIS)


@lru_cache(maxsize=16)
def _rails(build: Build) -> frozenset[str]:
    """Nodes that carry the HT: at a choke, a rectifier valve's cathode or filament, an output transformer's HT end, and
    what fuses and switches join to these.
    """
    found = {node for choke in build.choke.values() for node in choke.nodes}
    found |= {part.ht for part in build.output_transformer.values()}
    for ref, known in rectifier_valves(build).items():
        pins = build.valve[ref].pins.items()
        found |= {
            node for pin, node in pins if any(name in known.pins.get(pin, pin) for name in ("cathode", "filament"))
        }
    found -= {CHASSIS}
    joints = joined_by(build, ("fuse", "switch"), apart=(CHASSIS,))
    roots = {joints.root(node) for node in found}
    return frozenset(end.node for end in ends(build) if joints.root(end.node) in roots) - mains_nodes(build) - {CHASSIS}


@lru_cache(maxsize=32)
def _through_resistors(build: Build, start: frozenset[str]) -> frozenset[str]:
    """Nodes that resistors join with those of `start`, by ways that pass neither the chassis nor an electrode."""
    ends_at = {end.node for end in ends(build) if end.kind == "tag" and not end.role.isdigit()}
    found, waiting = set(start), list(start)
    while waiting:
        node = waiting.pop()
        if node in ends_at and node not in start:
            continue
        for part in build.resistor.values():
            if node in part.nodes:
                further = set(part.nodes) - found - {CHASSIS}
                found |= further
                waiting += further
    return frozenset(found)


def _before_a_grid(build: Build, node: str) -> bool:
    """Is a grid behind a resistor at this node?"""
    grids = {end.node for end in ends(build) if "grid" in end.role}
    return any(node in part.nodes and grids & set(part.nodes) for part in build.resistor.values())


@lru_cache(maxsize=16)
def mains_nodes(build: Build) -> frozenset[str]:
    """Nodes of line and neutral from the inlet to the primaries, and behind resistors and capacitors there, such as
    those of a neon lamp, a snubber or a filter.
    """
    primaries = (node for each in build.transformer.values() for node in each.primary.nodes or ())
    return _carried_on(build, (*_IN_LINE, "resistor", "capacitor"), *(build.mains.nodes or ()), *primaries)


@lru_cache(maxsize=16)
def neutral_nodes(build: Build) -> frozenset[str]:
    """Nodes on the neutral's side, up to the primary; what hangs between both may be at the line's volts."""
    return _carried_on(build, _IN_LINE, *(build.mains.nodes or ())[1:])


#: What stands in a line of the mains.
_IN_LINE = ("fuse", "switch", "thermistor", "choke")


def _carried_on(build: Build, tables: tuple[str, ...], *lines: str) -> frozenset[str]:
    """Nodes that parts of these tables join with `lines`, earth apart."""
    joints = joined_by(build, tables, apart=(CHASSIS, *filter(None, (build.mains.earth,))))
    roots = {joints.root(node) for node in lines}
    return frozenset(end.node for end in ends(build) if joints.root(end.node) in roots and end.node != CHASSIS)


@lru_cache(maxsize=16)
def _heater_taps(build: Build) -> frozenset[str]:
    """Middles of tapped heater windings: at their other ends are heaters."""
    heated = {end.node for end in ends(build) if end.role in HEATERS}
    windings = [w.nodes for each in build.transformer.values() for w in each.windings.values()]
    middles = {node for nodes in windings for node in nodes if sum(node in other for other in windings) == 2}
    far = {node: {n for nodes in windings if node in nodes for n in nodes} - {node} for node in middles}
    return frozenset(node for node in middles - heated - {CHASSIS} if far[node] <= heated)


@lru_cache(maxsize=16)
def _winding_nodes(build: Build) -> frozenset[str]:
    """Nodes of mains transformers' windings, also behind a fuse."""
    found = {end.node for end in ends(build) if end.role == "winding"} - {CHASSIS}
    fused = (set(part.nodes) for part in build.fuse.values())
    return frozenset(found.union(*(nodes for nodes in fused if nodes & found)) - {CHASSIS})


@lru_cache(maxsize=16)
def _input_nodes(build: Build) -> frozenset[str]:
    """Nodes of the input and of the volume control behind it."""
    found = {part.nodes[0] for part in build.input.values()}
    for pot in build.pot.values():
        if found & set(pot.nodes):
            found |= set(pot.nodes)
    return frozenset(found - {CHASSIS})
