"""Whole circuits of the kinds that home-built amplifiers have, with nominal values: supply, stages and output.

Values are plausible ones, not those of any amplifier. The laws of valves and rectifiers are shared by both sides.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from benchtui.circuit.elements import (
    Capacitor,
    Choke,
    Circuit,
    Diode,
    Element,
    Law,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Regulator,
    Resistor,
    Transistor,
    Valve,
    Winding,
)
from tests.circuit.shapes import EARLY, ECC83, EL34, FET, GAS_150, NPN, RECTIFIER_VALVE, SILICON, ZENER_100, of

ECC82 = Law("triode_offset", {"mu": 21.67, "ex": 1.37, "kg1": 1522.0, "kp": 124.7, "kvb": 331.8, "vct": 0.2393})
DIRECT = Law("triode_offset", {"mu": 4.2, "ex": 1.4, "kg1": 1180.0, "kp": 60.0, "kvb": 300.0, "vct": 0.0})
SMALL_POWER = Law("pentode_shared_screen", {**EL34.constants, "mu": 19.0, "kg1": 560.0, "kg2": 4500.0})
ZENER_12 = Law("zener", {**ZENER_100.constants, "breakdown_v": 12.0, "at_a": 5e-3, "slope_ohm": 9.0, "knee_v": 0.02})

Parts = tuple[Element, ...]


@dataclass(frozen=True)
class Whole:
    """A circuit, how long ngspice needs to come to rest, and whether its mains transformer is one of real coils."""

    make: Callable[[], Circuit]
    run_s: float = 1.5
    coupled: bool = False
    unset: tuple[str, ...] = ()
    """Nodes that ngspice begins at 0 V: they swing with the mains."""


def core(*windings: tuple[str, str, str, float, float], primary_ohm: float = 8.0) -> MainsTransformer:
    """A 230 V transformer; each winding by name, ends, volts off load and ohms."""
    made = tuple(Winding(name, a, b, volts / 230.0, ohm) for name, a, b, volts, ohm in windings)
    return MainsTransformer("T1", 230.0, primary_ohm, made)


def bridge(first: int, a: str, b: str, plus: str, minus: str = "0") -> Parts:
    ends = ((a, plus), (b, plus), (minus, a), (minus, b))
    return tuple(Diode(f"D{first + k}", anode, cathode, SILICON) for k, (anode, cathode) in enumerate(ends))


def section(n: str, a: str, b: str, ohm: float, farad: float) -> Parts:
    """R and C from `a` to `b`."""
    return Resistor(f"RS{n}", a, b, ohm), Capacitor(f"CS{n}", b, "0", farad)


def gain(n: str, ht: str, law: Law = ECC83, *, ra: float = 100e3, rk: float = 1500.0, bypass: float = 0.0) -> Parts:
    """A triode with cathode bias: nodes a, g, k with its number."""
    parts: Parts = (
        Resistor(f"RA{n}", ht, f"a{n}", ra),
        Resistor(f"RK{n}", f"k{n}", "0", rk),
        Resistor(f"RG{n}", f"g{n}", "0", 470e3),
        Valve(f"V{n}", f"a{n}", f"g{n}", f"k{n}", law),
    )
    return parts + ((Capacitor(f"CK{n}", f"k{n}", "0", bypass),) if bypass else ())


def single_ended(n: str, ht: str, drive: str, law: Law, *, rk: float, screen: str = "", ratio: float = 25.0) -> Parts:
    """A pentode with cathode bias, driven through 100 nF, into 8 ohm; `screen` "" is ultra-linear, else its rail."""
    taps = None if screen else (f"t{n}", None, 0.43)
    return (
        Capacitor(f"CC{n}", drive, f"gp{n}", 100e-9),
        Resistor(f"RGP{n}", f"gp{n}", "0", 470e3),
        Valve(f"VP{n}", f"x{n}", f"gp{n}", f"kp{n}", law, f"f{n}"),
        Resistor(f"RF{n}", screen or f"t{n}", f"f{n}", 470.0),
        Resistor(f"RKP{n}", f"kp{n}", "0", rk),
        Capacitor(f"CKP{n}", f"kp{n}", "0", 220e-6),
        OutputTransformer(f"T{n}", f"x{n}", ht, None, f"s{n}", "0", ratio, (190.0,), 0.5, 12.0, 0.03, screen_taps=taps),
        Resistor(f"SPK{n}", f"s{n}", "0", 8.0),
    )


def directly_heated() -> Circuit:
    """Choke input with a valve rectifier; a triode whose filament is fed with AC, hum pot, cathode resistor."""
    return of(
        core(("Wa", "w1", "0", 360.0, 70.0), ("Wb", "0", "w2", 360.0, 74.0), ("Wf", "f1", "f2", 5.3, 0.12)),
        Diode("V3a", "w1", "i", RECTIFIER_VALVE),
        Diode("V3b", "w2", "i", RECTIFIER_VALVE),
        Choke("L1", "i", "p", 10.0, 95.0),
        Capacitor("C1", "p", "0", 33e-6),
        Choke("L2", "p", "q", 5.0, 60.0),
        Capacitor("C2", "q", "0", 68e-6),
        Resistor("RB", "q", "0", 33e3),
        section("1", "q", "r", 10e3, 22e-6),
        gain("1", "r", ECC82, ra=47e3, rk=1000.0, bypass=100e-6),
        Capacitor("CC", "a1", "g2", 220e-9),
        Resistor("RG2", "g2", "0", 220e3),
        Resistor("F1", "f1", "m", 1.0),
        Resistor("F2", "m", "f2", 1.0),
        Pot("HUM", "f1", "w", "f2", 33.0, 0.44),
        Resistor("RK2", "w", "0", 820.0),
        Capacitor("CK2", "w", "0", 100e-6),
        Valve("V2", "x", "g2", "m", DIRECT),
        OutputTransformer("T2", "x", "q", None, "s", "0", 21.0, (140.0,), 0.4, 15.0, 0.02),
        Resistor("SPK", "s", "0", 8.0),
    )


def two_capacitor_doubler() -> Circuit:
    return of(
        core(("W", "a", "m", 112.0, 8.0)),
        Diode("D1", "a", "p", SILICON),
        Diode("D2", "0", "a", SILICON),
        Capacitor("C1", "p", "m", 150e-6),
        Capacitor("C2", "m", "0", 150e-6),
        Resistor("R1", "p", "m", 150e3),
        Resistor("R2", "m", "0", 150e3),
        section("1", "p", "q", 220.0, 47e-6),
        section("2", "q", "r", 22e3, 10e-6),
        gain("1", "r", ECC83, bypass=22e-6),
        single_ended("2", "q", "a1", SMALL_POWER, rk=180.0, screen="q"),
    )


def cascade_doubler() -> Circuit:
    """Half-wave doubler with its pump capacitor; cascode, direct-coupled follower, stacked triodes; heaters on DC."""
    return of(
        core(("W", "a", "0", 118.0, 15.0), ("Wh", "h1", "h2", 9.0, 0.25)),
        Capacitor("CP", "x", "a", 100e-6),
        Diode("D1", "0", "x", SILICON),
        Diode("D2", "x", "p", SILICON),
        Capacitor("C1", "p", "0", 100e-6),
        Resistor("RB", "p", "0", 100e3),
        section("1", "p", "q", 2200.0, 47e-6),
        gain("1", "q"),
        Valve("V1b", "q", "a1", "o1", ECC83),
        Resistor("RO1", "o1", "0", 100e3),
        Resistor("RA3", "q", "a3", 120e3),
        Valve("V3b", "a3", "g3", "j3", ECC83),
        Valve("V3a", "j3", "0", "k3", ECC83),
        Resistor("RK3", "k3", "0", 1200.0),
        Resistor("RD1", "q", "g3", 470e3),
        Resistor("RD2", "g3", "e", 150e3),
        Capacitor("CD", "g3", "0", 100e-9),
        Valve("V4b", "q", "a4", "k4b", ECC82),
        Resistor("RK4b", "k4b", "a4", 1000.0),
        Valve("V4a", "a4", "0", "k4", ECC82),
        Resistor("RK4", "k4", "0", 1000.0),
        Resistor("RE", "e", "0", 47e3),
        bridge(5, "h1", "h2", "u", "e"),
        Capacitor("CH", "u", "e", 10e-3),
        Resistor("RH", "u", "v", 2.2),
        Capacitor("CH2", "v", "e", 4.7e-3),
        Resistor("HTR", "v", "e", 9.0),
    )


def hybrid_bridge() -> Circuit:
    """Valve halves to the reservoir, silicon to chassis, one untapped winding; ultra-linear pair, bias by capacitor."""
    return of(
        core(("W", "w1", "w2", 330.0, 55.0), primary_ohm=6.0),
        Diode("V5a", "w1", "p", RECTIFIER_VALVE),
        Diode("V5b", "w2", "p", RECTIFIER_VALVE),
        Diode("D1", "0", "w1", SILICON),
        Diode("D2", "0", "w2", SILICON),
        Capacitor("C1", "p", "0", 33e-6),
        Choke("L1", "p", "q", 5.0, 110.0),
        Capacitor("C2", "q", "0", 47e-6),
        Resistor("RB", "q", "0", 220e3),
        Resistor("RC", "w1", "y", 10e3),
        Capacitor("CC", "y", "z", 150e-9),
        Diode("D3", "z", "0", SILICON),
        Diode("D4", "n", "z", SILICON),
        Capacitor("C3", "0", "n", 47e-6),
        Resistor("RN", "n", "b", 10e3),
        Capacitor("C4", "0", "b", 47e-6),
        Resistor("RM", "b", "0", 10e3),
        section("1", "q", "r", 15e3, 22e-6),
        # cathodyne on the anode of a gain stage
        gain("1", "r", ra=220e3, rk=1800.0),
        Resistor("RA2", "r", "a2", 47e3),
        Resistor("RK2", "k2", "0", 47e3),
        Valve("V2", "a2", "a1", "k2", ECC83),
        Capacitor("CX", "a2", "gx", 100e-9),
        Capacitor("CY", "k2", "gy", 100e-9),
        Resistor("RGX", "gx", "b", 220e3),
        Resistor("RGY", "gy", "b", 220e3),
        Valve("V3", "ax", "gx", "kx", EL34, "tx"),
        Valve("V4", "ay", "gy", "ky", EL34, "ty"),
        Resistor("RKX", "kx", "0", 10.0),
        Resistor("RKY", "ky", "0", 10.0),
        OutputTransformer(
            "T2", "ax", "q", "ay", "s", "0", 28.0, (90.0, 96.0), 0.4, 60.0, 0.01, 500e-12, 60e3, ("tx", "ty", 0.43)
        ),
        Resistor("SPK", "s", "0", 8.0),
    )


def stereo() -> Circuit:
    """Two ultra-linear channels on one bridge, one with feedback and one without, one output valve half worn."""
    worn = Law("pentode_shared_screen", {**SMALL_POWER.constants, "kg1": 800.0, "kg2": 6400.0})
    return of(
        core(("W", "w1", "w2", 245.0, 14.0), ("Wh", "h", "0", 6.7, 0.06)),
        bridge(1, "w1", "w2", "p"),
        Capacitor("C1", "p", "0", 100e-6),
        Choke("L1", "p", "q", 3.0, 60.0),
        Capacitor("C2", "q", "0", 100e-6),
        Resistor("RB", "q", "0", 100e3),
        Resistor("HTR", "h", "0", 1.7),
        section("L", "q", "rl", 10e3, 22e-6),
        section("R", "q", "rr", 10e3, 22e-6),
        gain("1", "rl", ECC83),
        gain("2", "rr", ECC83),
        Resistor("RFB", "s3", "k1", 10e3),
        single_ended("3", "q", "a1", SMALL_POWER, rk=150.0),
        single_ended("4", "q", "a2", worn, rk=150.0),
    )


def fixed_bias_by_tap() -> Circuit:
    """Bias from a tap of the HT winding, a long-tailed pair on a transistor, fixed bias, feedback from the speaker."""
    return of(
        core(("Wa", "w1", "t", 230.0, 25.0), ("Wt", "t", "0", 55.0, 8.0), ("Wb", "0", "w2", 285.0, 34.0)),
        Diode("D1", "w1", "p", SILICON),
        Diode("D2", "w2", "p", SILICON),
        Capacitor("C1", "p", "0", 68e-6),
        Resistor("R1", "p", "q", 150.0),
        Capacitor("C2", "q", "0", 68e-6),
        Resistor("RB", "q", "0", 100e3),
        Diode("D3", "n", "t", SILICON),
        Capacitor("C3", "0", "n", 47e-6),
        Resistor("RN", "n", "b", 4700.0),
        Capacitor("C4", "0", "b", 47e-6),
        Pot("P1", "b", "wx", "e", 22e3, 0.3),
        Pot("P2", "b", "wy", "e", 22e3, 0.36),
        Resistor("RE", "e", "0", 15e3),
        section("1", "q", "r", 10e3, 22e-6),
        Resistor("RA1", "r", "a1", 82e3),
        Resistor("RA2", "r", "a2", 82e3),
        Resistor("RG1", "g1", "0", 470e3),
        Valve("V1a", "a1", "g1", "kt", ECC83),
        Valve("V1b", "a2", "g2", "kt", ECC83),
        Resistor("RG2", "g2", "0", 1000.0),
        Resistor("RFB", "s", "g2", 10e3),
        Transistor("Q1", "kt", "qb", "qe", NPN),
        Regulator("Z1", "b", "qb", ZENER_12),
        Resistor("RQB", "qb", "0", 10e3),
        Resistor("RQE", "qe", "b", 6800.0),
        Capacitor("CX", "a1", "gx", 100e-9),
        Capacitor("CY", "a2", "gy", 100e-9),
        Resistor("RGX", "gx", "wx", 220e3),
        Resistor("RGY", "gy", "wy", 220e3),
        Valve("V2", "ax", "gx", "kx", EL34, "fx"),
        Valve("V3", "ay", "gy", "ky", EL34, "fy"),
        Resistor("RFX", "q", "fx", 1000.0),
        Resistor("RFY", "q", "fy", 1000.0),
        Resistor("RKX", "kx", "0", 10.0),
        Resistor("RKY", "ky", "0", 10.0),
        OutputTransformer("T2", "ax", "q", "ay", "s", "0", 28.0, (80.0, 88.0), 0.4, 60.0, 0.01, 500e-12, 60e3),
        Resistor("SPK", "s", "0", 8.0),
    )


def regulated() -> Circuit:
    """Gas regulators for the screen, a zener diode under a cathode, a field-effect transistor as anode load."""
    return of(
        core(("W", "w1", "w2", 285.0, 30.0)),
        bridge(1, "w1", "w2", "p"),
        Capacitor("C1", "p", "0", 68e-6),
        Resistor("R1", "p", "q", 330.0),
        Capacitor("C2", "q", "0", 68e-6),
        Resistor("RB", "q", "0", 150e3),
        Resistor("RZ", "q", "z2", 2700.0),
        Regulator("G1", "z2", "z1", GAS_150),
        Resistor("RG1S", "z1", "z0", 4700.0),
        Regulator("Z1", "0", "z0", ZENER_100),
        section("1", "q", "r", 15e3, 22e-6),
        Transistor("Q1", "r", "a1", "qs", FET),
        Resistor("RQ", "qs", "a1", 820.0),
        Capacitor("CA1", "a1", "0", 220e-12),
        Resistor("RG1", "g1", "0", 470e3),
        Valve("V1", "a1", "g1", "k1", ECC82),
        Resistor("RK1", "k1", "0", 2200.0),
        Capacitor("CC", "a1", "g2", 100e-9),
        Resistor("RG2", "g2", "0", 220e3),
        Valve("V2", "x", "g2", "k2", EL34, "f"),
        Resistor("RF", "z2", "f", 100.0),
        Resistor("RK2", "k2", "kz", 180.0),
        Regulator("Z2", "0", "kz", ZENER_12),
        OutputTransformer("T2", "x", "q", None, "s", "0", 25.0, (190.0,), 0.5, 12.0, 0.03),
        Resistor("SPK", "s", "0", 8.0),
    )


def grid_leak_bias() -> Circuit:
    """A half-wave supply, a first valve biased by its grid leak alone, then a paraphase pair."""
    return of(
        core(("W", "a", "0", 250.0, 110.0), primary_ohm=25.0),
        Diode("V4", "a", "p", RECTIFIER_VALVE),
        Capacitor("C1", "p", "0", 47e-6),
        Choke("L1", "p", "q", 10.0, 400.0),
        Capacitor("C2", "q", "0", 47e-6),
        Resistor("RB", "q", "0", 68e3),
        section("1", "q", "r", 22e3, 22e-6),
        Resistor("RA1", "r", "a1", 220e3),
        Valve("V1", "a1", "g1", "0", EARLY),
        Resistor("RG1", "g1", "0", 10e6),
        Capacitor("CG1", "g1", "in", 10e-9),
        Resistor("RIN", "in", "0", 1e6),
        gain("2", "r", rk=820.0),
        Capacitor("C12", "a1", "g2", 10e-9),
        Resistor("RA3", "r", "a3", 100e3),
        Valve("V3", "a3", "g3", "k2", ECC83),
        Capacitor("CX", "a2", "u", 22e-9),
        Capacitor("CY", "a3", "v", 22e-9),
        Resistor("RU", "u", "g3", 220e3),
        Resistor("RV", "v", "g3", 220e3),
        Resistor("RT", "g3", "0", 220e3),
    )


WHOLE: dict[str, Whole] = {
    "choke input, directly heated": Whole(directly_heated, run_s=1.6, coupled=True),
    "doubler of two capacitors": Whole(two_capacitor_doubler, run_s=1.0),
    "doubler with a pump, small valves": Whole(cascade_doubler, run_s=2.5, unset=("h1", "h2")),
    "hybrid bridge, ultra-linear pair": Whole(hybrid_bridge, run_s=2.0, unset=("w1", "w2", "y", "z")),
    "stereo on one supply": Whole(stereo, coupled=True),
    "long-tailed pair, fixed bias by tap": Whole(fixed_bias_by_tap, coupled=True),
    "regulators, current source": Whole(regulated),
    "grid leak, paraphase, half wave": Whole(grid_leak_bias, run_s=2.0),
}
