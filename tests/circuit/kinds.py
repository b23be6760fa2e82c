"""One small circuit of each kind of supply and stage, to be mutated."""

from __future__ import annotations

from benchtui.circuit.elements import (
    Capacitor,
    Choke,
    Circuit,
    Diode,
    Element,
    Law,
    OutputTransformer,
    Regulator,
    Resistor,
    Transistor,
    Valve,
)
from tests.circuit.shapes import (
    EARLY,
    ECC83,
    EL34,
    FET,
    GAS_150,
    NPN,
    RECTIFIER_VALVE,
    SILICON,
    ZENER_100,
    amplifier,
    bridge,
    full_wave,
    of,
    reservoir,
    source,
)

ECC82 = Law(
    "triode_offset", {"mu": 21.67, "ex": 1.37, "kg1": 1522.0, "kp": 124.7, "kvb": 331.8, "vct": 0.2393, "gg": 1e-3}
)
LED = Law("silicon", {"is_a": 1e-18, "n": 2.0, "rs_ohm": 5.0})


def _fed(*parts: Element | tuple[Element, ...]) -> Circuit:
    rail = Resistor("RQ", "p", "q", 4700.0), Capacitor("CQ", "q", "0", 22e-6)
    return of(full_wave(270.0, 60.0, SILICON), reservoir(68e-6, 15e3), rail, *parts)


def _gain(number: int, law: Law = ECC83, *, cathode_ohm: float = 1500.0) -> tuple[Element, ...]:
    n = str(number)
    return (
        Resistor(f"RA{n}", "q", f"a{n}", 100e3),
        Resistor(f"RK{n}", f"k{n}", "0", cathode_ohm),
        Resistor(f"RG{n}", f"g{n}", "0", 1e6),
        Valve(f"V{n}", f"a{n}", f"g{n}", f"k{n}", law),
    )


def _follower_cascode_and_stack() -> Circuit:
    return _fed(
        _gain(1),
        Valve("V2", "q", "a1", "k2", ECC83),
        Resistor("RK2", "k2", "0", 100e3),
        Resistor("RA3", "q", "a3", 150e3),
        Valve("V3b", "a3", "g3", "j3", ECC83),
        Valve("V3a", "j3", "0", "k3", ECC83),
        Resistor("RK3", "k3", "0", 1200.0),
        Resistor("RD1", "q", "g3", 470e3),
        Resistor("RD2", "g3", "0", 220e3),
        Valve("V4b", "q", "g5", "k5", ECC82),
        Resistor("RK5", "k5", "m5", 1000.0),
        Resistor("RL5", "m5", "a4", 22e3),
        Resistor("RG5", "g5", "m5", 470e3),
        Capacitor("CG5", "g5", "a4", 22e-9),
        Valve("V4a", "a4", "0", "k4", ECC82),
        Resistor("RK4", "k4", "0", 1000.0),
    )


def _paraphase_pair() -> Circuit:
    return _fed(
        _gain(1, cathode_ohm=820.0),
        Resistor("RA2", "q", "a2", 100e3),
        Valve("V1b", "a2", "t", "k1", ECC83),
        Capacitor("C1", "a1", "u", 22e-9),
        Capacitor("C2", "a2", "v", 22e-9),
        Resistor("RU", "u", "t", 220e3),
        Resistor("RV", "v", "t", 220e3),
        Resistor("RT", "t", "0", 220e3),
        OutputTransformer("T2", "x", "p", "y", "s", "0", 25.0, (60.0, 64.0), 0.4, 30.0, 0.02),
        Resistor("SPK", "s", "0", 8.0),
        Valve("V2", "x", "u", "kk", EL34, "fx"),
        Valve("V3", "y", "v", "kk", EL34, "fy"),
        Resistor("RX", "x", "fx", 100.0),
        Resistor("RY", "y", "fy", 100.0),
        Resistor("RKK", "kk", "0", 270.0),
        Capacitor("CKK", "kk", "0", 100e-6),
    )


def _ultra_linear_with_feedback() -> Circuit:
    return _fed(
        _gain(1, ECC82, cathode_ohm=1000.0),
        Capacitor("C1", "a1", "g2", 100e-9),
        Resistor("RG2", "g2", "0", 470e3),
        OutputTransformer(
            "T2", "x", "p", None, "s", "0", 22.0, (180.0,), 0.4, 10.0, 0.03, screen_taps=("t", None, 0.43)
        ),
        Resistor("RF", "t", "f", 470.0),
        Resistor("SPK", "s", "0", 8.0),
        Valve("V2", "x", "g2", "k2", EL34, "f"),
        Resistor("RK2", "k2", "0", 330.0),
        Capacitor("CK2", "k2", "0", 100e-6),
        Resistor("RFB", "s", "k1", 4700.0),
    )


