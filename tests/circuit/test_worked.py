"""Worked figures of a handbook that fit no other module: supplies, dissipation, bias, elevation, feedback.

Its formulas are closed forms, worked there and again by a script; the tolerance beside each is the handbook's.
"""

from __future__ import annotations

from math import log10, pi, sqrt

import numpy as np
import pytest

from benchtui.circuit.elements import Capacitor, Diode, Element, Law, OutputTransformer, Resistor, Valve
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating, waveform
from benchtui.circuit.resistance import resistance
from tests.circuit import shapes
from tests.circuit.against import both
from tests.circuit.shapes import ECC83, EL34, IDEAL, linear_triode, of
from tests.circuit.test_small_signal import SIGNAL_V, gain, stage

LOAD = 4000.0


def battery(volts: float) -> tuple[Element, ...]:
    """Direct volts at `p`: a full-wave supply behind a millionth of any load."""
    return *shapes.full_wave(volts / sqrt(2.0), 1e-3), Capacitor("CB", "p", "0", 1.0)


@pytest.mark.parametrize(
    ("omega_c_rl", "rs_over_rl", "ripple", "within"),
    [(40, 0.02, 0.05166, 0.0041), (40, 0.05, 0.04243, 0.0034), (100, 0.1, 0.01369, 0.0011)],
)
def test_ripple_is_what_the_reservoir_loses_while_nothing_conducts(
    omega_c_rl: float, rs_over_rl: float, ripple: float, within: float
) -> None:
    """Vpp / Vpk = Idc / (2 f C) (1 - conduction / half cycle)."""
    farad = omega_c_rl / (2 * pi * 50.0 * LOAD)
    found = operate(of(shapes.full_wave(400.0 / sqrt(2.0), rs_over_rl * LOAD), shapes.reservoir(farad, LOAD)))
    assert found.ac_pp("p", "0")[0] / 400.0 == pytest.approx(ripple, abs=within)


def test_healthy_halves_leave_nothing_at_mains_frequency_and_a_dead_one_does() -> None:
    """wCR 40, Rs/RL 0.05: 0 (0.0001) and 0.0355 (0.002) of the peak."""
    core, first, second = shapes.full_wave(400.0 / sqrt(2.0), 0.05 * LOAD)
    load = shapes.reservoir(40.0 / (2 * pi * 50.0 * LOAD), LOAD)
    healthy, dead = operate(of((core, first, second), load)), operate(of((core, first), load))
    assert sqrt(2) * healthy.harmonic("p", "0", 1)[0] / 400.0 == pytest.approx(0.0, abs=1e-4)
    assert sqrt(2) * dead.harmonic("p", "0", 1)[0] / 400.0 == pytest.approx(0.0355, abs=0.002)


def test_no_load_at_high_mains() -> None:
    """300 V rated, 8 % regulation, mains a tenth high: sqrt 2 x 300 x 1.08 x 1.1 = 504.0 V (2)."""
    found = operate(of(shapes.full_wave(300.0 * 1.08 * 1.1, 60.0), shapes.reservoir(47e-6, 10e6)))
    assert found.dc("p", "0")[0] == pytest.approx(504.0, abs=2.0)


@pytest.mark.parametrize(("bridge", "volts"), [(False, 989.9), (True, 989.9 / 2)])
def test_inverse_volts(bridge: bool, volts: float) -> None:
    """350 V rms: 2 sqrt 2 V with a centre tap, 989.9 V (2); half of it in a bridge."""
    supply = shapes.bridge(350.0, 1.0, IDEAL) if bridge else shapes.full_wave(350.0, 1.0)
    found = operate(of(supply, shapes.reservoir(100e-6, 1e6)))
    diode = next(e for e in found.circuit.elements if isinstance(e, Diode))
    wave = waveform(found.between(found.phasors, diode.cathode, diode.anode))[:, 0]
    assert found.dc(diode.cathode, diode.anode)[0] + wave.max() == pytest.approx(volts, abs=2.0)


