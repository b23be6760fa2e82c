"""Supplies of the kinds that home-built amplifiers have, against ngspice; test_spice.py holds the others."""

from __future__ import annotations

import pytest

from benchtui.circuit.elements import Capacitor, Choke, Diode, Element, MainsTransformer, Resistor, Winding
from tests.circuit import shapes
from tests.circuit.against import agree_dc, agree_rectifier, agree_ripple, agree_windings, both
from tests.circuit.shapes import RECTIFIER_VALVE, SILICON, of

pytestmark = pytest.mark.spice


def test_half_wave_valve_rectifier_with_two_sections() -> None:
    """Ripple at mains frequency; the second capacitor behind a choke, the third behind a resistor."""
    circuit = of(
        shapes.source("W", "a", "0", 250.0, 120.0, primary_ohm=5.0),
        Diode("D1", "a", "p", RECTIFIER_VALVE),
        Capacitor("C1", "p", "0", 32e-6),
        Choke("L1", "p", "q", 10.0, 350.0),
        Capacitor("C2", "q", "0", 47e-6),
        Resistor("R1", "q", "r", 4700.0),
        Capacitor("C3", "r", "0", 22e-6),
        Resistor("RL", "q", "0", 15e3),
        Resistor("RM", "r", "0", 47e3),
    )
    ours, theirs = both(circuit, run_s=4.0, off=0.99)
    agree_dc(ours, theirs, "p", "q", "r")
    agree_ripple(ours, theirs, "p", "q", "r", share=0.05, least_v=5e-4)
    agree_rectifier(ours, theirs, "D1")
    agree_windings(ours, theirs)
    assert ours.harmonic("p", "0", 1)[0] > ours.harmonic("p", "0", 2)[0]


def test_hybrid_bridge() -> None:
    """Valve diodes to the reservoir, silicon to chassis, with the first capacitor's limit kept small."""
    circuit = of(
        shapes.source("W", "w1", "w2", 320.0, 60.0, primary_ohm=3.0),
        Diode("D1", "w1", "p", RECTIFIER_VALVE),
        Diode("D2", "w2", "p", RECTIFIER_VALVE),
        Diode("D3", "0", "w1", SILICON),
        Diode("D4", "0", "w2", SILICON),
        shapes.reservoir(33e-6, 3500.0),
    )
    ours, theirs = both(circuit, run_s=0.6)
    agree_dc(ours, theirs, "p")
    agree_ripple(ours, theirs, "p")
    agree_rectifier(ours, theirs, "D1", "D3", share=0.05)
    agree_windings(ours, theirs)


def test_choke_input_with_following_sections_and_two_branches() -> None:
    """L-C-L-C, an R-C branch off its first capacitor, and a bleeder: valve rectifier, 50 Hz."""
    circuit = of(
        shapes.full_wave(400.0, 90.0, RECTIFIER_VALVE, out="i"),
        Choke("L1", "i", "p", 10.0, 100.0),
        Capacitor("C1", "p", "0", 20e-6),
        Choke("L2", "p", "q", 8.0, 120.0),
        Capacitor("C2", "q", "0", 40e-6),
        Resistor("RB", "q", "0", 30e3),
        Resistor("RL", "q", "0", 5000.0),
        Resistor("R1", "p", "r", 10e3),
        Capacitor("C3", "r", "0", 22e-6),
        Resistor("RM", "r", "0", 68e3),
    )
    ours, theirs = both(circuit, run_s=2.0, off=0.99)
    agree_dc(ours, theirs, "p", "q", "r", share=0.006)
    agree_ripple(ours, theirs, "i", "p", "r", share=0.05)
    agree_rectifier(ours, theirs, "Da", "Db")
    agree_windings(ours, theirs)


