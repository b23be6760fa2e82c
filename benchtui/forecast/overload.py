"""Readings at which a valve passes its rated dissipation, found by driving the circuit until it does.

A reading knows no watts. So each output section is driven harder step by step, by more emission and by its grid pulled
up towards HT (as a leaking coupling capacitor does); the readings of the moment in which its dissipation passes the
rating are the limits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.assemble.valves import Section, sections
from benchtui.buildfile.models import Point
from benchtui.buildfile.stages import stages
from benchtui.circuit.elements import CHASSIS, Circuit, Resistor
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.circuit.probe import Probe, readings
from benchtui.forecast.grids import grid_nodes
from benchtui.forecast.run import Run, stage_run
from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Limit

_EMISSION = np.geomspace(1.0, 8.0, 9)
_LEAK_OHM = np.geomspace(3e8, 1e5, 13)
_NO_LEAK_OHM = 1e12
_FOLLOWS = 0.15
"""A point follows a section's current when it moves by more than this share as the rating is reached."""

_CONDUCTS_A = 1e-5

Found = tuple[str, tuple[str, Limit]]


def overload_limits(run: Run, stage: str, points: dict[str, Point]) -> Iterator[Found]:
    """(point, (side, limit)) for each of `points` (direct volts) that tells a section's current or grid volts."""
    watched = [section for section in sections(run.build) if _is_watched(run, section, points)]
    drawing = [section for section in watched if _draws(run, section)]
    if drawing:
        yield from _with_current(_driven(run, drawing), points)
    waiting = [section for section in watched if section not in drawing]
    loaded = _first_loaded(run, stage, waiting) if waiting else None
    if loaded is not None:
        driven = _driven(loaded, [section for section in waiting if _draws(loaded, section)])
        for section in driven.sections:
            yield from _grid(driven, section, points)


def _is_watched(run: Run, section: Section, points: dict[str, Point]) -> bool:
    rating = section.ratings.get("anode_w")
    told = any(carries(section, point) or _is_grid(run, section, point) for point in points.values())
    return rating is not None and rating.confidence != "low" and told


def carries(section: Section, point: Point) -> bool:
    """Whether the reading is volts that the section's own current makes: at its cathode, or across its anode load."""
    ends = {point.red, point.black}
    return section.nodes["cathode"] in ends or (section.nodes["anode"] in ends and CHASSIS not in ends)


def _is_grid(run: Run, section: Section, point: Point) -> bool:
    return point.red in grid_nodes(run.build, section) and point.black == CHASSIS


def _draws(run: Run, section: Section) -> bool:
    names = run.nominal.system.network.valve_names
    return section.id in names and bool(run.nominal.valve(section.id).anode_a[0] > _CONDUCTS_A)


def _first_loaded(run: Run, stage: str, waiting: list[Section]) -> Run | None:
    """The first later stage in which one of the sections draws current, solved."""
    reached = False
    for info in stages(run.build):
        reached = reached or info.id == stage
        if reached and info.kind == "power":
            state = stage_state(run.build, info.id)
            plugged = any(s.valve in state.fitted and s.valve not in state.valves_out for s in waiting)
            if plugged and not state.fuses_out:
                loaded = stage_run(run.build, info.id, mains_v=run.state.mains_v)
                if any(_draws(loaded, section) for section in waiting):
                    return loaded
    return None


def _driven(run: Run, drawing: list[Section]) -> _Driven:
    """The sections driven harder: worked out once for a run, though every stage before it asks for them."""
    return _kept(run, tuple(section.id for section in drawing))


@lru_cache(maxsize=16)
def _kept(run: Run, ids: tuple[str, ...]) -> _Driven:
    return _Driven(run, [section for section in sections(run.build) if section.id in ids])


