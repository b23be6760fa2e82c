"""What each wire stands and carries: volts of every node and amperes of every end, over all stages."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isfinite, sqrt

from benchtui.assemble.valves import known_type, sections
from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build, Valve
from benchtui.buildfile.stages import stages
from benchtui.circuit.elements import CHASSIS
from benchtui.circuit.operating import Operating
from benchtui.forecast.results import Loads
from benchtui.forecast.review_state import first, stage_states


def conductors(build: Build) -> Loads:
    """What the wires of the build carry, hot and at switch-on with cold cathodes, at the highest mains."""
    volts: dict[str, float] = {}
    peaks: dict[str, float] = {}
    amps: dict[tuple[str, str], float] = dict(_rated(build))
    for found in _states(build):
        for node in found.system.network.nodes:
            mean, ripple = first(found.dc(node, CHASSIS)), first(found.ac_pp(node, CHASSIS))
            if isfinite(mean):
                volts[node] = max(mean, volts.get(node, 0.0), key=abs)
            peak = abs(mean) + 0.5 * ripple
            if isfinite(peak):
                peaks[node] = max(peak, peaks.get(node, 0.0))
        for end, carried in _carried(build, found):
            if isfinite(carried):
                amps[end] = max(carried, amps.get(end, 0.0))
    return Loads(volts, peaks, amps)


def _states(build: Build) -> Iterator[Operating]:
    for info in stages(build):
        states = stage_states(build, info.id) if info.kind == "power" else None
        if states is not None:
            yield from (found for _, found in states.at_high_mains)


def _rated(build: Build) -> Iterator[tuple[tuple[str, str], float]]:
    """Ends whose current is a rating: heaters, and loudspeaker windings at their rated output."""
    for id, valve in build.valve.items():
        found = known_type(valve.type)
        if found is not None and found.heater is not None:
            yield from (((id, node), found.heater.amps) for node in _heater_nodes(valve, found.pins))
    for id, part in build.output_transformer.items():
        amps = sqrt(part.watts / part.load) if part.watts else 0.0
        yield from (((id, node), amps) for node in part.secondary)


def _heater_nodes(valve: Valve, pins: Mapping[str, str]) -> set[str]:
    """Nodes of its heater, a tap apart: with both halves side by side it carries what comes in at both ends."""
    labels = {pin: pins.get(pin, pin) for pin in valve.pins}
    return {valve.pins[pin] for pin, label in labels.items() if "heater" in label or "filament" in label}


def _carried(build: Build, found: Operating) -> Iterator[tuple[tuple[str, str], float]]:
    """Rms amperes at each end of a solved circuit; of valves the mean."""
    net = found.system.network
    present = {*net.linear_names, *net.rectifier_names}
    for listed in parts(build):
        nodes = getattr(listed.part, "nodes", ())
        if listed.id in present and len(nodes) == 2:
            owner = str(listed.path[1])
            yield from (((owner, node), first(found.rms(listed.id))) for node in nodes)
    for section in sections(build):
        if section.id in net.device_names:
            point = found.valve(section.id)
            flows = {"anode": point.anode_a, "screen": point.screen_a, "cathode": point.cathode_a}
            yield from (
                ((section.valve, section.nodes[name]), first(flow))
                for name, flow in flows.items()
                if name in section.nodes
            )
        elif section.id in present:
            yield from (((section.valve, node), first(found.rms(section.id))) for node in section.nodes.values())
