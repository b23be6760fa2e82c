"""Small circuits that several tests share."""

from __future__ import annotations

import numpy as np

from benchtui.circuit.elements import (
    Capacitor,
    Choke,
    Circuit,
    Diode,
    Element,
    Law,
    MainsTransformer,
    Pot,
    Resistor,
    Value,
    Valve,
    Winding,
)

IDEAL = Law("silicon", {"is_a": 1e-9, "n": 0.02, "rs_ohm": 0.0})
"""Hundredths of a volt of drop: as good as none on supplies of hundreds of volts."""

SILICON = Law("silicon", {"is_a": 7e-9, "n": 1.8, "rs_ohm": 0.04})
RECTIFIER_VALVE = Law("vacuum_perveance", {"perveance_a_v15": 3.5e-4})

ECC83 = Law(
    "triode_grid_ion", {"mu": 100.0, "ex": 1.4, "kg1": 1060.0, "kp": 600.0, "kvb": 300.0, "gg": 1e-3, "gi": 1e-6}
)
EARLY = Law("triode_offset", {**{k: v for k, v in ECC83.constants.items() if k != "gi"}, "vct": 0.0, "start_v": 0.6})
"""A small triode whose grid draws current from 0.6 V below its cathode on, so that a large leak biases it."""

EL34 = Law(
    "pentode_shared_screen",
    {"mu": 11.0, "ex": 1.35, "kg1": 650.0, "kg2": 5236.0, "kp": 60.0, "kvb": 24.0, "gg": 1e-3, "gi": 1e-6},
)
ZENER_100 = Law(
    "zener", {"breakdown_v": 100.0, "at_a": 2.5e-3, "slope_ohm": 350.0, "knee_v": 0.05, "is_a": 1e-9, "n": 1.8}
)
GAS_150 = Law(
    "gas_regulator", {"burning_v": 150.0, "at_a": 17.5e-3, "slope_ohm": 80.0, "knee_v": 0.5, "strike_v": 160.0}
)
"""Like an 0A2 (from memory)."""

FET = Law("depletion_fet", {"idss_a": 4e-3, "pinch_off_v": 2.0, "modulation_v": 100.0, "polarity": 1.0})
NPN = Law("bipolar", {"saturation_a": 1e-14, "gain": 80.0, "early_v": 100.0, "polarity": 1.0})
PNP = Law("bipolar", {**NPN.constants, "polarity": -1.0})


def linear_triode(mu: float, rp_ohm: float) -> Law:
    """A triode whose current is (vg + va / mu) mu / rp: what textbook formulas of small signals suppose."""
    return Law("triode_offset", {"mu": mu, "ex": 1.0, "kg1": 2.0 * rp_ohm / mu, "kp": 5000.0, "kvb": 0.0, "vct": 0.0})


def source(name: str, a: str, b: str, volts: Value, ohm: Value, *, primary_ohm: Value = 0.0) -> MainsTransformer:
    """One winding of `volts` rms off load behind `ohm`, on a transformer of its own."""
    return MainsTransformer(f"{name}_core", volts, primary_ohm, (Winding(name, a, b, 1.0, ohm),))


def full_wave(volts: Value, ohm: Value, law: Law = IDEAL, *, out: str = "p") -> tuple[Element, ...]:
    """Two half windings and two rectifiers into `out`."""
    halves = (Winding("Wa", "w1", "0", 1.0, ohm), Winding("Wb", "0", "w2", 1.0, ohm))
    core = MainsTransformer("T", volts, 0.0, halves)
    return core, Diode("Da", "w1", out, law), Diode("Db", "w2", out, law)


def bridge(volts: Value, ohm: Value, law: Law = SILICON) -> tuple[Element, ...]:
    """One winding and four rectifiers into `p`, the negative end at chassis."""
    return (
        source("W", "w1", "w2", volts, ohm),
        Diode("D1", "w1", "p", law),
        Diode("D2", "w2", "p", law),
        Diode("D3", "0", "w1", law),
        Diode("D4", "0", "w2", law),
    )


def reservoir(farad: Value, ohm: Value, node: str = "p") -> tuple[Element, ...]:
    """A capacitor and a load from `node` to chassis."""
    return Capacitor("C", node, "0", farad), Resistor("RL", node, "0", ohm)


def of(*parts: Element | tuple[Element, ...], hz: float = 50.0) -> Circuit:
    """A circuit of elements and groups of elements."""
    elements: list[Element] = []
    for part in parts:
        elements += part if isinstance(part, tuple) else (part,)
    return Circuit(tuple(elements), hz)


def amplifier(samples: int = 1, *, spread: float = 0.0, seed: int = 1) -> Circuit:
    """A gain stage and a fixed-bias output valve on one choke-smoothed supply with a bias winding on the same core.

    Every value varies within +-`spread`, evenly, when there is more than one sample.
    """
    random = np.random.default_rng(seed)

    def v(value: float) -> Value:
        return value * (1.0 + random.uniform(-spread, spread, samples)) if samples > 1 else value

    windings = (
        Winding("W_HT", "a", "b", v(300.0 / 230.0), v(24.0)),
        Winding("W_BIAS", "c", "0", v(50.0 / 230.0), v(14.0)),
    )
    return Circuit(
        (
            MainsTransformer("T", v(230.0), v(4.5), windings),
            *(
                Diode(n, a, k, SILICON)
                for n, a, k in (("D1", "a", "p"), ("D2", "b", "p"), ("D3", "0", "a"), ("D4", "0", "b"))
            ),
            Capacitor("C1", "p", "0", v(47e-6)),
            Choke("L1", "p", "q", v(5.0), v(85.0)),
            Capacitor("C2", "q", "0", v(47e-6)),
            Resistor("R1", "q", "0", v(220e3)),
            Resistor("R2", "q", "r", v(22e3)),
            Capacitor("C3", "r", "0", v(4.7e-6)),
            Diode("D5", "n", "c", SILICON),
            Capacitor("C4", "0", "n", v(47e-6)),
            Resistor("R3", "n", "m", v(3.3e3)),
            Capacitor("C5", "0", "m", v(47e-6)),
            Pot("P1", "m", "w", "e", v(22e3), 0.01),
            Resistor("R4", "e", "0", v(10e3)),
            Resistor("R5", "w", "g2", v(220e3)),
            Resistor("R6", "q", "p2", v(3.5e3)),
            Resistor("R7", "q", "s2", v(1e3)),
            Resistor("R8", "k2", "0", v(10.0)),
            Valve("V2", "p2", "g2", "k2", EL34, "s2", v(1.0)),
            Resistor("R9", "g1", "0", v(1e6)),
            Resistor("R10", "r", "p1", v(100e3)),
            Resistor("R11", "k1", "0", v(1.5e3)),
            Capacitor("C6", "k1", "0", v(22e-6)),
            Capacitor("C7", "p1", "g2", v(22e-9)),
            Valve("V1", "p1", "g1", "k1", ECC83, None, v(1.0)),
        )
    )
