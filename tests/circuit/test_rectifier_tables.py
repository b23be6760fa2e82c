"""Capacitor, choke and doubler supplies against tables and closed forms of the supply section of a handbook.

Sources: `closed form` (large reservoir: Rs/RL = (2/pi)(tan p - p) full wave, half of it half wave, Vdc/Vpk = cos p);
`transient` (tables computed by a periodic steady-state transient with ideal diodes and a resistive load, of which one
row was confirmed by a general-purpose circuit simulator: 332.45 V and 16.97 V p-p). O. H. Schade, "Analysis of
Rectifier Operation", Proc. IRE, July 1943, has curves of the same quantities (not seen).
"""

from __future__ import annotations

from math import log, pi, sqrt

import numpy as np
import pytest

from benchtui.circuit.elements import Capacitor, Choke, Circuit, Diode, Resistor
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from tests.circuit import shapes
from tests.circuit.shapes import IDEAL, of

VPK, LOAD, HZ = 400.0, 4000.0, 50.0


def supply(omega_c_rl: float, rs_over_rl: float, *, half: bool = False, load_ohm: float = LOAD) -> Operating:
    """The table's supply: ideal rectifiers, source resistance Rs, one capacitor, a resistance."""
    farad = omega_c_rl / (2 * pi * HZ * LOAD)
    core, first, second = shapes.full_wave(VPK / sqrt(2.0), rs_over_rl * LOAD)
    rectifiers = (first,) if half else (first, second)
    found = operate(of((core, *rectifiers), shapes.reservoir(farad, load_ohm), hz=HZ))
    assert found.settled.all()
    return found


def ratio(found: Operating) -> float:
    return float(found.dc("p", "0")[0]) / VPK


@pytest.mark.parametrize(
    ("rs_over_rl", "expected"),
    [(0.005, 0.9601), (0.01, 0.9376), (0.02, 0.9035), (0.05, 0.8322), (0.1, 0.7518), (0.2, 0.6455)],
)
def test_full_wave_with_a_large_reservoir(rs_over_rl: float, expected: float) -> None:
    """Closed form, agreed by transient; tolerance 0.002."""
    assert ratio(supply(1000.0, rs_over_rl)) == pytest.approx(expected, abs=0.002)


@pytest.mark.parametrize(("rs_over_rl", "expected"), [(0.01, 0.9035), (0.05, 0.7518), (0.1, 0.6455)])
def test_half_wave_with_a_large_reservoir(rs_over_rl: float, expected: float) -> None:
    """Closed form, agreed by transient; tolerance 0.003."""
    assert ratio(supply(1000.0, rs_over_rl, half=True)) == pytest.approx(expected, abs=0.003)


@pytest.mark.parametrize(
    ("omega_c_rl", "rs_over_rl", "expected"),
    [
        (10, 0.01, 0.8861), (10, 0.05, 0.8167), (10, 0.1, 0.7445), (20, 0.05, 0.8281), (40, 0.01, 0.9328),
        (40, 0.02, 0.9009), (40, 0.05, 0.8311), (40, 0.1, 0.7513), (100, 0.02, 0.9031), (100, 0.05, 0.832),
    ],
)  # fmt: skip
def test_full_wave_table(omega_c_rl: float, rs_over_rl: float, expected: float) -> None:
    """Transient; the table's tolerance is 0.005, ours a third of it."""
    assert ratio(supply(omega_c_rl, rs_over_rl)) == pytest.approx(expected, abs=0.0015)


@pytest.mark.parametrize(
    ("omega_c_rl", "rs_over_rl", "expected"),
    [(10, 0.05, 0.7057), (40, 0.02, 0.8451), (40, 0.05, 0.7485), (100, 0.05, 0.7513)],
)
def test_half_wave_table(omega_c_rl: float, rs_over_rl: float, expected: float) -> None:
    """Transient; tolerance 0.005."""
    assert ratio(supply(omega_c_rl, rs_over_rl, half=True)) == pytest.approx(expected, abs=0.002)


def test_the_row_confirmed_by_a_circuit_simulator() -> None:
    """Vpk 400, Rs 200, RL 4k, 31.831 uF, 50 Hz: 332.45 V and 16.97 V p-p."""
    found = supply(40.0, 0.05)
    assert found.dc("p", "0")[0] == pytest.approx(332.45, abs=0.5)
    assert found.ac_pp("p", "0")[0] == pytest.approx(16.97, abs=0.15)
    assert found.ac_rms("p", "0")[0] / found.ac_pp("p", "0")[0] == pytest.approx(0.316, abs=0.01)


