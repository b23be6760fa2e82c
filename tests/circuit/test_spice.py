"""Whole circuits against ngspice, which starts a tenth off our DC and is run until it has come to rest."""

from __future__ import annotations

import pytest

from benchtui.circuit.elements import (
    Capacitor,
    Choke,
    Circuit,
    Diode,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Resistor,
    Valve,
    Winding,
)
from benchtui.circuit.operate import operate
from benchtui.circuit.probe import Probe, readings
from tests.circuit import shapes
from tests.circuit.against import agree_dc, agree_rectifier, agree_ripple, both
from tests.circuit.shapes import EL34, RECTIFIER_VALVE, SILICON, of

pytestmark = pytest.mark.spice


def test_valve_rectifier_and_two_capacitors_with_a_choke() -> None:
    circuit = of(
        shapes.full_wave(280.0, 75.0, RECTIFIER_VALVE),
        Capacitor("C1", "p", "0", 16e-6),
        Choke("L1", "p", "q", 8.0, 260.0),
        Capacitor("C2", "q", "0", 22e-6),
        Resistor("RL", "q", "0", 4000.0),
    )
    ours, theirs = both(circuit)
    agree_dc(ours, theirs, "p", "q")
    agree_ripple(ours, theirs, "p", "q")
    agree_rectifier(ours, theirs, "Da", "Db")
    assert ours.rms("Wa")[0] == pytest.approx(ours.rms("Da")[0], rel=1e-3)
    wave = theirs.volts("p")
    assert ours.ac_pp("p", "0")[0] == pytest.approx(wave.max() - wave.min(), rel=0.02)


@pytest.mark.parametrize(("load_ohm", "regime"), [(2500.0, "continuous"), (20000.0, "broken")])
def test_choke_input_above_and_below_the_critical_current(load_ohm: float, regime: str) -> None:
    circuit = of(
        shapes.full_wave(300.0, 50.0, RECTIFIER_VALVE, out="i"),
        Choke("L1", "i", "p", 10.0, 100.0),
        shapes.reservoir(10e-6, load_ohm),
    )
    ours, theirs = both(circuit, run_s=1.0, off=0.98)
    conducting = (theirs.amps("Da") + theirs.amps("Db") > 1e-4).mean()
    assert (conducting > 0.999) == (regime == "continuous")
    agree_dc(ours, theirs, "p", share=0.006)
    agree_ripple(ours, theirs, "p")
    agree_rectifier(ours, theirs, "Da")


def test_doubler_of_two_capacitors() -> None:
    circuit = of(
        shapes.source("W", "a", "m", 120.0, 10.0),
        Diode("D1", "a", "p", SILICON),
        Diode("D2", "0", "a", SILICON),
        Capacitor("C1", "p", "m", 47e-6),
        Capacitor("C2", "m", "0", 47e-6),
        Resistor("RL", "p", "0", 5000.0),
    )
    ours, theirs = both(circuit, run_s=1.5)
    agree_dc(ours, theirs, "p", "m")
    agree_ripple(ours, theirs, "p", "m")
    agree_rectifier(ours, theirs, "D1", "D2", share=0.05)


def test_half_wave_doubler_with_a_pump_capacitor() -> None:
    circuit = of(
        shapes.source("W", "a", "0", 120.0, 10.0),
        Capacitor("C1", "x", "a", 22e-6),
        Diode("D1", "0", "x", SILICON),
        Diode("D2", "x", "p", SILICON),
        shapes.reservoir(22e-6, 10e3),
    )
    ours, theirs = both(circuit, run_s=1.5)
    agree_dc(ours, theirs, "p", "x")
    agree_ripple(ours, theirs, "p")
    agree_rectifier(ours, theirs, "D1", "D2", share=0.05)


def test_bridge_bias_and_heater_on_one_primary() -> None:
    windings = (
        Winding("W_HT", "a", "b", 300.0 / 230.0, 24.0),
        Winding("W_BIAS", "c", "0", 50.0 / 230.0, 14.0),
        Winding("W_H", "h", "0", 6.6 / 230.0, 0.05),
    )
    circuit = of(
        MainsTransformer("T", 230.0, 25.0, windings),
        *(
            Diode(name, anode, cathode, SILICON)
            for name, anode, cathode in (("D1", "a", "p"), ("D2", "b", "p"), ("D3", "0", "a"), ("D4", "0", "b"))
        ),
        shapes.reservoir(47e-6, 3000.0),
        Diode("D5", "n", "c", SILICON),
        Capacitor("C2", "0", "n", 22e-6),
        Resistor("R2", "n", "0", 10e3),
        Resistor("RH", "h", "0", 2.1),
    )
    ours, theirs = both(circuit)
    agree_dc(ours, theirs, "p", "n")
    agree_ripple(ours, theirs, "p", "n")
    agree_rectifier(ours, theirs, "D1", "D4", "D5", share=0.05)
    assert ours.ac_rms("h", "0")[0] == pytest.approx(theirs.ac("h"), rel=0.003)
    alone = operate(Circuit(tuple(e for e in circuit.elements if not isinstance(e, Diode)), 50.0))
    assert ours.ac_rms("h", "0")[0] < 0.99 * alone.ac_rms("h", "0")[0], "the HT's load must pull the heaters down"


