"""Stages of the kinds that home-built amplifiers have, on a supply with ripple, against ngspice."""

from __future__ import annotations

import pytest

from benchtui.circuit.elements import Capacitor, Circuit, Diode, Element, Law, OutputTransformer, Resistor, Valve
from benchtui.circuit.operate import operate
from tests.circuit import shapes
from tests.circuit.against import agree_dc, agree_ripple, both
from tests.circuit.shapes import ECC83, EL34, SILICON, of

pytestmark = pytest.mark.spice

ECC82 = Law("triode_offset", {"mu": 21.67, "ex": 1.37, "kg1": 1522.0, "kp": 124.7, "kvb": 331.8, "vct": 0.2393})
"""Constants fitted to the 6SN7 (see test_devices.py)."""


def fed(*parts: Element | tuple[Element, ...]) -> Circuit:
    """The parts under `p` (tens of millivolts of ripple) and `q` behind 4.7 kohm."""
    return of(
        shapes.full_wave(270.0, 60.0, SILICON),
        shapes.reservoir(68e-6, 15e3),
        Resistor("RQ", "p", "q", 4700.0),
        Capacitor("CQ", "q", "0", 22e-6),
        *parts,
    )


def plain(name: str, law: Law = ECC83, *, anode: str, grid: str, cathode: str) -> tuple[Element, ...]:
    return (Valve(name, anode, grid, cathode, law),)


def test_grid_leak_bias_settles_where_grid_current_meets_the_leak() -> None:
    """10 Mohm and a cathode at chassis; and the same behind a pentode's grid, whose law begins at -0.7 V."""
    early = Law("triode_offset", {**shapes.ECC83.constants, "vct": 0.0, "start_v": 0.6})
    early = Law("triode_offset", {k: v for k, v in early.constants.items() if k not in ("gi",)})
    pentode = Law("pentode_shared_screen", {**EL34.constants, "kg1": 2500.0, "kg2": 12000.0, "start_v": 0.7, "gi": 0.0})
    circuit = fed(
        Resistor("RA", "q", "a", 220e3),
        Resistor("RG", "g", "0", 10e6),
        Capacitor("CG", "g", "in", 10e-9),
        Resistor("RI", "in", "0", 1e6),
        Valve("V1", "a", "g", "0", early),
        Resistor("RB", "q", "b", 47e3),
        Resistor("RS", "q", "s", 220e3),
        Capacitor("CS", "s", "0", 100e-9),
        Resistor("RH", "h", "0", 4.7e6),
        Capacitor("CH", "h", "in", 10e-9),
        Valve("V2", "b", "h", "0", pentode, "s"),
    )
    ours, theirs = both(circuit, run_s=1.0)
    agree_dc(ours, theirs, "q", "a", "g", "b", "s", "h", share=0.006)
    agree_ripple(ours, theirs, "q", "a", "b", share=0.05)
    assert -0.9 < ours.dc("g", "0")[0] < -0.4, "grid current of tens of nanoamperes"
    assert ours.valve("V1").grid_a[0] == pytest.approx(-ours.dc("g", "0")[0] / 10e6, rel=1e-4)


def test_follower_cascode_and_stacked_triodes() -> None:
    circuit = fed(
        # a gain stage and a cathode follower on its anode
        Resistor("RA1", "q", "a1", 100e3),
        Resistor("RK1", "k1", "0", 1500.0),
        Resistor("RG1", "g1", "0", 1e6),
        *plain("V1a", anode="a1", grid="g1", cathode="k1"),
        *plain("V1b", anode="q", grid="a1", cathode="k2"),
        Resistor("RK2", "k2", "0", 100e3),
        # cascode: the upper grid held by a divider with a capacitor
        Resistor("RA3", "q", "a3", 150e3),
        *plain("V2b", anode="a3", grid="g3", cathode="a2"),
        *plain("V2a", anode="a2", grid="0", cathode="k3"),
        Resistor("RK3", "k3", "0", 1200.0),
        Resistor("RD1", "q", "g3", 470e3),
        Resistor("RD2", "g3", "0", 220e3),
        Capacitor("CD", "g3", "0", 47e-9),
        # two triodes stacked: the upper is the anode load of the lower, its grid fed through a capacitor
        *plain("V3b", ECC82, anode="q", grid="g5", cathode="k5"),
        Resistor("RK5", "k5", "m5", 1000.0),
        Resistor("RL5", "m5", "a4", 22e3),
        Resistor("RG5", "g5", "m5", 470e3),
        Capacitor("CG5", "g5", "a4", 22e-9),
        *plain("V3a", ECC82, anode="a4", grid="0", cathode="k4"),
        Resistor("RK4", "k4", "0", 1000.0),
        Capacitor("CK4", "k4", "0", 47e-6),
        # and with equal halves, taken off between them
        *plain("V4b", ECC82, anode="q", grid="a6", cathode="k7"),
        Resistor("RK7", "k7", "a6", 1000.0),
        *plain("V4a", ECC82, anode="a6", grid="0", cathode="k6"),
        Resistor("RK6", "k6", "0", 1000.0),
    )
    ours, theirs = both(circuit, run_s=1.2, off=0.99)
    agree_dc(ours, theirs, "q", "a1", "k1", "k2", "a3", "a2", "g3", "k3", "k5", "m5", "a4", "k4", "k7", "a6", "k6")
    agree_ripple(ours, theirs, "q", "a1", "k2", "a3", "k5", "a4", "k7", "a6", share=0.05)
    # equal valves with equal currents and resistors have equal volts: the join of the halves stands at half the supply
    assert ours.dc("a6", "0")[0] == pytest.approx(0.5 * ours.dc("q", "0")[0], rel=1e-5)


