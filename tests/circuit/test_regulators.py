"""Zener diodes and gas regulator valves: their law, what they hold, and when a gas valve burns."""

from __future__ import annotations

from math import log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtui.circuit.discharge import discharge
from benchtui.circuit.elements import Capacitor, Circuit, Law, Regulator, Resistor
from benchtui.circuit.operate import operate
from benchtui.circuit.regulators import REGULATOR_FORMS
from benchtui.circuit.resistance import resistance
from tests.circuit import shapes
from tests.circuit.against import agree_dc, agree_rectifier, agree_ripple, both
from tests.circuit.shapes import GAS_150, ZENER_100, of

LAWS = {"zener": ZENER_100, "gas_regulator": GAS_150}
VOLTS = {"zener": "breakdown_v", "gas_regulator": "burning_v"}


def current(form: str, volts: float) -> tuple[float, float]:
    """Current in the direction it regulates, and its slope, at `volts` that way round."""
    constants = {key: np.array(value) for key, value in LAWS[form].constants.items()}
    sign = -1.0 if form == "zener" else 1.0
    found = REGULATOR_FORMS[form](np.array(sign * volts), np.zeros(()), np.zeros(()), constants)
    assert not found.amps[1:].any() and not found.siemens[1:].any() and not found.siemens[0, 1:].any()
    return sign * float(found.amps[0]), float(found.siemens[0, 0])


@pytest.mark.parametrize("form", sorted(LAWS))
@pytest.mark.parametrize("share", [1e-4, 0.1, 1.0, 3.0])
def test_the_law_gives_back_its_volts(form: str, share: float) -> None:
    """V = V0 + r (i - i0) + w ln(i / i0), and r + w / i is the slope resistance, by hand."""
    c = LAWS[form].constants
    ohm, amps = c["slope_ohm"] - c["knee_v"] / c["at_a"], share * c["at_a"]
    volts = c[VOLTS[form]] + ohm * (amps - c["at_a"]) + c["knee_v"] * log(share)
    found, slope = current(form, volts)
    assert found == pytest.approx(amps, rel=1e-9, abs=2e-9), "but for the saturation current of a zener"
    assert 1 / slope == pytest.approx(ohm + c["knee_v"] / amps, rel=1e-6)


@pytest.mark.parametrize("form", sorted(LAWS))
def test_the_slope_at_the_marked_current_is_the_one_printed(form: str) -> None:
    c = LAWS[form].constants
    found, slope = current(form, c[VOLTS[form]])
    assert found == pytest.approx(c["at_a"])
    assert 1 / slope == pytest.approx(c["slope_ohm"])


def test_a_zener_diode_is_a_silicon_diode_forward() -> None:
    """0.6 to 0.8 V at 10 mA less the drop of its own resistance (common practice, no source)."""
    forward, _ = current("zener", -0.7 - 0.01 * 330.0)
    assert 2e-3 < -forward < 0.02


@pytest.mark.parametrize("form", sorted(LAWS))
@given(volts=st.floats(allow_nan=False, allow_infinity=False))
def test_no_volts_break_a_regulator(form: str, volts: float) -> None:
    found, slope = current(form, volts)
    assert np.isfinite(found) and np.isfinite(slope) and slope >= 0


def fed(law: Law, supply_v: float | np.ndarray, ohm: float, load_ohm: float = np.inf) -> Circuit:
    """A regulator from `s` to chassis, fed from a bridge without ripple; a load beside it."""
    ends = ("0", "s") if law.form == "zener" else ("s", "0")
    return of(
        shapes.bridge(supply_v / np.sqrt(2.0), 1e-3, shapes.IDEAL),
        Capacitor("C", "p", "0", 1.0),
        Resistor("R", "p", "s", ohm),
        Resistor("RL", "s", "0", load_ohm),
        Regulator("Z", *ends, law),
    )


def test_a_zener_holds_what_the_load_line_says() -> None:
    """300 V over 40 kohm: 5 mA, so 100 V and 2.5 mA more in 350 ohm; worked by hand within the knee's 35 mV."""
    found = operate(fed(ZENER_100, 300.0, 40e3))
    assert found.dc("s", "0")[0] == pytest.approx(100.0 + 330.0 * 2.5e-3 + 0.05 * log(2.0), abs=0.02)
    assert found.power("Z")[0] == pytest.approx(found.dc("s", "0")[0] * -found.current("Z")[0])
    assert -found.current("Z")[0] == pytest.approx(5e-3, rel=0.01)


def test_ripple_is_divided_by_the_slope_resistance() -> None:
    """Ripple behind R is that of the supply times rz / (R + rz): the handbook's of a shunt regulator."""
    circuit = of(
        shapes.bridge(220.0, 30.0),
        shapes.reservoir(22e-6, 30e3),
        Resistor("R", "p", "s", 40e3),
        Regulator("Z", "0", "s", ZENER_100),
    )
    found = operate(circuit)
    slope = 330.0 + 0.05 / -found.current("Z")[0]
    wanted = slope / (40e3 + slope)
    assert found.ac_rms("s", "0")[0] / found.ac_rms("p", "0")[0] == pytest.approx(wanted, rel=1e-3)


