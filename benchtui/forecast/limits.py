"""Limits: readings at which a rating is passed or a bias is missing, each found by solving the circuit for it.

A reading knows no watts. So each output section is driven harder step by step (more emission; a grid pulled up towards
HT, as a leaking coupling capacitor does), and where its dissipation passes the rating, the readings of that moment
are the limits. Capacitor, electrode and heater volts are limits by themselves.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State, stage_state
from benchtui.assemble.valves import Section, heaters, sections
from benchtui.buildfile.models import Build, Point
from benchtui.buildfile.stages import stages
from benchtui.circuit.elements import Circuit, Resistor
from benchtui.circuit.operate import operate
from benchtui.circuit.probe import Probe, readings
from benchtui.forecast.run import Run, solve_nominal, solve_variants
from benchtui.parts.guide import spread
from benchtui.parts.guide import value as guide
from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Limit

_DRIVEN_HARDER = np.geomspace(1.0, 30.0, 14)
_PULLED_UP_OHM = np.geomspace(1e9, 2e4, 18)
_FOLLOWS = 0.15
"""A point follows a section's current when it moves by more than this share as the rating is reached."""


@dataclass(frozen=True)
class Limits:
    """The two ends of one point's reading beyond which the work stops."""

    low: Limit | None = None
    high: Limit | None = None

    def with_high(self, limit: Limit) -> Limits:
        return self if self.high is not None and self.high.value <= limit.value else replace(self, high=limit)

    def with_low(self, limit: Limit) -> Limits:
        return self if self.low is not None and self.low.value >= limit.value else replace(self, low=limit)


def stage_limits(run: Run, stage: str, points: dict[str, Point]) -> dict[str, Limits]:
    """Limits of each of `points` in `stage`, solved at the mains of `run`."""
    found = {name: Limits() for name in points}
    for name, limit in _all(run, stage, points):
        side, value = limit
        found[name] = found[name].with_high(value) if side == "high" else found[name].with_low(value)
    return found


Found = tuple[str, tuple[str, Limit]]


def _all(run: Run, stage: str, points: dict[str, Point]) -> Iterator[Found]:
    volts = {name: point for name, point in points.items() if point.quantity == "dc"}
    yield from _capacitors(run, volts)
    yield from _heaters(run.build, {n: p for n, p in points.items() if p.quantity == "ac"})
    yield from _electrodes(run, volts)
    for section in _driven(run):
        yield from _dissipation(run, section, volts)
    yield from _grids(run, stage, volts)
    yield from _own(points)


def _capacitors(run: Run, points: dict[str, Point]) -> Iterator[Found]:
    for ref, part in run.build.capacitor.items():
        if ref not in run.state.fitted:
            continue
        above = f"{ref} is rated for {show(part.volts, 'V')}"
        reverse_v = guide("capacitor.reverse")
        backwards = f"{ref} is an electrolytic: more than {show(reverse_v, 'V')} the wrong way round destroys it"
        for name, point in points.items():
            if (point.red, point.black) == part.nodes:
                yield name, ("high", Limit(part.volts, above))
                if part.make == "electrolytic":
                    yield name, ("low", Limit(-reverse_v, backwards))
            elif (point.black, point.red) == part.nodes:
                yield name, ("low", Limit(-part.volts, above))
                if part.make == "electrolytic":
                    yield name, ("high", Limit(reverse_v, backwards))


def _heaters(build: Build, points: dict[str, Point]) -> Iterator[Found]:
    over = 1.0 + spread("heater.limit")[1]
    under = guide("heater.emission_fails")
    for heater in heaters(build):
        for name, point in points.items():
            if {point.red, point.black} == {heater.a, heater.b}:
                rated = show(heater.rated_v, "V")
                yield (
                    name,
                    (
                        "high",
                        Limit(over * heater.rated_v, f"heater of {heater.valve}: a tenth above its {rated}"),
                    ),
                )
                yield (
                    name,
                    (
                        "low",
                        Limit(
                            under * heater.rated_v,
                            f"heater of {heater.valve}: under {100 * under:.0f} % of its {rated} the cathode fails",
                        ),
                    ),
                )


def _electrodes(run: Run, points: dict[str, Point]) -> Iterator[Found]:
    for section in _conducting(run):
        cathode_v = run.nominal.dc(section.nodes["cathode"], "0")[0]
        for electrode, rating_name in (("anode", "anode_v"), ("screen", "screen_v")):
            rating = section.ratings.get(rating_name)
            node = section.nodes.get(electrode)
            if rating is None or rating.confidence != "high" or node is None or not np.isfinite(cathode_v):
                continue
            system = rating.system or "rating system not known"
            text = f"{section.id} {electrode}: {show(rating.value, 'V')} to its cathode ({system}), {rating.source}"
            for name, point in points.items():
                if (point.red, point.black) == (node, "0"):
                    yield name, ("high", Limit(rating.ceiling + cathode_v, text))


def _conducting(run: Run) -> Iterator[Section]:
    names = run.nominal.system.network.valve_names
    return (section for section in sections(run.build) if section.id in names)