def test_paraphase_splitter_and_triode_strapped_pair() -> None:
    """The second half is driven from a tap between the two output grids; the output valves are pentodes as triodes."""
    transformer = OutputTransformer("T2", "x", "p", "y", "s", "0", 25.0, (60.0, 64.0), 0.4, 30.0, 0.02)
    circuit = fed(
        Resistor("RA1", "q", "a1", 100e3),
        Resistor("RA2", "q", "a2", 100e3),
        Resistor("RK", "k", "0", 820.0),
        Resistor("RG", "g1", "0", 1e6),
        *plain("V1a", anode="a1", grid="g1", cathode="k"),
        *plain("V1b", anode="a2", grid="t", cathode="k"),
        Capacitor("C1", "a1", "u", 22e-9),
        Capacitor("C2", "a2", "v", 22e-9),
        Resistor("RU", "u", "t", 220e3),
        Resistor("RV", "v", "t", 220e3),
        Resistor("RT", "t", "0", 220e3),
        transformer,
        Resistor("SPK", "s", "0", 8.0),
        Valve("V2", "x", "u", "kk", EL34, "fx"),
        Valve("V3", "y", "v", "kk", EL34, "fy"),
        Resistor("RX", "x", "fx", 100.0),
        Resistor("RY", "y", "fy", 100.0),
        Resistor("RKK", "kk", "0", 270.0),
        Capacitor("CKK", "kk", "0", 100e-6),
    )
    ours, theirs = both(circuit, run_s=1.2, off=0.99)
    agree_dc(ours, theirs, "p", "q", "a1", "a2", "k", "x", "y", "fx", "kk")
    agree_ripple(ours, theirs, "p", "q", "a1", "x", "s", share=0.05)


@pytest.mark.parametrize("tapped", [False, True], ids=["pentode", "ultra-linear"])
def test_feedback_around_the_output_transformer(tapped: bool) -> None:
    """From the loudspeaker to the first cathode: the hum that reaches the speaker is that of the closed loop."""
    taps = ("t", None, 0.43) if tapped else None
    screen = Resistor("RF", "t" if tapped else "q", "f", 470.0), Capacitor("CF", "f", "0", 470e-12)
    stage = (
        Resistor("RA1", "q", "a1", 100e3),
        Resistor("RK1", "k1", "0", 1000.0),
        Resistor("RG1", "g1", "0", 470e3),
        *plain("V1", ECC82, anode="a1", grid="g1", cathode="k1"),
        Capacitor("CA1", "a1", "0", 220e-12),
        Capacitor("C1", "a1", "g2", 100e-9),
        Resistor("RG2", "g2", "0", 470e3),
        OutputTransformer("T2", "x", "p", None, "s", "0", 22.0, (180.0,), 0.4, 10.0, 0.03, screen_taps=taps),
        *screen,
        Resistor("RD", "p", "x", 47e3),
        Resistor("SPK", "s", "0", 8.0),
        Valve("V2", "x", "g2", "k2", EL34, "f"),
        Resistor("RK2", "k2", "0", 330.0),
        Capacitor("C2", "k2", "0", 100e-6),
    )
    loop = Resistor("RFB", "s", "k1", 4700.0)
    ours, theirs = both(fed(stage, loop), run_s=1.0, off=0.99)
    agree_dc(ours, theirs, "p", "q", "a1", "k1", "x", "f", "k2")
    agree_ripple(ours, theirs, "p", "q", "a1", "x", "s", share=0.05)
    opened = operate(fed(stage))
    assert ours.ac_rms("s", "0")[0] != pytest.approx(opened.ac_rms("s", "0")[0], rel=0.1), "the loop must matter"


def test_a_diode_in_the_cathode_carries_direct_current_alone() -> None:
    """A light-emitting diode as bias: cut off where the rounds begin, a rectifier by its law, but fed by no winding.

    The two milliamperes are a fiftieth of what the HT rectifiers carry: agreement must be asked of each by itself.
    """
    diode = Law("silicon", {"is_a": 1e-18, "n": 2.0, "rs_ohm": 5.0})
    circuit = fed(
        Resistor("RA1", "q", "a1", 100e3),
        Resistor("RG1", "g1", "0", 1e6),
        *plain("V1", ECC82, anode="a1", grid="g1", cathode="k1"),
        Diode("LED", "k1", "0", diode),
    )
    ours, theirs = both(circuit, run_s=1.0, off=0.98)
    agree_dc(ours, theirs, "p", "q", "a1", "k1")
    agree_ripple(ours, theirs, "q", "a1", share=0.05)
    assert 1.7 < ours.dc("k1", "0")[0] < 2.0
