"""The wire list: every wire of the build in the order of wiring, with what it must be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isnan, nan, sqrt

from benchtui.buildfile.models import Build
from benchtui.forecast.results import Loads
from benchtui.parts import wire as copper
from benchtui.parts import wiring as sold
from benchtui.wiring.ends import CHASSIS, HEATERS, ends, place_of_stage
from benchtui.wiring.joins import Join, joins
from benchtui.wiring.lengths import length_m
from benchtui.wiring.use import mains_nodes, neutral_nodes, use


@dataclass(frozen=True)
class Wire:
    """One wire. Lengths in metres (`measured` false: assumed), volts and amperes in SI; `id` stays as long as its ends
    do. `gauge` and `insulation_v` are None where no usual wire does.
    """

    id: str
    stage: str
    node: str
    start: str
    finish: str
    use: sold.Use
    lead: bool
    colour: str
    peak_v: float
    amps: float
    length_m: float
    measured: bool
    gauge: sold.Gauge | None
    drop_v: float
    insulation_v: float | None


def wires(build: Build, loads: Loads) -> tuple[Wire, ...]:
    """Every wire, by stage and then in the order of wiring: earth, mains, heaters, returns, HT, then the rest.

    Wires that go the same way, such as both of a heater pair, come one after the other.
    """
    place = place_of_stage(build)
    found = [(join, _wire(build, join, loads)) for join in joins(build)]
    ways = list(dict.fromkeys(join.homes for join, _ in found))
    found.sort(
        key=lambda each: (
            place.get(each[1].stage, 0),
            each[1].use.turn,
            each[1].lead and each[1].use.name == "mains",  # the way of the current: inlet, fuse, switch, primary
            ways.index(each[0].homes),
        )
    )
    return tuple(wire for _, wire in found)


def _wire(build: Build, join: Join, loads: Loads) -> Wire:
    purpose = use(build, join)
    length = length_m(build, *join.homes)
    metres = sold.assumed_m() if length is None else length
    amps = _amps(build, join, purpose, loads)
    ohm_per_m = None
    if purpose.name == "heater" and amps > 0.0 and (heater_v := _heater_v(build, join.node)):
        ohm_per_m = sold.heater_drop() * heater_v / (2.0 * metres * amps)
    chosen = sold.gauge(amps, purpose.least_mm2, ohm_per_m=ohm_per_m)
    drop = 0.0 if chosen is None else metres * copper.ohm_per_m(chosen.area_mm2 * 1e-6) * amps
    peak = _peak_v(build, join, loads)
    return Wire(
        join.id, join.stage, join.node, join.start, join.finish, purpose, join.lead, _colour(build, join, purpose),
        peak, amps, metres, length is not None, chosen, drop, sold.insulation_v(peak),
    )  # fmt: skip


def _colour(build: Build, join: Join, purpose: sold.Use) -> str:
    line, neutral, earth = sold.mains_colours(build.mains.volts)
    if purpose.name == "earth":
        return earth
    if purpose.name != "mains":
        return purpose.colour
    return neutral if join.node in neutral_nodes(build) else line


def _peak_v(build: Build, join: Join, loads: Loads) -> float:
    """The largest volts to chassis. A winding's end counts with its other end's, for when its fuse is out; an output
    anode with twice its mean, to which it swings at full drive (common practice: the transformer keeps the mean), a
    screen tap with its share of that. NaN where a node was never solved: unknown volts are no low volts.
    """
    node = join.node
    if node in mains_nodes(build) or node == build.mains.earth:
        return sqrt(2.0) * build.mains.volts * (1.0 + build.mains.spread)
    windings = [w for each in build.transformer.values() for w in each.windings.values() if node in w.nodes]
    nodes = {node, *(other for winding in windings for other in winding.nodes)} if node != CHASSIS else {node}
    driven = (1.0 + _swing(build, node)) * abs(loads.volts.get(node, 0.0))
    known = [0.0 if each == CHASSIS else loads.peak_v.get(each, nan) for each in nodes]
    return nan if any(isnan(volts) for volts in known) else max(driven, *known)


def _swing(build: Build, node: str) -> float:
    """How far over its mean a node of an output transformer's primary goes, as a share of the mean."""
    for part in build.output_transformer.values():
        if node in part.anodes:
            return 1.0
        if part.screen_taps and node in part.screen_taps.nodes:
            return part.screen_taps.share
    return 0.0


def _amps(build: Build, join: Join, purpose: sold.Use, loads: Loads) -> float:
    """Rms amperes at most: on the mains side what its fuse is rated for, to the star point what hangs on the wire, in
    a chain of heaters half of all that meets there, since what comes in goes out again; else the largest at the node.
    """
    if join.node in mains_nodes(build) or purpose.name in ("earth", "reference"):  # with a fault these carry it
        return max((fuse.amps for fuse in build.fuse.values() if mains_nodes(build) & set(fuse.nodes)), default=0.0)
    if join.node == CHASSIS:
        return sum(loads.amps.get((end.part, CHASSIS), 0.0) for end in join.beyond)
    if join.link:
        return min(_most(loads.amps, node, frozenset()) for node in build.link[join.link].nodes)
    heating = frozenset(end.part for end in ends(build) if end.node == join.node and end.role in HEATERS)
    if purpose.name == "heater" and heating:
        # all wires of a chain are as thick as the first
        return 0.5 * sum(amps for (_, node), amps in loads.amps.items() if node == join.node)
    return _most(loads.amps, join.node, frozenset((*heating, *build.transformer)) if heating else frozenset())


def _most(amps: Mapping[tuple[str, str], float], node: str, without: frozenset[str]) -> float:
    return max((a for (part, at), a in amps.items() if at == node and part not in without), default=0.0)


def _heater_v(build: Build, node: str) -> float | None:
    """Volts of the winding that heats at this node."""
    for transformer in build.transformer.values():
        for winding in transformer.windings.values():
            if node in winding.nodes:
                return winding.volts or winding.emf
    return None