def _driven(run: Run) -> Iterator[Section]:
    """Sections that carry current in this state and have a dissipation rating one may rely on."""
    for section in _conducting(run):
        rating = section.ratings.get("anode_w")
        if rating is not None and rating.confidence != "low" and run.nominal.valve(section.id).anode_a[0] > 1e-5:
            yield section


def _load_share(section: Section, found) -> tuple[np.ndarray, str]:
    """Dissipation as a share of where it stops the work (samples,), the worse of anode and screen, and its name."""
    valve = found.valve(section.id)
    share = valve.anode_w / section.ratings["anode_w"].ceiling
    screen = section.ratings.get("screen_w")
    if screen is not None and screen.confidence != "low":
        share = np.maximum(share, valve.screen_w / screen.ceiling)
    return (
        np.where(np.isfinite(share), share, -np.inf),
        f"{section.id} passes its rated dissipation, {show(section.ratings['anode_w'].value, 'W')} at the anode",
    )


def _dissipation(run: Run, section: Section, points: dict[str, Point]) -> Iterator[Found]:
    watched = {name: point for name, point in points.items() if _carries(section, point)}
    if not watched:
        return
    state = replace(run.state, extra_emission={section.id: _DRIVEN_HARDER})
    found = solve_variants(run, state)
    share, reason = _load_share(section, found)
    for name, values in _read(run.build, found, watched).items():
        value = _crossing(share, values)
        if value is not None and abs(value - values[0]) > _FOLLOWS * abs(values[0]):
            yield name, ("high" if value > values[0] else "low", Limit(value, reason))


def _carries(section: Section, point: Point) -> bool:
    """Whether the reading is volts that the section's own current makes: at its cathode, or across its anode load."""
    ends = {point.red, point.black}
    return section.nodes["cathode"] in ends or (section.nodes["anode"] in ends and "0" not in ends)


def _grids(run: Run, stage: str, points: dict[str, Point]) -> Iterator[Found]:
    """How far a grid may rise before its valve passes its rating, in the first stage in which it draws current."""
    for section in sections(run.build):
        watched = {n: p for n, p in points.items() if (p.red, p.black) == (section.nodes.get("grid"), "0")}
        rating = section.ratings.get("anode_w")
        if not watched or rating is None or rating.confidence == "low":
            continue
        loaded = run if _draws(run, section) else _first_loaded(run, stage, section)
        if loaded is None:
            continue
        found = _pulled_up(loaded, section)
        share, reason = _load_share(section, found)
        grid_v = found.dc(section.nodes["grid"], "0")
        value = _crossing(share, grid_v)
        for name in watched if value is not None else ():
            yield name, ("high", Limit(value, f"with its grid above this, {reason}"))


def _draws(run: Run, section: Section) -> bool:
    names = run.nominal.system.network.valve_names
    return section.id in names and bool(run.nominal.valve(section.id).anode_a[0] > 1e-5)


def _first_loaded(run: Run, stage: str, section: Section) -> Run | None:
    after = False
    for info in stages(run.build):
        after = after or info.id == stage
        if after and info.kind == "power":
            state: State = stage_state(run.build, info.id, mains_v=run.state.mains_v)
            if section.valve in state.fitted and section.valve not in state.valves_out and not state.fuses_out:
                loaded = solve_nominal(run.build, state)
                if _draws(loaded, section):
                    return loaded
    return None


def _pulled_up(run: Run, section: Section):
    """The state with the section's grid drawn towards the highest node by less and less resistance, one a sample."""
    nodes = run.nominal.system.network.nodes
    volts = {node: float(run.nominal.dc(node, "0")[0]) for node in nodes if node not in run.nominal.floating}
    rail = max((node for node in volts if np.isfinite(volts[node])), key=volts.__getitem__)
    pots = {name: float(position[0]) for name, position in run.nominal.pots.items()}
    circuit = assemble(run.build, replace(run.state, pots={**pots, **run.state.pots}, trimmed=frozenset()))
    leak = Resistor("leak to HT", rail, section.nodes["grid"], _PULLED_UP_OHM)
    return operate(Circuit((*circuit.elements, leak), circuit.mains_hz), start=run.nominal)


def _read(build: Build, found, points: dict[str, Point]) -> dict[str, np.ndarray]:
    values = readings(found, [Probe(point.red, point.black, "dc", build.meter.input) for point in points.values()])
    return {name: values[:, k] for k, name in enumerate(points)}


def _crossing(share: np.ndarray, values: np.ndarray) -> float | None:
    """The value at which `share` first reaches 1, by straight lines between the samples; None if it never does."""
    for k in np.flatnonzero((share[1:] >= 1.0) & (share[:-1] < 1.0) & np.isfinite(share[:-1])):
        part = (1.0 - share[k]) / (share[k + 1] - share[k])
        return float(values[k] + part * (values[k + 1] - values[k]))
    return None


def _own(points: dict[str, Point]) -> Iterator[Found]:
    for name, point in points.items():
        if point.stop_low is not None:
            yield name, ("low", Limit(point.stop_low, f"the build file's own limit: {point.reason}"))
        if point.stop_high is not None:
            yield name, ("high", Limit(point.stop_high, f"the build file's own limit: {point.reason}"))