def test_a_negative_supply_without_load() -> None:
    """50 V rms: 70.71 V (0.5)."""
    found = operate(
        of(
            shapes.source("W", "a", "0", 50.0, 10.0),
            Diode("D", "n", "a", IDEAL),
            Capacitor("C", "0", "n", 47e-6),
            Resistor("R", "n", "0", 1e7),
        )
    )
    assert found.dc("n", "0")[0] == pytest.approx(-70.71, abs=0.5)


def test_watts_of_a_bleeder_and_of_a_bleed_lead() -> None:
    """400 V on 220 kohm: 0.7273 W (0.005); 450 V on 2.2 kohm for an instant: 204.5 mA (1), 92.05 W (0.5)."""
    bleeder = operate(of(battery(400.0), Resistor("R", "p", "0", 220e3)))
    lead = operate(of(battery(450.0), Resistor("R", "p", "0", 2200.0)))
    assert bleeder.power("R")[0] == pytest.approx(0.7273, abs=0.005)
    assert lead.power("R")[0] == pytest.approx(92.05, abs=0.5)
    assert lead.current("R")[0] == pytest.approx(0.2045, abs=0.001)


def test_heaters_raised_by_a_divider() -> None:
    """300 V, 220 and 47 kohm: 52.81 V (0.5)."""
    found = operate(of(battery(300.0), Resistor("R1", "p", "e", 220e3), Resistor("R2", "e", "0", 47e3)))
    assert found.dc("e", "0")[0] == pytest.approx(52.81, abs=0.5)


def test_a_meter_hardly_helps_a_bleeder() -> None:
    """220 kohm and 10 Mohm side by side: 215.3 kohm (0.1)."""
    circuit = of(Resistor("R1", "p", "0", 220e3), Resistor("R2", "p", "0", 10e6))
    assert resistance(circuit, "p", "0")[0] == pytest.approx(215.3e3, abs=100.0)


def test_operating_point_of_a_three_halves_triode() -> None:
    """Ia = 1.73 mA/V^1.5 (Vg + Va/100)^1.5, 250 V, 100k, 1k5: 0.7635 mA (0.01) by bisection; anode at 173.6 V (1).

    Written in the form at hand: kvb 0 and a steep kp leave (2 / kg1) (va/mu + vg)^ex.
    """
    law = Law("triode_offset", {"mu": 100.0, "ex": 1.5, "kg1": 2.0 / 1.73e-3, "kp": 5000.0, "kvb": 0.0, "vct": 0.0})
    found = operate(
        of(
            battery(250.0),
            Resistor("RA", "p", "a", 100e3),
            Resistor("RK", "k", "0", 1500.0),
            Valve("V", "a", "0", "k", law),
        )
    )
    assert 1e3 * found.valve("V").anode_a[0] == pytest.approx(0.7635, abs=0.01)
    assert found.dc("a", "0")[0] == pytest.approx(173.6, abs=1.0)


def test_dissipation_and_a_shared_cathode_resistor() -> None:
    """(Va - Vk) Ia for each of two pentodes, and n (Ia + Ig2) Rk between them: the formulas on our own currents."""
    parts = [
        part
        for n in ("1", "2")
        for part in (
            Valve(f"V{n}", f"a{n}", f"g{n}", "k", EL34, f"s{n}"),
            Resistor(f"RA{n}", "p", f"a{n}", 180.0),
            Resistor(f"RS{n}", "p", f"s{n}", 470.0),
            Resistor(f"RG{n}", f"g{n}", "0", 220e3),
        )
    ]
    found = operate(of(battery(310.0), *parts, Resistor("RK", "k", "0", 130.0)))
    point = found.valve("V1")
    across = found.dc("a1", "0")[0] - found.dc("k", "0")[0]
    assert point.anode_w[0] == pytest.approx(across * found.current("RA1")[0], rel=1e-5)
    assert found.dc("k", "0")[0] == pytest.approx(2.0 * (point.anode_a[0] + point.screen_a[0]) * 130.0, rel=1e-3)


