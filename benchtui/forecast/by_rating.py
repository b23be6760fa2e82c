"""What may be charged before anything is computed: every capacitor fitted, by its rated volts. No circuit is solved."""

from __future__ import annotations

from collections.abc import Iterable

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import fitted
from benchtui.parts.guide import guide, value


def threshold_v(build: Build) -> float:
    """Volts under which a reservoir counts as discharged, never outside the guide value's bounds."""
    bounds = guide("gate.threshold")
    own = bounds.value if build.gate.threshold is None else build.gate.threshold
    return min(max(own, bounds.floor), bounds.ceiling)


def one_each(build: Build, held: Iterable[str]) -> tuple[str, ...]:
    """One capacitor of `held` for each pair of ends: those in parallel empty through one resistor."""
    found: dict[frozenset[str], str] = {}
    for id in held:
        found.setdefault(frozenset(build.capacitor[id].nodes), id)
    return tuple(found.values())


def held_by_rating(build: Build, stage: str) -> tuple[str, ...]:
    """The capacitors fitted up to `stage` that hold the threshold and a reservoir's energy at their rated volts."""
    least_v, least_j, here = threshold_v(build), value("gate.reservoir_energy"), fitted(build, stage)
    return tuple(
        key
        for key, part in build.capacitor.items()
        if key in here and part.volts > least_v and 0.5 * part.value * part.volts**2 > least_j
    )