@pytest.mark.parametrize(
    ("omega_c_rl", "rs_over_rl", "percent"),
    [(4, 0.05, 14.95), (10, 0.01, 7.14), (20, 0.05, 3.22), (40, 0.02, 1.77), (40, 0.1, 1.47), (100, 0.05, 0.65)],
)
def test_ripple_rms_in_percent_of_dc(omega_c_rl: float, rs_over_rl: float, percent: float) -> None:
    """Transient, table of ripple; within 2 % of the figure."""
    found = supply(omega_c_rl, rs_over_rl)
    assert 100 * found.ac_rms("p", "0")[0] / found.dc("p", "0")[0] == pytest.approx(percent, rel=0.02)


@pytest.mark.parametrize(
    ("omega_c_rl", "rs_over_rl", "factor"),
    [(10, 0.01, 1.36), (10, 0.1, 1.74), (40, 0.005, 1.22), (40, 0.05, 1.54), (100, 0.1, 1.73)],
)
def test_the_usual_ripple_formula_says_too_much(omega_c_rl: float, rs_over_rl: float, factor: float) -> None:
    """I/(2 f C) over the peak-to-peak ripple; transient, tolerance 0.03."""
    found = supply(omega_c_rl, rs_over_rl)
    farad = omega_c_rl / (2 * pi * HZ * LOAD)
    usual = found.current("RL")[0] / (2 * HZ * farad)
    assert usual / found.ac_pp("p", "0")[0] == pytest.approx(factor, abs=0.03)


@pytest.mark.parametrize(("rs_over_rl", "rms", "peak"), [(0.01, 2.30, 6.64), (0.05, 1.79, 4.03), (0.1, 1.62, 3.30)])
def test_currents_of_a_bridge_winding(rs_over_rl: float, rms: float, peak: float) -> None:
    """Irms/Idc and Ipeak/Idc at omega C RL = 100; transient, tolerance 0.02 and 0.05."""
    farad = 100.0 / (2 * pi * HZ * LOAD)
    found = operate(of(shapes.bridge(VPK / sqrt(2), rs_over_rl * LOAD, IDEAL), shapes.reservoir(farad, LOAD)))
    direct = found.current("RL")[0]
    assert found.rms("W")[0] / direct == pytest.approx(rms, abs=0.02)
    assert found.peak("W")[0] / direct == pytest.approx(peak, abs=0.05)
    assert found.current("D1")[0] == pytest.approx(direct / 2, rel=1e-3)


def test_currents_of_half_windings_and_of_the_reservoir() -> None:
    """Each half of a centre-tapped winding 1.27 Idc (0.02), the capacitor 1.49 Idc (0.03); transient."""
    halves = supply(100.0, 0.05)
    assert halves.rms("Wa")[0] / halves.current("RL")[0] == pytest.approx(1.27, abs=0.02)
    found = supply(40.0, 0.05)
    assert found.rms("C")[0] / found.current("RL")[0] == pytest.approx(1.49, abs=0.03)


@pytest.mark.parametrize(
    ("rs_over_rl", "change", "ripple"),
    [(0.005, -3.82, 2.07), (0.02, -6.19, 2.13), (0.05, -9.95, 2.16), (0.1, -14.3, 2.18)],
)
def test_a_dead_half(rs_over_rl: float, change: float, ripple: float) -> None:
    """Change of DC in percent (0.4) and ripple p-p ratio (0.05) at omega C RL = 40; transient."""
    sound, dead = supply(40.0, rs_over_rl), supply(40.0, rs_over_rl, half=True)
    assert 100 * (ratio(dead) / ratio(sound) - 1) == pytest.approx(change, abs=0.4)
    assert dead.ac_pp("p", "0")[0] / sound.ac_pp("p", "0")[0] == pytest.approx(ripple, abs=0.05)


def test_a_dead_half_brings_mains_frequency() -> None:
    """Mains-frequency amplitude / Vpk: none when sound (1e-4), 0.0355 with one half dead (0.002); transient."""
    sound, dead = supply(40.0, 0.05), supply(40.0, 0.05, half=True)
    assert sqrt(2) * sound.harmonic("p", "0", 1)[0] / VPK < 1e-4
    assert sqrt(2) * dead.harmonic("p", "0", 1)[0] / VPK == pytest.approx(0.0355, abs=0.002)
    assert dead.harmonic("p", "0", 1)[0] > dead.harmonic("p", "0", 2)[0]


