"""Gain, corners, impedance, oscillation, square waves: textbook figures, and ngspice's AC analysis of amplifiers."""

from __future__ import annotations

from math import exp, pi, sqrt

import numpy as np
import pytest

from benchtui.circuit.elements import Capacitor, Choke, Circuit, Element, Law, OutputTransformer, Resistor, Valve
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.circuit.signal import Source, connected, gain, output_ohms, response, square_wave, stable
from tests.circuit import playing, shapes, signal_deck
from tests.circuit.playing import LOAD, SOURCE
from tests.circuit.shapes import linear_triode, of

GENERATOR = Source("GEN", "in", "0", 0.001)
AMPLIFIERS = [(name, closed) for name in playing.NAMES for closed in (False, True)]


def stage(*parts: Element | tuple[Element, ...], source: Source = GENERATOR) -> Operating:
    """The parts with a stiff supply at `ht` and the generator."""
    supply = shapes.full_wave(230.0, 1.0, out="ht")
    smoothing = Capacitor("CB", "ht", "0", 0.1), Resistor("RB", "ht", "0", 50e3)
    found = operate(connected(of(supply, smoothing, *parts), source))
    assert found.settled.all()
    return found


def triode(mu: float, rp_ohm: float, anode_ohm: float, cathode_ohm: float, **farads: float) -> tuple[Element, ...]:
    valve = Valve("V", "a", "g", "k", linear_triode(mu, rp_ohm), **farads)
    return valve, Resistor("RA", "ht", "a", anode_ohm), Resistor("RK", "k", "0", cathode_ohm)


def size(found: Operating, node: str, hz: float = 1000.0, source: Source = GENERATOR) -> float:
    return float(np.abs(gain(found, source, [(node, "0")], np.array([hz])))[0, 0, 0])


def test_gain_of_a_stage_with_the_next_grid() -> None:
    """mu RL / (RL + rp), RL = 100k || 1M, mu 100, rp 62.5k: 59.26 (0.1), and it inverts."""
    wire = Resistor("RW", "in", "g", 0.001)
    further = Capacitor("CC", "a", "g2", 1e-3), Resistor("RG", "g2", "0", 1e6), Capacitor("CK", "k", "0", 1.0)
    found = stage(wire, triode(100, 62.5e3, 100e3, 1500.0), *further)
    assert size(found, "g2") == pytest.approx(59.26, abs=0.1)
    assert gain(found, GENERATOR, [("g2", "0")], np.array([1000.0]))[0, 0, 0].real < 0


def test_cathodyne() -> None:
    """mu R / (rp + (mu + 2) R) to each output, mu 20, rp 7.7k, R 33k: 0.8996 (0.003)."""
    found = stage(Resistor("RW", "in", "g", 0.001), triode(20, 7.7e3, 33e3, 33e3))
    assert size(found, "a") == pytest.approx(0.8996, abs=0.003)
    assert size(found, "k") == pytest.approx(size(found, "a"), rel=0.001)


def test_corner_by_miller() -> None:
    """Cgk + stray + Cga (1 + A) = 1.6 + 2 + 1.6 x 61 = 101.2 pF; behind 68k 1 / (2 pi R C) = 23.13 kHz (1 %)."""
    anode_ohm = 62.5e3 * 60 / 40
    farads = {"anode_grid_farad": 1.6e-12, "grid_cathode_farad": 3.6e-12}
    parts = triode(100, 62.5e3, anode_ohm, 1500.0, **farads), Capacitor("CK", "k", "0", 1.0)
    source = Source("GEN", "g", "0", 68e3)
    found = response(stage(*parts, source=source), source, ("a", "0"))
    assert found.mid[0] == pytest.approx(60.0, rel=0.002)
    assert found.high_hz[0] == pytest.approx(1 / (2 * pi * 68e3 * 101.2e-12), rel=0.01)


