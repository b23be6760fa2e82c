"""Ripple peak to peak and its frequency, between any pair of nodes: handbook formulas, and ngspice's waves."""

from __future__ import annotations

from functools import cache
from math import pi, sqrt

import numpy as np
import pytest

from benchtui.circuit.elements import Capacitor, Choke, Circuit, Diode, Law, Resistor
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from tests.circuit import shapes
from tests.circuit.against import both
from tests.circuit.deck import Rest
from tests.circuit.shapes import IDEAL, RECTIFIER_VALVE, SILICON, of


def section(first: str, second: str) -> tuple:
    return Resistor("R1", first, second, 470.0), Capacitor("C2", second, "0", 33e-6)


def half_wave() -> Circuit:
    return of(
        shapes.source("W", "a", "0", 250.0, 60.0),
        Diode("D1", "a", "p", SILICON),
        shapes.reservoir(47e-6, 6000.0),
        section("p", "q"),
        Resistor("RM", "q", "0", 12e3),
    )


def full_wave() -> Circuit:
    return of(
        shapes.full_wave(280.0, 75.0, RECTIFIER_VALVE),
        shapes.reservoir(32e-6, 6000.0),
        section("p", "q"),
        Resistor("RM", "q", "0", 12e3),
    )


def weak_half() -> Circuit:
    """One half of the rectifier valve with a third of the other's emission."""
    weak = Law("vacuum_perveance", {"perveance_a_v15": RECTIFIER_VALVE.constants["perveance_a_v15"] / 3})
    core, strong, _ = shapes.full_wave(280.0, 75.0, RECTIFIER_VALVE)
    return of(
        (core, strong, Diode("Db", "w2", "p", weak)),
        shapes.reservoir(32e-6, 6000.0),
        section("p", "q"),
        Resistor("RM", "q", "0", 12e3),
    )


def doubler() -> Circuit:
    """Each capacitor is filled once a cycle, the two together twice."""
    return of(
        shapes.source("W", "a", "m", 120.0, 10.0),
        Diode("D1", "a", "p", SILICON),
        Diode("D2", "0", "a", SILICON),
        Capacitor("C1", "p", "m", 47e-6),
        Capacitor("C2", "m", "0", 47e-6),
        Resistor("RL", "p", "0", 5000.0),
    )


CASES = {"half wave": half_wave, "full wave": full_wave, "weak half": weak_half, "doubler": doubler}

# circuit, pair of nodes, and the frequency that rules there
PAIRS = [
    ("half wave", ("p", "0"), 50.0),
    ("half wave", ("q", "0"), 50.0),
    ("half wave", ("p", "q"), 50.0),
    ("full wave", ("p", "0"), 100.0),
    ("full wave", ("q", "0"), 100.0),
    ("full wave", ("p", "q"), 100.0),
    ("weak half", ("p", "0"), 100.0),
    ("weak half", ("q", "0"), 50.0),
    ("doubler", ("p", "0"), 100.0),
    ("doubler", ("p", "m"), 50.0),
    ("doubler", ("m", "0"), 50.0),
]


@cache
def solved(name: str) -> tuple[Operating, Rest]:
    return both(CASES[name](), run_s=1.0, off=0.99)


def spectrum_hz(theirs: Rest, pos: str, neg: str) -> float:
    """The strongest line of ngspice's wave over its last ten cycles."""
    time, volts = theirs.vectors["time"], theirs.volts(pos, neg)
    even = np.linspace(time[-1] - 0.2, time[-1], 4001)[:-1]
    wave = np.interp(even, time, volts)
    lines = np.abs(np.fft.rfft(wave - np.polyval(np.polyfit(even, wave, 1), even)))
    return float(lines.argmax() / 0.2)


@pytest.mark.spice
@pytest.mark.parametrize(("name", "pair", "hz"), PAIRS)
def test_peak_to_peak_and_frequency_are_ngspices(name: str, pair: tuple[str, str], hz: float) -> None:
    ours, theirs = solved(name)
    wave = theirs.volts(*pair)
    assert ours.ac_pp(*pair)[0] == pytest.approx(np.ptp(wave), rel=0.03)
    assert ours.ripple_hz(*pair)[0] == hz == pytest.approx(spectrum_hz(theirs, *pair))


def test_the_row_confirmed_by_a_circuit_simulator() -> None:
    """Handbook, worked and confirmed by a simulator: 400 V peak, 200 ohm, 31.83 uF, 4 kohm at 50 Hz: 16.97 V p-p."""
    found = operate(of(shapes.full_wave(400.0 / sqrt(2.0), 200.0, IDEAL), shapes.reservoir(31.831e-6, 4000.0)))
    assert found.ac_pp("p", "0")[0] == pytest.approx(16.97, rel=0.02)
    assert found.ripple_hz("p", "0")[0] == 100.0
    # the ratio of rms to peak to peak lies between a sawtooth's and a sine's
    assert 1.0 / (2.0 * sqrt(3.0)) < found.ac_rms("p", "0")[0] / found.ac_pp("p", "0")[0] < 1.0 / (2.0 * sqrt(2.0))


def test_choke_input_leaves_a_sine_at_twice_the_mains() -> None:
    """Textbook: the first harmonic of a rectified sine is 4/3 Vpeak/pi; L and C divide it by (2 w)^2 L C - 1."""
    henry, farad, peak = 10.0, 20e-6, 400.0
    found = operate(
        of(
            shapes.full_wave(peak / sqrt(2.0), 10.0, IDEAL, out="i"),
            Choke("L", "i", "p", henry, 10.0),
            shapes.reservoir(farad, 3000.0),
        )
    )
    divided = 4.0 * peak / (3.0 * pi) / ((2.0 * pi * 100.0) ** 2 * henry * farad - 1.0)
    assert found.ac_pp("p", "0")[0] == pytest.approx(2.0 * divided, rel=0.03)
    assert found.ripple_hz("p", "0")[0] == 100.0


@pytest.mark.parametrize("hz", [50.0, 60.0])
def test_a_dead_half_brings_mains_frequency_and_60_hz_mains_brings_120(hz: float) -> None:
    """Handbook, worked: 100 Hz with both halves, 50 Hz with one."""
    core, first, second = shapes.full_wave(280.0, 50.0)
    load = shapes.reservoir(47e-6, 4000.0)
    assert operate(of((core, first, second), load, hz=hz)).ripple_hz("p", "0")[0] == 2.0 * hz
    assert operate(of((core, first), load, hz=hz)).ripple_hz("p", "0")[0] == hz


def test_where_nothing_alternates_there_is_no_frequency() -> None:
    heater = shapes.source("W", "a", "b", 6.3, 0.1), Resistor("H", "a", "b", 2.0)
    found = operate(of(Resistor("R", "p", "0", 1e3), heater))
    assert np.isnan(found.ripple_hz("p", "0")[0])
    assert np.isnan(found.ripple_hz("a", "0")[0]), "it floats"
    assert found.ripple_hz("a", "b")[0] == 50.0
