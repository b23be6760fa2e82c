"""Rules of the review for valves: dissipation, electrode and heater volts, grids."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from benchtui.assemble.valves import Rating, Section, heaters, sections
from benchtui.circuit.elements import CHASSIS
from benchtui.circuit.operating import Operating, ValvePoint
from benchtui.circuit.resistance import resistance
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import StageStates, first, of_limit, severity_of
from benchtui.forecast.rules_bias import FIXED_BIAS_OHM
from benchtui.parts.guide import guide, spread
from benchtui.quantities.show import show


def dissipation(states: StageStates) -> Iterator[Finding]:
    for section in _amplifying(states):
        for name, quantity in (("anode_w", "anode"), ("screen_w", "screen")):
            yield from _against(
                states, section, name, f"{quantity} dissipation", lambda valve, key=name: getattr(valve, key)
            )


def electrode_volts(states: StageStates) -> Iterator[Finding]:
    for section in _amplifying(states):
        yield from _against(states, section, "anode_v", "anode volts to cathode", lambda valve: valve.anode_v)
        if "screen" in section.nodes:
            yield from _against(states, section, "screen_v", "screen volts to cathode", lambda valve: valve.screen_v)


def cathode_current(states: StageStates) -> Iterator[Finding]:
    for section in _amplifying(states):
        yield from _against(states, section, "cathode_a", "cathode current", lambda valve: valve.cathode_a)


def heater_volts(states: StageStates) -> Iterator[Finding]:
    wanted, limit = spread("heater.wanted")[1], spread("heater.limit")[1]
    for heater in heaters(states.build):
        if heater.id not in states.rated.system.network.linear_names:
            continue
        volts = first(states.rated.ac_rms(heater.a, heater.b))
        off = volts / heater.rated_v - 1.0
        if not np.isfinite(volts) or volts < 1e-6:
            continue
        away = f"{100 * off:+.1f} % from {show(heater.rated_v, 'V')}"
        text = f"heater of {heater.valve} at rated mains: {show(volts, 'V', 3)}, {away}"
        if abs(off) > wanted:
            severity = "stop" if abs(off) > limit else "warn"
            yield states.find(
                severity,
                heater.valve,
                "heater-volts",
                text,
                volts,
                heater.rated_v,
                guide("heater.wanted").source,
            )


def heater_cathode_volts(states: StageStates) -> Iterator[Finding]:
    heater_node = {heater.valve: heater.a for heater in heaters(states.build)}
    for section in sections(states.build):
        rating = section.ratings.get("heater_cathode_v")
        node = heater_node.get(section.valve)
        cathode = section.nodes["cathode"]
        if rating is None or node is None or not _present(states, section, node):
            continue
        if first(states.rated.ac_rms(cathode, node)) > 0 and same_circuit(states, section):
            continue
        for when, found in (("hot at rated mains", states.rated), *states.at_high_mains):
            volts = abs(first(found.dc(cathode, node)))
            if np.isfinite(volts) and volts > rating.value:
                text = f"{section.id}, {when}: heater to cathode {of_limit(volts, rating.value, 'V')}"
                severity = "stop" if rating.confidence == "high" and volts > rating.ceiling else "warn"
                yield states.find(
                    severity, section.id, "heater-cathode-volts", text, volts, rating.value, rating.source
                )


def floating_heaters(states: StageStates) -> Iterator[Finding]:
    """A heater near a cathode has a path to chassis, or nobody can tell what stands between the two."""
    circuit = states.rated.circuit
    floating: dict[str, list[str]] = {}
    for heater in heaters(states.build):
        own = (section for section in sections(states.build) if section.valve == heater.valve)
        apart = any(_apart_from_heater(states, section, heater.a) for section in own)
        if apart and not np.isfinite(first(resistance(circuit, heater.a, CHASSIS))):
            valves = floating.setdefault(_fed_by(states, heater.a) or heater.valve, [])
            valves.extend({heater.valve} - set(valves))
    for supply, valves in floating.items():
        text = (
            f"the heaters of {', '.join(valves)} float: no direct path leads from {supply} to chassis, so their volts "
            "to the cathodes are anyone's guess; join the winding's centre tap, or the middle of two resistors of "
            "about 100 ohm across it, to chassis or to an elevating divider"
        )
        yield states.find("warn", supply, "heater-floats", text, None, None, "common practice, no source")


def _apart_from_heater(states: StageStates, section: Section, node: str) -> bool:
    """Whether the section works in this stage and its cathode is not part of its heater."""
    return _present(states, section, node) and not same_circuit(states, section)


def _fed_by(states: StageStates, node: str) -> str | None:
    """The winding that `node` hangs on."""
    circuit, nodes = states.rated.circuit, states.rated.system.network.nodes
    for transformer in states.build.transformer.values():
        for name, winding in transformer.windings.items():
            end = winding.nodes[0]
            if end == node or (end in nodes and np.isfinite(first(resistance(circuit, node, end)))):
                return name
    return None


def cold_grid(states: StageStates) -> Iterator[Finding]:
    limit = guide("grid.cold_v")
    for section in _amplifying(states):
        grid, cathode = section.nodes["grid"], section.nodes["cathode"]
        volts = first(states.cold.dc(grid, CHASSIS)) - first(np.nan_to_num(states.cold.dc(cathode, CHASSIS)))
        if volts > limit.value:
            text = f"{section.id}: at switch-on its grid stands {show(volts, 'V', 3)} above its cold cathode"
            yield states.find("warn", section.id, "cold-grid", text, volts, limit.value, limit.source)


def grid_leaks(states: StageStates) -> Iterator[Finding]:
    for section in _amplifying(states):
        grid, cathode = section.nodes["grid"], section.nodes["cathode"]
        fixed = first(resistance(states.rated.circuit, cathode, CHASSIS)) < FIXED_BIAS_OHM
        rating = section.ratings.get("grid_leak_fixed_ohm" if fixed else "grid_leak_cathode_ohm")
        ohms = first(resistance(states.rated.circuit, grid, CHASSIS))
        if not np.isfinite(ohms):
            text = f"{section.id}: its grid has no path to chassis in this stage"
            yield states.find("warn", section.id, "grid-leak", text, None, None, "common practice, no source")
        elif rating is not None and ohms > 1.01 * rating.value:
            bias = "fixed" if fixed else "cathode"
            text = f"{section.id}: grid leak {of_limit(ohms, rating.value, 'ohm')} allowed with {bias} bias"
            severity = "note" if rating.confidence == "low" else "warn"
            yield states.find(severity, section.id, "grid-leak", text, ohms, rating.value, rating.source)


def _amplifying(states: StageStates) -> Iterator[Section]:
    names = states.rated.system.network.valve_names
    return (section for section in sections(states.build) if section.id in names)


def _present(states: StageStates, section: Section, node: str) -> bool:
    network = states.rated.system.network
    return node in network.nodes and section.id in (*network.valve_names, *network.rectifier_names)


def same_circuit(states: StageStates, section: Section) -> bool:
    """A directly heated valve, or one whose cathode hangs on its heater, has no volts between the two."""
    own = {node for heater in heaters(states.build) if heater.valve == section.valve for node in (heater.a, heater.b)}
    return section.nodes["cathode"] in own


def _against(states: StageStates, section: Section, name: str, what: str, value_of) -> Iterator[Finding]:
    rating: Rating | None = section.ratings.get(name)
    if rating is None:
        return
    rated, high = (
        first(value_of(_point(states.rated, section))),
        first(value_of(_point(states.high, section))),
    )
    severity = severity_of(rating, rated, high)
    if severity is not None:
        system = f"{rating.system} rating" if rating.system else "rating system not known"
        value = rated if rating.system == "design-centre" else high
        when = "at rated mains" if rating.system == "design-centre" else "at the highest mains"
        against = of_limit(value, rating.value, name[-1].upper())
        text = f"{section.id} {what}, {when}: {against} ({system})"
        yield states.find(severity, section.id, name.replace("_", "-"), text, value, rating.value, rating.source)


def _point(found: Operating, section: Section) -> ValvePoint:
    return found.valve(section.id)