def test_coupling_corner_is_found_and_a_missing_one_is_nan() -> None:
    """1 / (2 pi R C), 22 nF and 1 Mohm: 7.234 Hz."""
    found = operate(connected(of(Capacitor("C", "in", "g", 22e-9), Resistor("RG", "g", "0", 1e6)), GENERATOR))
    read = response(found, GENERATOR, ("g", "0"))
    assert read.low_hz[0] == pytest.approx(7.234, rel=1e-3)
    assert np.isnan(read.high_hz[0]) and read.low_peak_db[0] == pytest.approx(0.0, abs=0.01)


def test_a_transformer_reflects_its_source() -> None:
    """Seen from an 8 ohm secondary of 25 : 1, 5 kohm are 8 ohm; with 8 ohm on it 4, and the load can be told off."""
    part = OutputTransformer("T", "in", "0", None, "s", "0", 25.0, (0.001,), 0.001, 100.0, 0.0)
    source = Source("GEN", "in", "0", 5000.0)
    found = operate(connected(of(part, Resistor("RL", "s", "0", 8.0)), source))
    hz = np.array([1000.0])
    assert abs(output_ohms(found, ("s", "0"), hz)[0, 0]) == pytest.approx(4.0, rel=0.002)
    assert abs(output_ohms(found, ("s", "0"), hz, load="RL")[0, 0]) == pytest.approx(8.0, rel=0.002)


@pytest.mark.parametrize("name", playing.NAMES)
def test_feedback_divides_gain_by_one_and_the_loops(name: str) -> None:
    """A / (1 + A beta), beta = Rg / (Rf + Rg), with both resistors of the loop; the loop loads the load by 0.1 %."""
    opened, closed = (size(playing.solved(name, closed=each), "spk", source=SOURCE) for each in (False, True))
    beta = 100.0 / (100.0 + playing.FEEDBACK_OHM[name])
    assert closed == pytest.approx(opened / (1 + opened * beta), rel=0.01)


@pytest.mark.parametrize(("mu", "rests"), [(30.0, True), (34.0, False)])
def test_a_phase_shift_oscillator_needs_a_gain_of_29(mu: float, rests: bool) -> None:
    """Three equal RC sections turn the phase by half a turn where they lose 29 times (textbook); here mu x 10 / 11."""
    sections: list[Element] = []
    for before, after in (("a", "x"), ("x", "y"), ("y", "g")):
        sections += [Capacitor(f"C{after}", before, after, 1e-9), Resistor(f"R{after}", after, "0", 1e6)]
    bypass, unused = Capacitor("CK", "k", "0", 1.0), Resistor("RI", "in", "0", 1e3)
    found = stage(triode(mu, 1e3, 10e3, 500.0), tuple(sections), bypass, unused)
    assert stable(found)[0] == rests


def test_feedback_of_the_wrong_sign_is_no_rest() -> None:
    """Amplifier C's loop has a gain of 1.7, so that it grows where it should fall."""
    right = playing.circuit("c", closed=True)
    wrong = [playing.exchanged(each) for each in right.elements]
    assert stable(playing.solved("c", closed=True))[0]
    assert not stable(operate(Circuit(tuple(wrong), right.mains_hz), trims=playing.trims("c")))[0]


@pytest.mark.spice
@pytest.mark.parametrize("feedback_ohm", [2200.0, 1000.0])
def test_what_is_called_at_rest_comes_to_rest(feedback_ohm: float) -> None:
    """ngspice after a step of 1 mV: with 1 kohm in its loop amplifier A sings, volts loud; with 2.2 it rests."""
    found = operate(playing.circuit("a", closed=True, feedback_ohm=feedback_ohm))
    time, volts = signal_deck.kicked(found, SOURCE, "spk", run_s=6e-4, step_s=5e-7)
    sings = np.ptp(volts[time > 4e-4]) > 1.0
    assert stable(found)[0] == (not sings)


def test_overshoot_of_a_resonance() -> None:
    """exp(-pi z / sqrt(1 - z^2)) of a step, z = 0.4: 25.4 % (textbook); none of a plain RC."""
    w, z = 2 * pi * 100e3, 0.4
    henry, farad = 1e-3, 1 / (w * w * 1e-3)
    ring = of(Choke("L", "in", "x", henry, 2 * z * w * henry), Capacitor("C", "x", "0", farad))
    plain = of(Resistor("R", "in", "x", 1e3), Capacitor("C", "x", "0", 1e-9))
    rung, flat = (square_wave(operate(connected(each, GENERATOR)), GENERATOR, ("x", "0")) for each in (ring, plain))
    assert rung.overshoot_pct[0] == pytest.approx(100 * exp(-pi * z / sqrt(1 - z * z)), abs=0.5)
    assert flat.overshoot_pct[0] < 0.1
    assert flat.volts[0].max() == pytest.approx(1.0, abs=0.002)


