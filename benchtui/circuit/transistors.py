"""Laws of transistors as current sources: ampere and siemens with exact derivatives, in three branches like a valve.

Anode, grid and cathode stand for drain, gate and source, or collector, base and emitter; `polarity` is 1 for an n
channel or npn, -1 for the other. Depletion field-effect transistor: the square law of H. Shichman and D. A. Hodges,
IEEE Journal of Solid-State Circuits 3 (3), 1968 (from memory), as circuit simulators have it for junction types; its
gate carries nothing, so a gate driven forward is not described. Bipolar transistor: the transport form of J. J. Ebers
and J. L. Moll, Proceedings of the IRE 42 (12), 1954, with J. M. Early's base width (both from memory), without
resistances or high injection: good for the milliamperes of a tail or an anode load.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from benchtui.circuit.devices import THERMAL_V, Array, Constants, ValveCurrents, limited

HELD_A = 1.0
"""Above this a junction's exponential goes on as its tangent, so that no step of Newton's method can overflow it."""

FORWARD_V = 1.0
"""Base to collector: Early's factor stops here, far above what a junction bears."""

REVERSE_GAIN = 1.0
"""Of a saturated transistor (common practice, no source)."""


def _three_ended(polarity: Array, amps: tuple[Array, Array], siemens: tuple[tuple[Array, Array], ...]) -> ValveCurrents:
    """Currents of anode and grid, and their slopes by anode and grid volts, of either polarity."""
    (anode, grid), none = amps, np.zeros_like(amps[0])
    rows = [np.stack([by_anode, none, by_grid]) for by_anode, by_grid in siemens]
    return ValveCurrents(
        np.stack([polarity * anode, none, polarity * grid]), np.stack([rows[0], np.stack([none] * 3), rows[1]])
    )


def _square_law(gate_v: Array, drain_v: Array, constants: Constants) -> tuple[Array, Array, Array]:
    """Current for drain volts of 0 and more, and its slopes by gate and by drain."""
    pinch_v = constants["pinch_off_v"]
    beta, bend = constants["idss_a"] / pinch_v**2, 1.0 / constants["modulation_v"]
    drive = np.maximum(gate_v + pinch_v, 0.0)
    below = np.minimum(drain_v, drive)
    channel, widened = below * (2.0 * drive - below), 1.0 + bend * drain_v
    by_gate = 2.0 * beta * below * widened
    by_drain = beta * (2.0 * (drive - below) * widened + bend * channel)
    return beta * channel * widened, by_gate, by_drain


def depletion_fet(anode_v: Array, screen_v: Array, grid_v: Array, constants: Constants) -> ValveCurrents:
    """Drain current, in ampere, from idss_a, pinch_off_v (as a positive number), modulation_v, polarity.

    Drain and source change places where the drain is the lower one.
    """
    polarity = constants["polarity"]
    drain_v, gate_v = polarity * limited(anode_v), polarity * limited(grid_v)
    turned = drain_v < 0
    amps, by_gate, by_drain = _square_law(np.where(turned, gate_v - drain_v, gate_v), np.abs(drain_v), constants)
    none = np.zeros_like(amps)
    siemens = (np.where(turned, by_gate + by_drain, by_drain), np.where(turned, -by_gate, by_gate))
    return _three_ended(polarity, (np.where(turned, -amps, amps), none), (siemens, (none, none)))


def _exponential(volts: Array, saturation: Array) -> tuple[Array, Array]:
    """Current of a junction, less nothing at 0 V, and its slope; straight on above `HELD_A`."""
    x, most = volts / THERMAL_V, np.log(HELD_A / saturation)
    grown = saturation * np.exp(np.clip(x, -700.0, most))
    return grown * (1.0 + np.maximum(x - most, 0.0)) - saturation, grown / THERMAL_V


def bipolar(anode_v: Array, screen_v: Array, grid_v: Array, constants: Constants) -> ValveCurrents:
    """Collector and base current, in ampere, from saturation_a, gain, early_v, polarity."""
    polarity, saturation = constants["polarity"], constants["saturation_a"]
    base_v = polarity * limited(grid_v)
    reverse_v = base_v - polarity * limited(anode_v)
    forward, forward_slope = _exponential(base_v, saturation)
    reverse, reverse_slope = _exponential(reverse_v, saturation)
    width = 1.0 - np.minimum(reverse_v, FORWARD_V) / constants["early_v"]
    narrowing = np.where(reverse_v < FORWARD_V, -1.0 / constants["early_v"], 0.0) * (forward - reverse)
    collector = (forward - reverse) * width - reverse / REVERSE_GAIN
    base = forward / constants["gain"] + reverse / REVERSE_GAIN
    by_reverse = narrowing - reverse_slope * (width + 1.0 / REVERSE_GAIN)
    return _three_ended(
        polarity,
        (collector, base),
        (
            (-by_reverse, forward_slope * width + by_reverse),
            (-reverse_slope / REVERSE_GAIN, forward_slope / constants["gain"] + reverse_slope / REVERSE_GAIN),
        ),
    )


TRANSISTOR_FORMS: dict[str, Callable[[Array, Array, Array, Constants], ValveCurrents]] = {
    "depletion_fet": depletion_fet,
    "bipolar": bipolar,
}