def _direct_coupled_pair_with_tail() -> Circuit:
    return _fed(
        _gain(1),
        Resistor("RA2", "q", "a2", 100e3),
        Resistor("RA3", "q", "a3", 100e3),
        Valve("V2a", "a2", "a1", "k2", ECC83),
        Valve("V2b", "a3", "g3", "k2", ECC83),
        Resistor("RG3", "a1", "g3", 1e6),
        Capacitor("CG3", "g3", "0", 100e-9),
        Resistor("RT", "k2", "0", 68e3),
    )


def _transistor_tails() -> Circuit:
    return _fed(
        _gain(1),
        Resistor("RA2", "q", "a2", 100e3),
        Valve("V2a", "a2", "0", "k2", ECC82),
        Transistor("Q1", "k2", "b1", "e1", NPN),
        Resistor("RE1", "e1", "n", 2200.0),
        Resistor("RB1", "b1", "0", 10e3),
        Resistor("RB2", "b1", "n", 4700.0),
        source("WN", "wn", "0", 20.0, 5.0),
        Diode("DN", "n", "wn", SILICON),
        Capacitor("CN", "0", "n", 100e-6),
        Resistor("RN", "n", "0", 4700.0),
        Valve("V3", "d", "a1", "k3", ECC82),
        Resistor("RA3", "q", "d", 10e3),
        Transistor("Q2", "k3", "s2", "s2r", FET),
        Resistor("RS2", "s2r", "s2", 470.0),
        Resistor("RS3", "s2", "0", 47e3),
    )


def _regulated() -> Circuit:
    return _fed(
        Resistor("RZ", "q", "z", 33e3),
        Regulator("Z1", "0", "z", ZENER_100),
        Resistor("RS", "p", "s", 6800.0),
        Regulator("VR1", "s", "0", GAS_150),
        Resistor("RSL", "s", "0", 47e3),
        _gain(1),
    )


def _grid_leak_and_led() -> Circuit:
    return _fed(
        Resistor("RA1", "q", "a1", 220e3),
        Resistor("RG1", "g1", "0", 10e6),
        Valve("V1", "a1", "g1", "0", EARLY),
        Resistor("RA2", "q", "a2", 100e3),
        Resistor("RG2", "g2", "0", 1e6),
        Valve("V2", "a2", "g2", "k2", ECC82),
        Diode("LED", "k2", "0", LED),
    )


def _choke_input() -> Circuit:
    return of(
        full_wave(400.0, 90.0, RECTIFIER_VALVE, out="i"),
        Choke("L1", "i", "p", 10.0, 100.0),
        Capacitor("C1", "p", "0", 20e-6),
        Choke("L2", "p", "q", 8.0, 120.0),
        Capacitor("C2", "q", "0", 40e-6),
        Resistor("RB", "q", "0", 30e3),
        Resistor("RL", "q", "0", 5000.0),
    )


def _doubler() -> Circuit:
    return of(
        source("W", "w1", "w2", 130.0, 12.0, primary_ohm=4.0),
        Diode("D1", "w1", "p", SILICON),
        Diode("D2", "n", "w1", SILICON),
        Capacitor("C1", "p", "w2", 100e-6),
        Capacitor("C2", "w2", "n", 100e-6),
        Resistor("RN", "n", "0", 1.0),
        Resistor("RL", "p", "0", 6000.0),
    )


def _half_wave_doubler() -> Circuit:
    return of(
        source("W", "w1", "0", 130.0, 12.0),
        Capacitor("C1", "j", "w1", 100e-6),
        Diode("D1", "0", "j", SILICON),
        Diode("D2", "j", "p", SILICON),
        reservoir(100e-6, 6000.0),
        Resistor("R1", "p", "q", 1000.0),
        Capacitor("CQ", "q", "0", 47e-6),
        _gain(1),
    )


def _hybrid_bridge() -> Circuit:
    return of(
        source("W", "w1", "w2", 320.0, 60.0, primary_ohm=3.0),
        Diode("D1", "w1", "p", RECTIFIER_VALVE),
        Diode("D2", "w2", "p", RECTIFIER_VALVE),
        Diode("D3", "0", "w1", SILICON),
        Diode("D4", "0", "w2", SILICON),
        reservoir(33e-6, 3500.0),
    )


def kinds() -> dict[str, Circuit]:
    """Every circuit by what it is."""
    return {
        "amplifier": amplifier(),
        "bridge": of(bridge(250.0, 30.0), reservoir(47e-6, 3000.0)),
        "choke input": _choke_input(),
        "doubler": _doubler(),
        "half-wave doubler": _half_wave_doubler(),
        "hybrid bridge": _hybrid_bridge(),
        "follower, cascode, stack": _follower_cascode_and_stack(),
        "paraphase pair": _paraphase_pair(),
        "ultra-linear with feedback": _ultra_linear_with_feedback(),
        "direct-coupled pair with tail": _direct_coupled_pair_with_tail(),
        "transistor tails": _transistor_tails(),
        "zener and gas regulator": _regulated(),
        "grid leak and LED": _grid_leak_and_led(),
    }