@pytest.mark.parametrize(("left", "change", "ripple"), [(20, -0.372, 1.99), (10, -1.74, 3.87), (4, -7.91, 8.34)])
def test_a_reservoir_that_lost_capacitance(left: float, change: float, ripple: float) -> None:
    """From omega C RL = 40: change of DC in percent (0.2), ripple p-p ratio (0.05, 8.34 within 0.1); transient."""
    whole, lost = supply(40.0, 0.05), supply(left, 0.05)
    assert 100 * (ratio(lost) / ratio(whole) - 1) == pytest.approx(change, abs=0.2)
    assert lost.ac_pp("p", "0")[0] / whole.ac_pp("p", "0")[0] == pytest.approx(ripple, abs=0.1 if left == 4 else 0.05)


def test_rise_of_the_supply_when_the_load_goes() -> None:
    """Half the load: +6.93 % (0.3); none: +20.3 % (0.5); transient."""
    full = supply(40.0, 0.05)
    half = supply(40.0, 0.05, load_ohm=2 * LOAD)
    none = supply(40.0, 0.05, load_ohm=1e8)
    assert 100 * (ratio(half) / ratio(full) - 1) == pytest.approx(6.93, abs=0.3)
    assert 100 * (ratio(none) / ratio(full) - 1) == pytest.approx(20.3, abs=0.5)


def doubler(volts: float, ohm: float, farad: float, load_ohm: float) -> Operating:
    found = operate(
        of(
            shapes.source("W", "a", "m", volts, ohm),
            Diode("D1", "a", "p", IDEAL),
            Diode("D2", "0", "a", IDEAL),
            Capacitor("C1", "p", "m", farad),
            Capacitor("C2", "m", "0", farad),
            Resistor("RL", "p", "0", load_ohm),
        )
    )
    assert found.settled.all()
    return found


@pytest.mark.parametrize(
    ("omega_c_rl", "rs_over_rl", "expected", "within"), [(80, 0.01, 1.69, 0.005), (40, 0.02, 1.529, 0.008)]
)
def test_voltage_doubler(omega_c_rl: float, rs_over_rl: float, expected: float, within: float) -> None:
    """Vdc/Vpk of the two-capacitor doubler; transient, agreed by two half-wave sections in series."""
    found = doubler(VPK / sqrt(2), rs_over_rl * LOAD, omega_c_rl / (2 * pi * HZ * LOAD), LOAD)
    assert ratio(found) == pytest.approx(expected, abs=within)


def test_voltage_doubler_without_load() -> None:
    """2 sqrt 2 Vrms: 339.4 V from 120 V (1 V)."""
    assert doubler(120.0, 10.0, 47e-6, 1e8).dc("p", "0")[0] == pytest.approx(339.4, abs=1.0)


def choke_input(henry: float, load_ohm: float, *, choke_ohm: float = 0.001, hz: float = HZ) -> Operating:
    found = operate(
        of(
            shapes.full_wave(400.0, 0.1, out="i"),
            Choke("L", "i", "p", henry, choke_ohm),
            shapes.reservoir(470e-6, load_ohm),
            hz=hz,
        )
    )
    assert found.settled.all()
    return found


def test_choke_input_gives_the_mean() -> None:
    """2 sqrt 2 / pi Vrms = 360.1 V from 400 V (1 V); with 100 ohm in the choke less I R."""
    assert choke_input(20.0, 3000.0).dc("p", "0")[0] == pytest.approx(360.1, abs=1.0)
    lossy = choke_input(20.0, 3000.0, choke_ohm=100.0)
    assert lossy.dc("p", "0")[0] == pytest.approx(360.1 * 3000 / 3100, abs=1.0)


def current_breaks(henry: float, load_ohm: float, hz: float) -> bool:
    """Whether the choke's current touches nothing during the cycle."""
    found = choke_input(henry, load_ohm, hz=hz)
    both = found.wave.amps.sum(axis=1)[0]
    return bool(both.min() < 0.002 * both.mean())


@pytest.mark.parametrize(("load_ohm", "hz", "critical"), [(5000.0, 50.0, 5.31), (1131.0, 60.0, 1.00)])
def test_critical_inductance(load_ohm: float, hz: float, critical: float) -> None:
    """omega L = 0.331 RL (an ideal choke), 5.27 H at 5 kohm, 50 Hz; the rule RL/(6 pi f) gives 5.31 H; 1 H at 60 Hz."""
    assert current_breaks(0.94 * critical, load_ohm, hz)
    assert not current_breaks(1.04 * critical, load_ohm, hz)


def section(second: Choke | Resistor, farad: float, *, hz: float = HZ) -> float:
    """Ripple at twice the mains over what is left of it behind a second section without load."""
    found = operate(
        of(
            shapes.full_wave(280.0, 60.0),
            shapes.reservoir(47e-6, 4000.0),
            second,
            Capacitor("C2", "q", "0", farad),
            hz=hz,
        )
    )
    return float(found.harmonic("p", "0", 2)[0] / found.harmonic("q", "0", 2)[0])