def single_ended() -> Circuit:
    return of(
        shapes.full_wave(280.0, 60.0, SILICON),
        Capacitor("C1", "p", "0", 33e-6),
        Resistor("R1", "p", "q", 470.0),
        Capacitor("C2", "q", "0", 22e-6),
        OutputTransformer("T2", "x", "q", None, "s", "0", 20.0, (180.0,), 0.4, 10.0, 0.03),
        Resistor("SPK", "s", "0", 8.0),
        Valve("V1", "x", "g", "k", EL34, "f"),
        Resistor("R2", "q", "f", 2200.0),
        Resistor("R3", "g", "0", 220e3),
        Resistor("R4", "k", "0", 330.0),
        Capacitor("C3", "k", "0", 47e-6),
    )


def test_single_ended_stage_with_ripple_through_its_transformer() -> None:
    ours, theirs = both(single_ended())
    agree_dc(ours, theirs, "p", "q", "x", "f", "k")
    agree_ripple(ours, theirs, "p", "q", "x", "s", share=0.04)
    assert ours.dc("s", "0")[0] == pytest.approx(0.0, abs=1e-6)


def test_ultra_linear_push_pull_pair_out_of_balance() -> None:
    transformer = OutputTransformer(
        "T2", "x", "q", "y", "s", "0", 20.6, (48.0, 53.0), 0.3, 40.0, 0.012, screen_taps=("f", "h", 0.4)
    )
    circuit = of(
        shapes.bridge(300.0, 31.0),
        Capacitor("C1", "p", "0", 33e-6),
        Choke("L1", "p", "q", 5.0, 85.0),
        Capacitor("C2", "q", "0", 22e-6),
        transformer,
        Resistor("SPK", "s", "0", 8.0),
        Valve("V1", "x", "g", "k", EL34, "f"),
        Valve("V2", "y", "g", "c", EL34, "h"),
        Resistor("R3", "g", "0", 220e3),
        Resistor("R4", "k", "0", 470.0),
        Resistor("R5", "c", "0", 560.0),
    )
    ours, theirs = both(circuit)
    agree_dc(ours, theirs, "p", "q", "x", "y", "f", "h", "k", "c")
    agree_ripple(ours, theirs, "p", "q", "x", "y", "f", "s", share=0.05)


def test_amplifier_with_fixed_bias_on_the_same_core() -> None:
    at = operate(shapes.amplifier())
    circuit = shapes.amplifier()
    elements = [
        Pot(e.name, e.end_1, e.wiper, e.end_2, e.ohm, 0.55) if isinstance(e, Pot) else e for e in circuit.elements
    ]
    ours, theirs = both(Circuit(tuple(elements), 50.0), run_s=3.0, off=0.98)
    assert ours.dc("k2", "0")[0] > 3 * at.dc("k2", "0")[0], "the pot must matter"
    agree_dc(ours, theirs, "p", "q", "r", "n", "m", "g2", "k2", "p2", "s2", "p1", "k1")
    # at `r`, a quarter of a millivolt, what is left of the settling drowns the ripple
    agree_ripple(ours, theirs, "p", "q", "n", "m", "p2", share=0.05)


def test_one_half_of_the_rectifier_weak() -> None:
    weak = Diode("Db", "w2", "p", RECTIFIER_VALVE, 0.4)
    core, strong, _ = shapes.full_wave(280.0, 75.0, RECTIFIER_VALVE)
    circuit = of(core, strong, weak, shapes.reservoir(22e-6, 4000.0))
    ours = operate(circuit)
    law = {"perveance_a_v15": 0.4 * RECTIFIER_VALVE.constants["perveance_a_v15"]}
    spelled = of(
        core, strong, Diode("Db", "w2", "p", type(weak.law)("vacuum_perveance", law)), shapes.reservoir(22e-6, 4000.0)
    )
    _, theirs = both(spelled)
    agree_dc(ours, theirs, "p")
    agree_ripple(ours, theirs, "p")
    agree_rectifier(ours, theirs, "Da", "Db")


def test_an_ac_meter_on_a_winding_that_hangs_between_blocking_rectifiers() -> None:
    """Only strays hold it then, so 10 Mohm lower the reading by a fifth; ngspice has the meter in the circuit."""
    bare = of(shapes.bridge(300.0, 31.0), shapes.reservoir(47e-6, 4000.0))
    meter = Capacitor("CM", "w1", "x", 1e-6), Resistor("RM", "x", "0", 10e6)
    _, theirs = both(Circuit((*bare.elements, *meter), 50.0), run_s=2.0)
    free, loaded = readings(operate(bare), [Probe("w1", "0", "ac"), Probe("w1", "0", "ac", 10e6)])[0]
    assert loaded == pytest.approx(theirs.ac("x"), rel=0.02)
    assert loaded < 0.85 * free