def test_a_gas_valve_burns_only_where_its_supply_strikes_it() -> None:
    """Dark it reads the supply's divider, a hundredth below and above its 160 V; burning it reads 150 V."""
    circuit = fed(GAS_150, np.array([158.4, 161.6]) * 2.0, 10e3, 10e3)
    dark, lit = operate(circuit).dc("s", "0")
    assert dark == pytest.approx(158.4, rel=1e-3)
    assert lit == pytest.approx(150.0, abs=2.0)
    assert operate(circuit).current("Z")[1] == pytest.approx((323.2 - lit) / 10e3 - lit / 10e3, rel=0.01)


def test_a_gas_valve_that_burns_in_a_neighbour_is_dark_where_nothing_strikes_it() -> None:
    lit = operate(fed(GAS_150, 400.0, 10e3, 10e3))
    again = operate(fed(GAS_150, 310.0, 10e3, 10e3), start=lit)
    assert lit.current("Z")[0] > 1e-3
    assert again.current("Z")[0] == 0.0 and again.dc("s", "0")[0] == pytest.approx(155.0, rel=1e-3)


@pytest.mark.parametrize(("supply_v", "burning"), [(310.0, 0), (360.0, 2)])
def test_two_gas_valves_in_series_share_the_volts_until_both_strike(supply_v: float, burning: int) -> None:
    circuit = of(
        fed(GAS_150, supply_v, 2e3).elements[:-1], Regulator("Z", "s", "m", GAS_150), Regulator("Y", "m", "0", GAS_150)
    )
    found = operate(circuit)
    assert sum(float(found.current(name)[0]) > 1e-3 for name in ("Z", "Y")) == burning


def test_a_capacitor_falls_through_a_zener_to_its_volts() -> None:
    """From 200 V over 10 kohm to a zener of 100 V: 100 V (1 + exp(-t / RC)), also with the valves cold."""
    circuit = of(Capacitor("C", "p", "0", 10e-6), Resistor("R", "p", "s", 10e3), Regulator("Z", "0", "s", ZENER_100))
    fall = discharge(circuit, {"C": 200.0})
    # 0.82 V less at no current; 330 ohm of its own
    floor_v = 100.0 - 330.0 * 2.5e-3 - 0.05 * 4
    for seconds in (0.05, 0.1, 0.2):
        wanted = floor_v + (200.0 - floor_v) * np.exp(-seconds / (10330.0 * 10e-6))
        assert fall.volts_at(seconds)[0, 0] == pytest.approx(wanted, rel=0.01)
    assert fall.seconds_to(60.0)[0, 0] > 100.0, "below its volts a zener holds the charge"


def test_a_gas_valve_burns_on_while_the_supply_falls() -> None:
    """Over 10 kohm to 148.6 V and 51 ohm, where it stops: t = RC ln((V - 148.6) / (170 - 148.6))."""
    circuit = of(shapes.bridge(250.0, 30.0), shapes.reservoir(22e-6, 10e6), Resistor("R", "p", "s", 10e3))
    lit = operate(of(circuit.elements, Regulator("Z", "s", "0", GAS_150)))
    wanted = 10051.0 * 22e-6 * log((lit.dc("p", "0")[0] - 148.6) / (170.0 - 148.6))
    assert discharge(lit).seconds_to(170.0)[0, 0] == pytest.approx(wanted, rel=0.03)
    assert discharge(operate(circuit)).seconds_to(170.0)[0, 0] > 100.0 * wanted


def test_an_ohmmeter_finds_regulators_open() -> None:
    circuit = of(Resistor("R", "s", "0", 470e3), Regulator("Z", "0", "s", ZENER_100), Regulator("Y", "s", "0", GAS_150))
    assert resistance(circuit, "s", "0")[0] == pytest.approx(470e3)


@pytest.mark.spice
def test_a_zener_and_a_gas_valve_on_one_supply_against_ngspice() -> None:
    circuit = of(
        shapes.full_wave(280.0, 75.0, shapes.RECTIFIER_VALVE),
        shapes.reservoir(16e-6, 30e3),
        Resistor("R1", "p", "s", 10e3),
        Regulator("V5", "s", "0", GAS_150),
        Resistor("R2", "s", "0", 22e3),
        Resistor("R3", "p", "z", 47e3),
        Regulator("Z1", "0", "z", ZENER_100),
        Resistor("R4", "z", "0", 100e3),
    )
    ours, theirs = both(circuit, run_s=0.6)
    assert ours.current("V5")[0] > 5e-3 and ours.current("Z1")[0] < -1e-3, "both must hold"
    agree_dc(ours, theirs, "p", "s", "z")
    agree_ripple(ours, theirs, "p", "s", "z", share=0.05)
    agree_rectifier(ours, theirs, "Da")