def test_a_grid_leak_with_grid_current_loses_bias() -> None:
    """470 kohm with 1 uA: 0.47 V (0.01); here the ion current of a valve flows back through its leak."""
    gassy = Law(EL34.form, {**EL34.constants, "gi": 2e-5})
    found = operate(
        of(
            battery(300.0),
            Resistor("RA", "p", "a", 500.0),
            Resistor("RS", "p", "s", 500.0),
            Resistor("RG", "g", "0", 470e3),
            Resistor("RK", "k", "0", 330.0),
            Valve("V", "a", "g", "k", gassy, "s"),
        )
    )
    assert found.dc("g", "0")[0] == pytest.approx(470e3 * 2e-5 * found.valve("V").anode_a[0], rel=1e-3)


def amplifier(*, feedback: bool) -> list[Element]:
    """Two linear triodes; the second drives 8 ohm through a transformer; 4.7 kohm and 100 ohm feed back."""
    parts: list[Element] = [
        Resistor("RI", "in", "g1", 1e3),
        Resistor("RG1", "g1", "0", 1e6),
        Valve("V1", "a1", "g1", "k1", linear_triode(100.0, 62.5e3)),
        Resistor("RA1", "ht", "a1", 100e3),
        Resistor("RK1", "k1", "f", 1500.0),
        Capacitor("CK1", "k1", "f", 1e-3),
        Resistor("RF", "f", "0", 100.0),
        Capacitor("CC", "a1", "g2", 1e-6),
        Resistor("RG2", "g2", "0", 1e6),
        Valve("V2", "x", "g2", "k2", linear_triode(8.0, 2000.0)),
        Resistor("RK2", "k2", "0", 500.0),
        Capacitor("CK2", "k2", "0", 1e-2),
        OutputTransformer("T2", "x", "ht", None, "s", "0", 25.0, (180.0,), 0.5, 30.0, 0.001),
        Resistor("SPK", "s", "0", 8.0),
    ]
    return parts + ([Resistor("RFB", "s", "f", 4700.0)] if feedback else [])


def test_feedback_lowers_the_gain_as_the_formula_says() -> None:
    """A / (1 + A beta), beta = 100 / 4800 = 0.02083, with A read with the foot in place and the loop open."""
    opened, closed = (stage(*amplifier(feedback=each), hz=400.0) for each in (False, True))
    a, beta = gain(opened, "s"), 100.0 / 4800.0
    assert beta == pytest.approx(0.02083, abs=1e-4)
    # the first cathode's own current through the foot counts as well: 1 % of the signal
    assert gain(closed, "s") == pytest.approx(a / (1.0 + a * beta), rel=0.02)
    assert 20.0 * log10(a / gain(closed, "s")) == pytest.approx(20.0 * log10(1.0 + a * beta), abs=0.2)


def driven(feedback: bool) -> tuple[Operating, float]:
    """Real valves at 50 Hz on a supply without ripple at 50 Hz: ours, and ngspice's volts at 50 Hz on the speaker."""
    parts = [
        Valve(e.name, e.anode, e.grid, e.cathode, ECC83 if e.name == "V1" else EL34, None if e.name == "V1" else "sc")
        if isinstance(e, Valve)
        else e
        for e in amplifier(feedback=feedback)
    ]
    supply = shapes.full_wave(230.0, 5.0, out="ht"), shapes.reservoir(220e-6, 20e3, "ht")
    signal = shapes.source("SIG", "in", "0", SIGNAL_V, 0.1)
    circuit = of(*supply, signal, *parts, Resistor("RSC", "ht", "sc", 1000.0))
    small = [Capacitor(e.name, e.a, e.b, 100e-6) if e.name in ("CK1", "CK2") else e for e in circuit.elements]
    ours, theirs = both(of(*small), run_s=1.2, off=0.995)
    time, volts = theirs.vectors["time"], theirs.volts("s")
    even = np.linspace(time[-1] - 0.2, time[-1], 4001)[:-1]
    line = np.mean(np.interp(even, time, volts) * np.exp(-2j * pi * 50.0 * even))
    return ours, float(sqrt(2.0) * abs(line))


@pytest.mark.spice
@pytest.mark.parametrize("feedback", [False, True], ids=["open", "closed"])
def test_gain_around_the_output_transformer_is_ngspices(feedback: bool) -> None:
    ours, theirs = driven(feedback)
    assert ours.harmonic("s", "0", 1)[0] == pytest.approx(theirs, rel=0.01)