def test_samples_stand_each_for_themselves() -> None:
    anodes = np.array([47e3, 100e3, 220e3])
    wire = Resistor("RW", "in", "g", 0.001)
    farads = {"anode_grid_farad": 2e-12}
    whole = response(stage(wire, triode(100, 62.5e3, anodes, 1500.0, **farads)), GENERATOR, ("a", "0"))
    for k, anode_ohm in enumerate(anodes):
        alone = response(stage(wire, triode(100, 62.5e3, float(anode_ohm), 1500.0, **farads)), GENERATOR, ("a", "0"))
        assert whole.mid[k] == pytest.approx(alone.mid[0], rel=1e-6)
        assert whole.high_hz[k] == pytest.approx(alone.high_hz[0], rel=1e-3, nan_ok=True)


def test_a_source_that_is_not_connected_is_named() -> None:
    found = operate(of(Resistor("R", "in", "0", 1e3)))
    with pytest.raises(KeyError, match="no source 'GEN': connect it"):
        gain(found, GENERATOR, [("in", "0")], np.array([1e3]))
    with pytest.raises(KeyError, match="no load 'RL'"):
        output_ohms(found, ("in", "0"), np.array([1e3]), load="RL")


def test_electrode_capacitance_leaves_mains_readings_alone() -> None:
    law = Law("triode_offset", {**shapes.ECC83.constants, "vct": 0.0})
    bare, whole = (
        operate(of(shapes.full_wave(230.0, 50.0, out="ht"), shapes.reservoir(10e-6, 1e5, "ht"),
                   Valve("V", "a", "g", "k", law, anode_grid_farad=farad), Resistor("RA", "ht", "a", 1e5),
                   Resistor("RK", "k", "0", 1500.0), Resistor("RG", "g", "0", 1e6)))
        for farad in (0.0, 5e-12)
    )  # fmt: skip
    assert whole.dc("a", "0")[0] == bare.dc("a", "0")[0]
    assert whole.ac_rms("a", "0")[0] == bare.ac_rms("a", "0")[0]


@pytest.mark.spice
@pytest.mark.parametrize(("name", "closed"), AMPLIFIERS)
def test_gain_corners_and_impedance_of_whole_amplifiers(name: str, closed: bool) -> None:
    """ngspice: gain within 0.3 dB (here 0.01), corners within 5 % (1), output impedance within 5 % (0.1)."""
    found = playing.solved(name, closed=closed)
    hz, theirs = signal_deck.gain(found, SOURCE, "spk")
    ours = gain(found, SOURCE, [LOAD], hz)[0, 0]
    audible = (hz > 2) & (hz < 200e3)
    assert 20 * np.log10(np.abs(ours / theirs)[audible]) == pytest.approx(0.0, abs=0.01)
    assert np.abs(np.angle(ours / theirs))[audible].max() < 0.01
    read, level = response(found, SOURCE, LOAD), np.abs(theirs) / np.interp(1000.0, hz, np.abs(theirs))
    within = hz[level >= sqrt(0.5)]
    assert read.low_hz[0] == pytest.approx(within[0], rel=0.06)
    assert read.high_hz[0] == pytest.approx(within[-1], rel=0.06)
    assert read.high_peak_db[0] == pytest.approx(20 * np.log10(level[hz > 1000].max()), abs=0.2)
    hz, seen = signal_deck.ohms(found, SOURCE, "spk", "dec 1 100 10k")
    theirs = np.abs(1 / (1 / seen - 1 / playing.LOAD_OHM))
    assert np.abs(output_ohms(found, LOAD, hz, load="SPK")[0]) == pytest.approx(theirs, rel=1e-3)
