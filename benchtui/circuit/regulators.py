"""Laws of what holds volts steady, zener diode and gas regulator valve: ampere and siemens, exact derivatives.

Both break down behind a resistance: V = V0 + r (i - i0) + w ln(i / i0), where V0 and i0 are the volts and the current
that a data sheet prints side by side, w the width of the knee, and r + w / i0 the slope resistance printed for that
current. For the zener diode this is the junction's breakdown as circuit simulators have it (BV, IBV, NBV, RS), forward
the Shockley law behind the same r. For the gas valve the same shape serves from the least current upwards (common
practice, no source); below it a real discharge is ragged.

A gas valve is bistable: between its burning and its striking volts it may burn or be dark, and both are solutions.
What it does is decided for each sample by `struck`: it is dark (emission 0) until its volts in the steady state without
it reach the striking volts, and burns from then on. So it also burns where the supply strikes it but cannot keep it
above its least current; that is for the ratings to find. A supply that is higher while the valves are cold may strike
one that the hot steady state would not: nothing tells which, so it counts as dark.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from benchtui.circuit.branches import Group
from benchtui.circuit.devices import THERMAL_V, Array, Constants, ValveCurrents, junction

LEAST_OHM = 1e-3


def _across(amps: Array, siemens: Array) -> ValveCurrents:
    """One current from anode to cathode as the currents of three electrodes."""
    none = np.zeros_like(amps)
    row = np.stack([none, none, none])
    return ValveCurrents(np.stack([amps, none, none]), np.stack([np.stack([siemens, none, none]), row, row]))


def _breakdown(volts: Array, at_v: Array, constants: Constants) -> tuple[Array, Array]:
    at_a, knee_v = constants["at_a"], constants["knee_v"]
    ohm = np.maximum(constants["slope_ohm"] - knee_v / at_a, LEAST_OHM)
    return junction(volts - at_v, at_a, knee_v, ohm)


def zener(anode_v: Array, screen_v: Array, grid_v: Array, constants: Constants) -> ValveCurrents:
    """Current of a zener diode from its anode, in ampere: breakdown_v, at_a, slope_ohm, knee_v and is_a, n forward."""
    at_a, knee_v, saturation = constants["at_a"], constants["knee_v"], constants["is_a"]
    ohm = np.maximum(constants["slope_ohm"] - knee_v / at_a, LEAST_OHM)
    forward, forward_slope = junction(anode_v, saturation, constants["n"] * THERMAL_V, ohm)
    reverse, reverse_slope = _breakdown(-anode_v, constants["breakdown_v"], constants)
    return _across(forward - saturation - reverse, forward_slope + reverse_slope)


def gas_regulator(anode_v: Array, screen_v: Array, grid_v: Array, constants: Constants) -> ValveCurrents:
    """Current of a burning gas regulator valve, in ampere: burning_v, at_a, slope_ohm, knee_v."""
    return _across(*_breakdown(anode_v, constants["burning_v"], constants))


REGULATOR_FORMS: dict[str, Callable[[Array, Array, Array, Constants], ValveCurrents]] = {
    "zener": zener,
    "gas_regulator": gas_regulator,
}


def struck(devices: tuple[Group, ...], anode_v: Array) -> tuple[Group, ...] | None:
    """The devices with those gas regulators burning that `anode_v` (devices, samples) strikes; None if no more are."""
    lit = []
    for group in devices:
        if group.form == "gas_regulator":
            strikes = anode_v[group.members] >= group.constants["strike_v"]
            group = replace(group, emission=np.where(strikes, 1.0, group.emission))
        lit.append(group)
    if all(np.array_equal(new.emission, old.emission) for new, old in zip(lit, devices, strict=True)):
        return None
    return tuple(lit)