class _Driven:
    """A state with each of `sections` driven harder in samples of its own, all solved in one batch."""

    def __init__(self, run: Run, sections: list[Section]) -> None:
        self.run, self.sections = run, sections
        per_section = len(_EMISSION) + len(_LEAK_OHM)
        count = per_section * len(sections)
        starts = {section.id: k * per_section for k, section in enumerate(sections)}
        self._emitting = {ref: slice(start, start + len(_EMISSION)) for ref, start in starts.items()}
        self._leaking = {ref: slice(start + len(_EMISSION), start + per_section) for ref, start in starts.items()}
        emission = {section.id: _set(np.ones(count), self._emitting[section.id], _EMISSION) for section in sections}
        pots = {name: float(position[0]) for name, position in run.nominal.pots.items()}
        state = replace(run.state, extra_emission=emission, pots={**pots, **run.state.pots}, trimmed=frozenset())
        circuit = assemble(run.build, state)
        leaks = (
            Resistor(
                f"{section.id} leak to HT",
                _rail(run),
                section.nodes["grid"],
                _set(np.full(count, _NO_LEAK_OHM), self._leaking[section.id], _LEAK_OHM),
            )
            for section in sections
        )
        self.found = operate(Circuit((*circuit.elements, *leaks), circuit.mains_hz), start=run.nominal)

    def by_grid(self, section: Section, values: np.ndarray) -> float | None:
        """The value of `values` (samples,) at which the section, pulled up by its grid, reaches its limit."""
        return _crossing(_share(section, self.found)[self._leaking[section.id]], values[self._leaking[section.id]])

    def by_emission(self, section: Section, values: np.ndarray) -> float | None:
        """The same with more emission; None where the circuit holds it in check (cathode bias)."""
        return _crossing(_share(section, self.found)[self._emitting[section.id]], values[self._emitting[section.id]])


def _set(values: np.ndarray, where: slice, to: np.ndarray) -> np.ndarray:
    values[where] = to
    return values


def _rail(run: Run) -> str:
    """The node of the highest direct volts."""
    found = run.nominal
    volts = {
        node: float(found.dc(node, CHASSIS)[0]) for node in found.system.network.nodes if node not in found.floating
    }
    return max((node for node in volts if np.isfinite(volts[node])), key=volts.__getitem__)


def _with_current(driven: _Driven, points: dict[str, Point]) -> Iterator[Found]:
    """Limits of points that carry current: by emission where that reaches the rating, else by the grid."""
    carrying = {n: p for n, p in points.items() if any(carries(section, p) for section in driven.sections)}
    read = _read(driven, carrying)
    for section in driven.sections:
        for name, values in read.items():
            if carries(section, points[name]):
                value = driven.by_emission(section, values)
                value = driven.by_grid(section, values) if value is None else value
                now = float(values[0])
                if value is not None and abs(value - now) > _FOLLOWS * abs(now):
                    yield name, ("high" if value > now else "low", Limit(value, _reason(section)))
        yield from _grid(driven, section, points)


def _grid(driven: _Driven, section: Section, points: dict[str, Point]) -> Iterator[Found]:
    """How far a grid may rise before its valve passes its rating."""
    value = driven.by_grid(section, driven.found.dc(section.nodes["grid"], CHASSIS))
    for name, point in points.items():
        if value is not None and _is_grid(driven.run, section, point):
            yield name, ("high", Limit(value, f"with its grid above this, {_reason(section)}"))


def _share(section: Section, found: Operating) -> np.ndarray:
    """How far a section is towards where the work stops (samples,), 1 being there.

    The worst of anode and screen dissipation against their ratings, and of the bias that is gone: a grid that has
    come up to its cathode controls nothing any more, whatever the watts.
    """
    valve = found.valve(section.id)
    share = valve.anode_w / section.ratings["anode_w"].ceiling
    screen = section.ratings.get("screen_w")
    if screen is not None and screen.confidence != "low":
        share = np.maximum(share, valve.screen_w / screen.ceiling)
    if valve.grid_v[0] < 0.0:
        share = np.maximum(share, 1.0 - valve.grid_v / valve.grid_v[0])
    return np.where(np.isfinite(share), share, -np.inf)


def _reason(section: Section) -> str:
    watts = show(section.ratings["anode_w"].value, "W")
    return f"{section.id} has lost its bias, or passes its rated dissipation ({watts} at the anode)"


def _read(driven: _Driven, points: dict[str, Point]) -> dict[str, np.ndarray]:
    ohm = driven.run.build.meter.input
    values = readings(driven.found, [Probe(point.red, point.black, "dc", ohm) for point in points.values()])
    return {name: values[:, k] for k, name in enumerate(points)}


def _crossing(share: np.ndarray, values: np.ndarray) -> float | None:
    """The value at which `share` first reaches 1, by straight lines between the samples; None if it never does."""
    for k in np.flatnonzero((share[1:] >= 1.0) & (share[:-1] < 1.0) & np.isfinite(share[:-1])):
        part = (1.0 - share[k]) / (share[k + 1] - share[k])
        return float(values[k] + part * (values[k + 1] - values[k]))
    return None
