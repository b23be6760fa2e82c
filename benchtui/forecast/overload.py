"""Readings at which a valve passes its rated dissipation, found by driving the circuit until it does.

A reading knows no watts. So each output section is driven harder step by step, by more emission and by its grid pulled
up towards HT (as a leaking coupling capacitor does); the readings of the moment in which its dissipation passes the
rating are the limits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State, stage_state
from benchtui.assemble.valves import Section, sections
from benchtui.buildfile.models import Build, Point
from benchtui.buildfile.stages import stages
from benchtui.circuit.elements import CHASSIS, Circuit, Resistor
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.circuit.probe import Probe, readings
from benchtui.forecast.run import Run, solve_nominal, solve_variants
from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Limit

_EMISSION = np.geomspace(1.0, 30.0, 14)
_LEAK_OHM = np.geomspace(1e9, 2e4, 18)
_FOLLOWS = 0.15
"""A point follows a section's current when it moves by more than this share as the rating is reached."""

_CONDUCTS_A = 1e-5

Found = tuple[str, tuple[str, Limit]]


def overload_limits(run: Run, stage: str, points: dict[str, Point]) -> Iterator[Found]:
    """(point, (side, limit)) for each of `points` (direct volts) that tells a section's current or grid volts."""
    for section in sections(run.build):
        rating = section.ratings.get("anode_w")
        if rating is None or rating.confidence == "low":
            continue
        grids = {n: p for n, p in points.items() if (p.red, p.black) == (section.nodes["grid"], CHASSIS)}
        carrying = {n: p for n, p in points.items() if _carries(section, p)}
        if _draws(run, section):
            yield from _currents(run, section, carrying)
        if grids:
            yield from _grid(run, stage, section, grids)


def _carries(section: Section, point: Point) -> bool:
    """Whether the reading is volts that the section's own current makes: at its cathode, or across its anode load."""
    ends = {point.red, point.black}
    return section.nodes["cathode"] in ends or (section.nodes["anode"] in ends and CHASSIS not in ends)


def _draws(run: Run, section: Section) -> bool:
    names = run.nominal.system.network.valve_names
    return section.id in names and bool(run.nominal.valve(section.id).anode_a[0] > _CONDUCTS_A)


def _currents(run: Run, section: Section, points: dict[str, Point]) -> Iterator[Found]:
    """By emission where that reaches the rating (fixed bias), else by the grid (cathode bias checks emission)."""
    if not points:
        return
    emitting = solve_variants(run, replace(run.state, extra_emission={section.id: _EMISSION}))
    found = emitting if _share(section, emitting).max() >= 1.0 else _pulled_up(run, section)
    share = _share(section, found)
    for name, values in _read(run.build, found, points).items():
        value = _crossing(share, values)
        if value is not None and abs(value - values[0]) > _FOLLOWS * abs(values[0]):
            yield name, ("high" if value > values[0] else "low", Limit(value, _reason(section)))


def _grid(run: Run, stage: str, section: Section, points: dict[str, Point]) -> Iterator[Found]:
    """How far a grid may rise before its valve passes its rating, in the first stage in which it draws current."""
    loaded = run if _draws(run, section) else _first_loaded(run, stage, section)
    if loaded is None:
        return
    found = _pulled_up(loaded, section)
    value = _crossing(_share(section, found), found.dc(section.nodes["grid"], CHASSIS))
    for name in points if value is not None else ():
        yield name, ("high", Limit(value, f"with its grid above this, {_reason(section)}"))


def _first_loaded(run: Run, stage: str, section: Section) -> Run | None:
    reached = False
    for info in stages(run.build):
        reached = reached or info.id == stage
        if reached and info.kind == "power":
            state: State = stage_state(run.build, info.id, mains_v=run.state.mains_v)
            if section.valve in state.fitted and section.valve not in state.valves_out and not state.fuses_out:
                loaded = solve_nominal(run.build, state)
                if _draws(loaded, section):
                    return loaded
    return None


def _pulled_up(run: Run, section: Section) -> Operating:
    """The state with the section's grid drawn towards the highest node by less and less resistance, one a sample."""
    nodes = run.nominal.system.network.nodes
    volts = {node: float(run.nominal.dc(node, CHASSIS)[0]) for node in nodes if node not in run.nominal.floating}
    rail = max((node for node in volts if np.isfinite(volts[node])), key=volts.__getitem__)
    pots = {name: float(position[0]) for name, position in run.nominal.pots.items()}
    circuit = assemble(run.build, replace(run.state, pots={**pots, **run.state.pots}, trimmed=frozenset()))
    leak = Resistor("leak to HT", rail, section.nodes["grid"], _LEAK_OHM)
    return operate(Circuit((*circuit.elements, leak), circuit.mains_hz), start=run.nominal)


def _share(section: Section, found: Operating) -> np.ndarray:
    """Dissipation as a share of where it stops the work (samples,): the worse of anode and screen."""
    valve = found.valve(section.id)
    share = valve.anode_w / section.ratings["anode_w"].ceiling
    screen = section.ratings.get("screen_w")
    if screen is not None and screen.confidence != "low":
        share = np.maximum(share, valve.screen_w / screen.ceiling)
    return np.where(np.isfinite(share), share, -np.inf)


def _reason(section: Section) -> str:
    return f"{section.id} passes its rated dissipation, {show(section.ratings['anode_w'].value, 'W')} at the anode"


def _read(build: Build, found: Operating, points: dict[str, Point]) -> dict[str, np.ndarray]:
    values = readings(found, [Probe(point.red, point.black, "dc", build.meter.input) for point in points.values()])
    return {name: values[:, k] for k, name in enumerate(points)}


def _crossing(share: np.ndarray, values: np.ndarray) -> float | None:
    """The value at which `share` first reaches 1, by straight lines between the samples; None if it never does."""
    for k in np.flatnonzero((share[1:] >= 1.0) & (share[:-1] < 1.0) & np.isfinite(share[:-1])):
        part = (1.0 - share[k]) / (share[k + 1] - share[k])
        return float(values[k] + part * (values[k + 1] - values[k]))
    return None
