"""Limits: the readings at which a rating is passed or a bias is missing.

Capacitor, electrode and heater volts are limits by themselves; those of dissipation come from `overload`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from benchtui.assemble.valves import heater_ends, sections
from benchtui.buildfile.models import Point
from benchtui.circuit.elements import CHASSIS
from benchtui.forecast.joints import Joints
from benchtui.forecast.overload import Found, overload_limits
from benchtui.forecast.run import Run
from benchtui.parts.guide import spread
from benchtui.parts.guide import value as guide
from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Limit


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


@lru_cache(maxsize=64)
def powered_limits(run: Run, stage: str) -> Mapping[str, Limits]:
    """Limits of every powered point of `stage` whose nodes are there; worked out once for a run."""
    nodes = run.nominal.system.network.nodes.keys() | {CHASSIS}
    return stage_limits(
        run,
        stage,
        {
            name: point
            for name, point in run.build.point.items()
            if stage in point.stages and point.quantity != "resistance" and {point.red, point.black} <= nodes
        },
    )


def _all(run: Run, stage: str, points: dict[str, Point]) -> Iterator[Found]:
    volts = {name: point for name, point in points.items() if point.quantity == "dc"}
    joints = Joints(run.build, run.state)
    yield from _capacitors(run, joints, volts)
    yield from _heaters(run, joints, {n: p for n, p in points.items() if p.quantity == "ac"})
    yield from _electrodes(run, joints, volts)
    yield from overload_limits(run, stage, volts)
    yield from _own(points)


def _capacitors(run: Run, joints: Joints, points: dict[str, Point]) -> Iterator[Found]:
    for ref, part in run.build.capacitor.items():
        if ref not in run.state.fitted:
            continue
        above = f"{ref} is rated for {show(part.volts, 'V')}"
        reverse_v = guide("capacitor.reverse")
        backwards = f"{ref} is an electrolytic: more than {show(reverse_v, 'V')} the wrong way round destroys it"
        for name, point in points.items():
            if joints.of_point(point) == joints.pair(part.nodes):
                yield name, ("high", Limit(part.volts, above))
                if part.make == "electrolytic":
                    yield name, ("low", Limit(-reverse_v, backwards))
            elif joints.of_point(point) == joints.pair(part.nodes[::-1]):
                yield name, ("low", Limit(-part.volts, above))
                if part.make == "electrolytic":
                    yield name, ("high", Limit(reverse_v, backwards))


def _heaters(run: Run, joints: Joints, points: dict[str, Point]) -> Iterator[Found]:
    over = 1.0 + spread("heater.limit")[1]
    under = guide("heater.emission_fails")
    names = run.nominal.system.network.linear_names
    for heater in heater_ends(run.build):
        if heater.id not in names:  # its valve is out: the winding is off load, and nothing burns
            continue
        for name, point in points.items():
            if set(joints.of_point(point)) == set(joints.pair((heater.a, heater.b))):
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


def _electrodes(run: Run, joints: Joints, points: dict[str, Point]) -> Iterator[Found]:
    names = run.nominal.system.network.valve_names
    for section in sections(run.build):
        if section.id not in names:
            continue
        cathode_v = run.nominal.dc(section.nodes["cathode"], "0")[0]
        for electrode, rating_name in (("anode", "anode_v"), ("screen", "screen_v")):
            rating = section.ratings.get(rating_name)
            node = section.nodes.get(electrode)
            if rating is None or rating.confidence != "high" or node is None or not np.isfinite(cathode_v):
                continue
            system = rating.system or "rating system not known"
            text = f"{section.id} {electrode}: {show(rating.value, 'V')} to its cathode ({system}), {rating.source}"
            for name, point in points.items():
                if joints.of_point(point) == joints.pair((node, CHASSIS)):
                    yield name, ("high", Limit(rating.ceiling + cathode_v, text))


def _own(points: dict[str, Point]) -> Iterator[Found]:
    for name, point in points.items():
        if point.stop_low is not None:
            yield name, ("low", Limit(point.stop_low, f"the build file's own limit: {point.reason}"))
        if point.stop_high is not None:
            yield name, ("high", Limit(point.stop_high, f"the build file's own limit: {point.reason}"))