def tapped(*parts: Element) -> tuple[Element, ...]:
    """A centre-tapped winding with a bias tap in its first half and a bridge-less HT supply at `p`."""
    windings = (
        Winding("Wa", "w1", "t", 230.0 / 230.0, 40.0),
        Winding("Wt", "t", "0", 50.0 / 230.0, 10.0),
        Winding("Wb", "0", "w2", 280.0 / 230.0, 52.0),
    )
    return (
        MainsTransformer("T", 230.0, 8.0, windings),
        Diode("Da", "w1", "p", SILICON),
        Diode("Db", "w2", "p", SILICON),
        *shapes.reservoir(47e-6, 4000.0),
        *parts,
    )


def test_bias_from_a_tap_of_the_ht_winding() -> None:
    circuit = of(
        tapped(
            Diode("D1", "x", "t", SILICON),
            Resistor("R1", "n", "x", 470.0),
            Capacitor("C1", "0", "n", 22e-6),
            Resistor("R2", "n", "m", 10e3),
            Capacitor("C2", "0", "m", 22e-6),
            Resistor("R3", "m", "0", 33e3),
        )
    )
    ours, theirs = both(circuit, run_s=1.5)
    agree_dc(ours, theirs, "p", "n", "m")
    agree_ripple(ours, theirs, "p", "n", "m", share=0.05)
    agree_rectifier(ours, theirs, "Da", "Db", "D1", share=0.05)
    agree_windings(ours, theirs)


def test_negative_bias_through_a_capacitor_from_the_ht_winding() -> None:
    """1 kohm and 220 nF from one end of the HT winding, a rectifier to chassis and one to the reservoir."""
    circuit = of(
        tapped(
            Resistor("RC", "w1", "y", 1000.0),
            Capacitor("CC", "y", "x", 220e-9),
            Diode("D1", "x", "0", SILICON),
            Diode("D2", "n", "x", SILICON),
            Capacitor("C1", "0", "n", 22e-6),
            Resistor("R2", "n", "m", 10e3),
            Capacitor("C2", "0", "m", 22e-6),
            Resistor("R3", "m", "0", 15e3),
        )
    )
    ours, theirs = both(circuit, run_s=2.0, off=0.99, unset=("w1", "x", "y"))
    assert -120.0 < ours.dc("m", "0")[0] < -20.0
    agree_dc(ours, theirs, "p", "n", "m", share=0.006)
    agree_ripple(ours, theirs, "p", "n", "m", share=0.05)
    agree_rectifier(ours, theirs, "Da", "D1", "D2", share=0.05)
    agree_windings(ours, theirs)


def bridge(first: int, a: str, b: str, plus: str, minus: str) -> tuple[Element, ...]:
    """Four rectifiers numbered from `first`: the upper two, then the lower two."""
    ends = ((a, plus), (b, plus), (minus, a), (minus, b))
    return tuple(Diode(f"D{first + k}", anode, cathode, SILICON) for k, (anode, cathode) in enumerate(ends))


def test_direct_current_heater_raised_above_chassis() -> None:
    """6.3 V at 0.6 A from a bridge and 10,000 uF, held 40 V up by a divider of the HT."""
    windings = (Winding("W", "w1", "w2", 320.0 / 230.0, 45.0), Winding("WH", "h1", "h2", 7.6 / 230.0, 0.25))
    circuit = of(
        MainsTransformer("T", 230.0, 8.0, windings),
        bridge(1, "w1", "w2", "p", "0"),
        shapes.reservoir(47e-6, 5000.0),
        Resistor("R1", "p", "e", 270e3),
        Resistor("R2", "e", "0", 27e3),
        bridge(5, "h1", "h2", "u", "e"),
        Capacitor("CH", "u", "e", 10e-3),
        Resistor("RH", "u", "e", 10.5),
    )
    ours, theirs = both(circuit, run_s=1.0)
    agree_dc(ours, theirs, "p", "e")
    assert ours.dc("u", "e")[0] == pytest.approx(theirs.dc("u", "e"), rel=0.005)
    assert ours.ac_rms("u", "e")[0] == pytest.approx(theirs.ac("u", "e"), rel=0.05)
    agree_rectifier(ours, theirs, "D1", "D5", "D8", share=0.05)
    agree_windings(ours, theirs)
