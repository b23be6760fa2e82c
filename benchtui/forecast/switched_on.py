"""What capacitors and rectifiers meet in the moments after switch-on, which no steady state shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import pi, sqrt

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import Capacitor, Choke, Circuit
from benchtui.circuit.switch_on import switch_on
from benchtui.forecast.run import highest_mains

ANGLES_RAD = np.array([0.0, 0.5, 1.5]) * pi
"""Where the mains comes on: at zero a filter swings highest, at either crest the rectifiers carry most."""

SWING, LEAST_CYCLES, LONGEST_S = 1.1, 2.0, 0.5
"""Half swings of all chokes with all capacitors that are followed; at least some cycles, and never longer."""


@dataclass(frozen=True)
class SwitchedOn:
    """Valves cold, capacitors empty, rectifier valves and thermistors hot, at the highest mains; NaN: not known.

    `peak_v` and `held_v` (what stands at the end) by capacitor, `peak_a` by rectifier, `mains_a` of all primaries.
    """

    peak_v: Mapping[str, float]
    held_v: Mapping[str, float]
    peak_a: Mapping[str, float]
    mains_a: float
    within_choke: bool
    """Whether every choke keeps within its rated current: where it does not its iron saturates, and peaks are lower."""


@lru_cache(maxsize=64)
def switched_on(build: Build, stage: str) -> SwitchedOn:
    """The worst of the moments after `stage` is switched on, over the angles of the mains."""
    circuit = assemble(build, stage_state(build, stage, mains_v=highest_mains(build), trimmed=False).cold())
    found = switch_on(circuit, _seconds(circuit), angle_rad=ANGLES_RAD)
    cycle = int(np.searchsorted(found.times_s, 1.0 / circuit.mains_hz))
    chokes = {e.name for e in circuit.elements if isinstance(e, Choke)}
    fitted = [name for name in build.capacitor if name in found.volts]
    return SwitchedOn(
        {name: float(found.peak_v(name).max()) for name in fitted},
        {name: float(np.abs(found.volts[name][-cycle:]).max()) for name in fitted},
        {name: float(found.peak_a(name).max()) for name in found.amps if name not in chokes},
        float(found.mains_peak_a.max()),
        all(float(found.peak_a(name).max()) <= (build.choke[name].amps or 0.0) for name in chokes),
    )


def _seconds(circuit: Circuit) -> float:
    """How long it takes until the slowest filter has swung to its highest: all chokes with all capacitors."""
    henry = sum(e.henry for e in circuit.elements if isinstance(e, Choke))
    farad = sum(e.farad for e in circuit.elements if isinstance(e, Capacitor))
    return min(max(SWING * pi * sqrt(henry * farad), LEAST_CYCLES / circuit.mains_hz), LONGEST_S)
