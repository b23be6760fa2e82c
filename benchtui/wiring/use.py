"""What each wire is for, by what is at its node."""

from __future__ import annotations

from functools import lru_cache

from benchtui.buildfile.joints import Joints
from benchtui.buildfile.models import Build
from benchtui.parts.wiring import Use, uses
from benchtui.wiring.ends import CHASSIS, HEATERS, ends
from benchtui.wiring.joins import Join

#: Below this a node carries a signal or a bias, above it HT: common practice, no source.
_HT_V = 60.0
_NEGATIVE_V = -2.0


def use(build: Build, join: Join, volts: float) -> Use:
    """The use of a wire whose node is at mean `volts` to chassis, the largest in size of all stages."""
    return uses()[_by_link(build, join) or _by_ends(build, join) or _by_volts(build, join.node, volts)]


def _by_link(build: Build, join: Join) -> str:
    if join.node == CHASSIS or join.homes[1] == "star point":
        return "return"
    if join.link and build.mains.earth in build.link[join.link].nodes:
        return "earth"
    return "feedback" if join.link and build.link[join.link].feedback else ""


def _by_ends(build: Build, join: Join) -> str:
    node = join.node
    if node in mains_nodes(build):
        return "mains"
    electrodes = {end.electrode for end in ends(build) if end.node == node}
    within = {*build.transformer, *build.valve}
    if electrodes & set(HEATERS) and set(join.homes) <= within:
        return "heater"
    if "secondary" in electrodes:
        return "loudspeaker"
    if "winding" in electrodes and not electrodes & set(HEATERS):
        return "winding"
    if node in _input_nodes(build):
        return "input"
    if "rail" in electrodes or any(node in choke.nodes for choke in build.choke.values()):
        return "ht"
    return next((name for name in ("anode", "screen", "grid", "cathode") if any(name in e for e in electrodes)), "")


def _by_volts(build: Build, node: str, volts: float) -> str:
    if volts < _NEGATIVE_V:
        return "negative"
    if volts > _HT_V:
        return "ht"
    return "grid" if _before_a_grid(build, node) else "other"


def _before_a_grid(build: Build, node: str) -> bool:
    """Is a grid behind a resistor at this node?"""
    grids = {end.node for end in ends(build) if "grid" in end.electrode}
    return any(node in part.nodes and grids & set(part.nodes) for part in build.resistor.values())


@lru_cache(maxsize=16)
def mains_nodes(build: Build) -> frozenset[str]:
    """Nodes of line and neutral from the inlet to the primaries."""
    joints = Joints()
    for table in ("fuse", "switch", "thermistor"):
        for part in getattr(build, table).values():
            if CHASSIS not in part.nodes:
                joints.join(*part.nodes)
    lines = [*(build.mains.nodes or ())]
    lines += [node for each in build.transformer.values() for node in each.primary.nodes or ()]
    roots = {joints.root(node) for node in lines}
    return frozenset(end.node for end in ends(build) if joints.root(end.node) in roots and end.node != CHASSIS)


@lru_cache(maxsize=16)
def _input_nodes(build: Build) -> frozenset[str]:
    """Nodes of the input and of the volume control behind it."""
    found = {part.nodes[0] for part in build.input.values()}
    for pot in build.pot.values():
        if found & set(pot.nodes):
            found |= set(pot.nodes)
    return frozenset(found - {CHASSIS})
