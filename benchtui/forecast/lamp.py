"""The mains through a lamp limiter: what the lamp takes, how it looks, and what is left for the amplifier.

A tungsten filament's resistance rises with its own heat: its current goes as about the 0.55th power of its volts, down
to about a twelfth of the hot resistance when cold (common practice, no source; lamps of one type differ by a fifth).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State, stage_state
from benchtui.assemble.valves import heater_ends, rectifier_valves
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import Circuit
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating

CURRENT_POWER = 0.55
COLD_SHARE = 1.0 / 12.0

PASSES, SETTLED = 30, 0.003

STEEP, FLAT = -1.0, -0.5
"""How the logarithm of what the lamp wants over what it has falls with that of what it has. A lamp with all the mains
keeps its resistance whatever is behind it; one with next to none wants 0.45 of any rise."""

DARK_BELOW, BRIGHT_ABOVE = 0.12, 0.6
"""Share of its rated volts: below, a filament does not glow in daylight; above, it lights the bench."""

EMITS_ABOVE = 0.7
"""Share of a heater's rated volts below which a cathode may give nothing (common practice, no source)."""

HOT, COLD = 0, 1


@dataclass(frozen=True, eq=False)
class BehindLamp:
    """The stage behind a lamp: sample HOT with valves that emit, COLD with none; the lamp's share of the mains."""

    watts: float
    found: Operating
    share: np.ndarray

    @property
    def look(self) -> Literal["dark", "dim", "bright"]:
        """How a sound stage leaves the lamp once its valves are as warm as they get."""
        share = float(self.share.max())
        return "dark" if share < DARK_BELOW else "bright" if share > BRIGHT_ABOVE else "dim"


@lru_cache(maxsize=32)
def behind_lamp(build: Build, stage: str, watts: float) -> BehindLamp | None:
    """The stage with a sound circuit, pots where they start; None where it cannot be solved.

    A rectifier valve whose heater gets too little gives nothing.
    """
    state = replace(
        stage_state(build, stage, trimmed=False), emission=np.array([1.0, 0.0]), rectifier_emission=np.array([1.0, 1.0])
    )
    found = _settled(build, state, watts)
    if found is not None and _starved(build, found.found):
        found = _settled(build, replace(state, rectifier_emission=np.array([0.0, 0.0])), watts)
    return found


def _settled(build: Build, state: State, watts: float) -> BehindLamp | None:
    return through_lamp(build, watts, lambda ohm: assemble(build, replace(state, series_ohm=ohm)), samples=2)


def through_lamp(
    build: Build, watts: float, circuit: Callable[[np.ndarray], Circuit], *, samples: int, fine: bool | None = None
) -> BehindLamp | None:
    """The circuit with the resistance in which the lamp rests in its primary lead; None where it cannot be solved.

    `circuit` makes it of that resistance (samples,); `fine` is as for `operate`. It is looked for by secants.
    """
    hot_ohm = build.mains.volts**2 / watts
    ohm, found = np.full(samples, hot_ohm * COLD_SHARE), None
    step, off_before, slope = np.zeros(samples), np.zeros(samples), np.full(samples, STEEP)
    for _ in range(PASSES):
        found = operate(circuit(ohm), start=found, fine=fine)
        if not found.settled.all():
            return None
        share = found.mains_amps * ohm / build.mains.volts
        wanted = hot_ohm * np.maximum(share ** (1.0 - CURRENT_POWER), COLD_SHARE)
        off = np.log(wanted / ohm)
        if (np.abs(off) < SETTLED).all():
            return BehindLamp(watts, found, share)
        moved = step != 0.0
        slope[moved] = np.clip((off - off_before)[moved] / step[moved], STEEP, FLAT)
        step, off_before = -off / slope, off
        ohm = ohm * np.exp(step)
    return None


def _starved(build: Build, found: Operating) -> bool:
    """Whether a rectifier valve's heater gets too little to emit."""
    rectifiers, nodes = rectifier_valves(build), found.system.network.nodes
    return any(
        bool((found.ac_rms(heater.a, heater.b) < EMITS_ABOVE * heater.rated_v).any())
        for heater in heater_ends(build)
        if heater.valve in rectifiers and {heater.a, heater.b} <= nodes.keys()
    )