def test_attenuation_of_a_second_section() -> None:
    """sqrt(1 + (2 pi fr R C)^2) = 29.55; (2 pi fr)^2 L C - 1 = 184.5 and 132.6: closed forms."""
    assert section(Resistor("R", "p", "q", 1000.0), 47e-6) == pytest.approx(29.55, abs=0.2)
    assert section(Choke("L", "p", "q", 10.0, 0.01), 47e-6) == pytest.approx(184.5, abs=1.0)
    assert section(Choke("L", "p", "q", 5.0, 0.01), 47e-6, hz=60.0) == pytest.approx(132.6, abs=1.0)


def test_loaded_second_section() -> None:
    """R = RL / 10, omega C RL = 40 twice, Rs/RL = 0.05: rms ripple ratio 8.41 (0.6) by transient."""
    farad = 40.0 / (2 * pi * HZ * LOAD)
    core = shapes.full_wave(VPK / sqrt(2), 0.05 * LOAD)
    found = operate(
        of(
            core,
            Capacitor("C1", "p", "0", farad),
            Resistor("R", "p", "q", 0.1 * LOAD),
            Capacitor("C2", "q", "0", farad),
            Resistor("RL", "q", "0", LOAD),
        )
    )
    assert found.ac_rms("p", "0")[0] / found.ac_rms("q", "0")[0] == pytest.approx(8.41, abs=0.6)
    assert found.dc("p", "q")[0] == pytest.approx(found.current("RL")[0] * 0.1 * LOAD, rel=1e-6)


def test_primary_resistance_referred_to_a_half_winding() -> None:
    """Rs = Rsec + Rpri (Vs/Vp)^2 = 73.61 ohm: a shared primary acts as that much in the half that conducts."""
    halves = [shapes.Winding("Wa", "a", "0", 300 / 230, 60.0), shapes.Winding("Wb", "0", "b", 300 / 230, 60.0)]
    rectifiers = (Diode("Da", "a", "p", IDEAL), Diode("Db", "b", "p", IDEAL))
    shared = operate(
        of(shapes.MainsTransformer("T", 230.0, 8.0, tuple(halves)), rectifiers, shapes.reservoir(47e-6, 4000.0))
    )
    alone = operate(of(shapes.full_wave(300.0, 60 + 8 * (300 / 230) ** 2), shapes.reservoir(47e-6, 4000.0)))
    assert shared.dc("p", "0")[0] == pytest.approx(alone.dc("p", "0")[0], rel=1e-4)
    assert shared.ac_rms("p", "0")[0] == pytest.approx(alone.ac_rms("p", "0")[0], rel=1e-3)


def test_drop_of_a_valve_rectifier_follows_its_law() -> None:
    """Supply with no source resistance and a large reservoir: the crest less (Ipeak/K)^(2/3), the law itself."""
    law = shapes.RECTIFIER_VALVE
    found = operate(of(shapes.full_wave(250.0, 0.01, law), shapes.reservoir(1e-3, 5000.0)))
    drop = (found.peak("Da")[0] / law.constants["perveance_a_v15"]) ** (2 / 3)
    assert found.dc("p", "0")[0] == pytest.approx(250.0 * sqrt(2) - drop, abs=0.5)


def test_samples_of_a_table_solved_together() -> None:
    """Closed form again, all ratios in one batch: each sample is on its own."""
    shares = np.array([0.005, 0.01, 0.02, 0.05, 0.1, 0.2])
    expected = np.array([0.9601, 0.9376, 0.9035, 0.8322, 0.7518, 0.6455])
    circuit: Circuit = of(
        shapes.full_wave(VPK / sqrt(2), shares * LOAD), shapes.reservoir(1000.0 / (2 * pi * HZ * LOAD), LOAD)
    )
    assert operate(circuit).dc("p", "0") / VPK == pytest.approx(expected, abs=0.002)


def test_silicon_drop_at_no_load() -> None:
    """Without load the reservoir stands a fraction of a volt below the crest: n VT ln(I/Is + 1) + I R, by the law."""
    found = operate(of(shapes.full_wave(50.0, 14.0, shapes.SILICON), shapes.reservoir(47e-6, 1e6)))
    peak = found.peak("Da")[0]
    drop = 1.8 * 0.025865 * log(peak / 7e-9 + 1) + peak * 14.04
    assert found.dc("p", "0")[0] == pytest.approx(50.0 * sqrt(2) - drop, abs=0.05)
