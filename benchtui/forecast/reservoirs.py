"""Reservoirs: every capacitor that can hold more than the gate's threshold, what they hold and how they empty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State, stage_state
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.circuit.discharge import Decay, discharge
from benchtui.circuit.elements import CHASSIS, Circuit, Diode
from benchtui.circuit.operating import Operating
from benchtui.forecast.by_rating import threshold_v
from benchtui.forecast.run import cold_at_highest_mains, highest_mains, hot_at_highest_mains
from benchtui.forecast.switched_on import switched_on
from benchtui.parts.guide import value as guide


@dataclass(frozen=True, eq=False)
class Charge:
    """The capacitors of a stage: highest volts by reference (over every state so far, at the highest mains).

    `apart` is the stage's circuit with valves cold and every fuse and switch open: a charge behind one that has blown
    or stands open has only the fitted resistors. `hot` is the steady state with valves hot.
    """

    threshold_v: float
    apart: Circuit
    hot: Operating
    highest_v: Mapping[str, float]


def charge(build: Build, stage: str) -> Charge | None:
    """What the capacitors may hold after `stage`; None where nothing is powered up to it.

    Every powered stage up to this one counts: a capacitor keeps what an earlier state gave it.
    """
    powered = []
    for info in stages(build):
        if info.kind == "power":
            powered.append(info.id)
        if info.id == stage:
            break
    if not powered:
        return None
    state = stage_state(build, powered[-1], mains_v=highest_mains(build))
    apart = replace(state.cold(), fuses_out=frozenset(build.fuse), switches_open=frozenset(build.switch))
    hot = hot_at_highest_mains(build, powered[-1])
    highest = dict(capacitor_peaks(build, state, hot))
    for power_stage in powered:
        for name, volts in _cold_peaks(build, power_stage).items():
            highest[name] = max(highest.get(name, 0.0), volts)
    return Charge(threshold_v(build), assemble(build, apart), hot, highest)


@lru_cache(maxsize=64)
def _cold_peaks(build: Build, stage: str) -> Mapping[str, float]:
    """Crest volts of a stage's capacitors, valves cold and pots where they start; all later gates ask for them.

    Rectifiers hold what a choke-input filter has swung to just after switch-on, as long as its bleeder takes.
    """
    state = stage_state(build, stage, mains_v=highest_mains(build))
    peaks = capacitor_peaks(build, state, cold_at_highest_mains(build, stage, trimmed=False))
    held = switched_on(build, stage).held_v
    return {name: float(np.fmax(volts, held.get(name, 0.0))) for name, volts in peaks.items()}


def capacitor_peaks(build: Build, state: State, found: Operating) -> dict[str, float]:
    """Crest volts across each fitted capacitor; where no DC path sets its volts, the most its neighbours could give.

    A capacitor between two floating ends holds what it was last given: it counts with its rating, the honest bound.
    """
    peaks = {}
    for name, part in build.capacitor.items():
        if name in state.fitted:
            dc, ripple = found.dc(*part.nodes)[0], found.ac_pp(*part.nodes)[0]
            peaks[name] = float(abs(dc) + 0.5 * np.nan_to_num(ripple)) if np.isfinite(dc) else part.volts
    return peaks


def is_reservoir(charge: Charge, farad: float, volts: float) -> bool:
    """More than the threshold and more than 1 mJ."""
    return volts > charge.threshold_v and 0.5 * farad * volts**2 > guide("gate.reservoir_energy")


def is_fed(build: Build, charge: Charge, name: str) -> bool:
    """Whether a rectifier charges it directly: between a rectifier's end and chassis, it is a rail of its own."""
    ends = {node for each in charge.apart.elements if isinstance(each, Diode) for node in (each.anode, each.cathode)}
    return grounded(build, name) and bool(ends & set(build.capacitor[name].nodes) - {CHASSIS})


def follows_rail(charge: Charge, name: str) -> bool:
    """Whether fitted resistors take it under the threshold within 5 s of its rail being at zero, valves cold."""
    decay = discharge(charge.apart, {name: charge.highest_v[name]})
    return seconds_of(decay, name, charge.threshold_v) <= guide("gate.follows_rail")


def seconds_of(decay: Decay, name: str, volts: float) -> float:
    """Seconds until capacitor `name` stays below `volts`; inf when it never does."""
    return float(decay.seconds_to(volts)[0, decay.names.index(name)])


def groups(build: Build, state: State, names: list[str]) -> list[tuple[str, ...]]:
    """`names` joined into groups by direct paths under 100 kohm between their positive ends, largest capacitor first.

    Fuses, switches and valves make no direct path: they may be open. A capacitor that does not stand on chassis is
    read alone, since its ends have volts of their own.
    """
    on_chassis = [name for name in names if grounded(build, name)]
    reach = _near_nodes(build, state, {live_end(build, name) for name in on_chassis})
    found: list[list[str]] = []
    for name in sorted(on_chassis, key=lambda n: -build.capacitor[n].value):
        for group in found:
            if live_end(build, name) in reach[live_end(build, group[0])]:
                group.append(name)
                break
        else:
            found.append([name])
    return [tuple(group) for group in found] + [(name,) for name in names if name not in on_chassis]


def grounded(build: Build, name: str) -> bool:
    """Whether the capacitor stands on chassis."""
    return CHASSIS in build.capacitor[name].nodes


def live_end(build: Build, name: str) -> str:
    """The other end of a capacitor that stands on chassis."""
    a, b = build.capacitor[name].nodes
    return b if a == CHASSIS else a


def _near_nodes(build: Build, state: State, nodes: set[str]) -> dict[str, set[str]]:
    """For each of `nodes`, the nodes within 100 kohm along fitted resistors, links and chokes, chassis apart."""
    edges: dict[str, list[tuple[str, float]]] = {}
    tables = [(build.resistor, "value"), (build.link, "value"), (build.choke, "resistance")]
    for table, ohms in tables:
        for name, part in table.items():
            if name in state.fitted and CHASSIS not in part.nodes:
                a, b = part.nodes
                edges.setdefault(a, []).append((b, getattr(part, ohms)))
                edges.setdefault(b, []).append((a, getattr(part, ohms)))
    return {node: _within(edges, node, guide("gate.group_resistance")) for node in nodes}


def _within(edges: Mapping[str, list[tuple[str, float]]], start: str, most_ohm: float) -> set[str]:
    nearest, waiting = {start: 0.0}, [start]
    while waiting:
        node = min(waiting, key=nearest.__getitem__)
        waiting.remove(node)
        for other, ohm in edges.get(node, ()):
            total = nearest[node] + ohm
            if total < min(most_ohm, nearest.get(other, np.inf)):
                nearest[other] = total
                waiting.append(other)
    return set(nearest)
