"""Transistors as current sources: their laws, their slopes, and circuits with them against ngspice's own models."""

from __future__ import annotations

from math import exp

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtui.circuit.devices import THERMAL_V
from benchtui.circuit.elements import Capacitor, Circuit, Law, Regulator, Resistor, Transistor, Valve
from benchtui.circuit.operate import operate
from benchtui.circuit.transistors import TRANSISTOR_FORMS
from tests.circuit import shapes
from tests.circuit.against import agree_dc, agree_ripple, both
from tests.circuit.shapes import ECC83, EL34, FET, NPN, PNP, ZENER_100, of

P_FET = Law("depletion_fet", {**FET.constants, "polarity": -1.0})
LAWS = {"n channel": FET, "p channel": P_FET, "npn": NPN, "pnp": PNP}


def amps(law: Law, anode_v: float, grid_v: float) -> tuple[np.ndarray, np.ndarray]:
    """Currents of drain and gate (collector and base), and their slopes by drain and gate volts."""
    constants = {key: np.array(value) for key, value in law.constants.items()}
    found = TRANSISTOR_FORMS[law.form](np.array(anode_v), np.zeros(()), np.array(grid_v), constants)
    assert not found.amps[1].any() and not found.siemens[1].any() and not found.siemens[:, 1].any()
    return found.amps[[0, 2]], found.siemens[np.ix_([0, 2], [0, 2])]


@pytest.mark.parametrize(
    ("drain_v", "gate_v", "wanted"),
    [
        (10.0, 0.0, 4e-3 * 1.1),  # saturated at IDSS
        (10.0, -1.0, 1e-3 * 1.1),  # half of the pinch-off volts: a quarter of IDSS
        (10.0, -2.5, 0.0),  # beyond pinch-off
        (0.5, 0.0, 1e-3 * 0.5 * (4.0 - 0.5) * 1.005),  # beta v (2 vp - v), beta = IDSS / vp^2 = 1 mA/V^2
        (-0.5, 0.0, -1e-3 * 0.5 * (5.0 - 0.5) * 1.005),  # drain and source change places: the gate is 0.5 V up
    ],
)
def test_the_square_law_by_hand(drain_v: float, gate_v: float, wanted: float) -> None:
    """I = IDSS (1 - vgs / vp)^2 (1 + vds / 100 V), and the triode region below pinch-off."""
    assert amps(FET, drain_v, gate_v)[0] == pytest.approx([wanted, 0.0], rel=1e-9)
    assert amps(P_FET, -drain_v, -gate_v)[0] == pytest.approx([-wanted, 0.0], rel=1e-9)


def test_ebers_and_moll_by_hand() -> None:
    """Active: IC = IS exp(vbe / VT) (1 + vcb / VA), IB = IS exp(vbe / VT) / gain."""
    grown = 1e-14 * exp(0.68 / THERMAL_V)
    collector, base = amps(NPN, 20.0, 0.68)[0]
    assert collector == pytest.approx(grown * (1.0 + (20.0 - 0.68) / 100.0), rel=1e-9)
    assert base == pytest.approx(grown / 80.0, rel=1e-9)
    assert amps(PNP, -20.0, -0.68)[0] == pytest.approx([-collector, -base], rel=1e-12)


@pytest.mark.parametrize("kind", sorted(LAWS))
@pytest.mark.parametrize("point", [(20.0, -0.7), (0.2, 0.65), (-0.3, -0.1), (0.9, -1.2), (-30.0, 0.5), (40.0, 1.5)])
def test_slopes_are_the_derivatives(kind: str, point: tuple[float, float]) -> None:
    """Every conductance against a central difference of the current."""
    law, step = LAWS[kind], 1e-6
    _, siemens = amps(law, *point)
    for column, (by_anode, by_grid) in enumerate(((step, 0.0), (0.0, step))):
        above = amps(law, point[0] + by_anode, point[1] + by_grid)[0]
        below = amps(law, point[0] - by_anode, point[1] - by_grid)[0]
        assert siemens[:, column] == pytest.approx((above - below) / (2 * step), rel=1e-5, abs=1e-9)


any_volts = st.floats(allow_nan=False, allow_infinity=False)


@pytest.mark.parametrize("kind", sorted(LAWS))
@given(anode_v=any_volts, grid_v=any_volts)
def test_no_volts_break_a_transistor(kind: str, anode_v: float, grid_v: float) -> None:
    found, slopes = amps(LAWS[kind], anode_v, grid_v)
    assert np.isfinite(found).all() and np.isfinite(slopes).all()


def supplied(*parts: object) -> Circuit:
    """+300 V at `p` and -60 V at `n` without ripple, and the given parts."""
    return of(
        shapes.bridge(300.0 / np.sqrt(2.0), 1e-3, shapes.IDEAL),
        Capacitor("C", "p", "0", 1.0),
        Resistor("RP", "p", "0", 100e3),
        shapes.source("WN", "c", "0", 60.0 / np.sqrt(2.0), 1.0),
        shapes.Diode("DN", "n", "c", shapes.IDEAL),
        Capacitor("CN", "0", "n", 1e-2),
        Resistor("RN", "0", "n", 10e3),
        parts,
    )


def test_a_fet_with_a_source_resistor_settles_where_the_line_meets_its_curve() -> None:
    """1 kohm: i = 4 mA (1 - 1000 i / 2 V)^2 gives 1 mA without modulation."""
    straight = Law("depletion_fet", {**FET.constants, "modulation_v": 1e9})
    found = operate(supplied(Transistor("Q1", "p", "0", "s", straight), Resistor("R1", "s", "0", 1e3)))
    assert found.dc("s", "0")[0] == pytest.approx(1.0, rel=1e-6)
    assert found.current("Q1")[0] == pytest.approx(1e-3, rel=1e-6)
    assert found.power("Q1")[0] == pytest.approx(1e-3 * (found.dc("p", "0")[0] - 1.0), rel=1e-6)


def test_a_source_resistor_raises_the_output_resistance() -> None:
    """rds + Rs (1 + gm rds), the textbook's formula, from two drain resistors."""

    def current(drop_ohm: float) -> tuple[float, float]:
        parts = Resistor("RD", "p", "d", drop_ohm), Transistor("Q1", "d", "0", "s", FET), Resistor("R1", "s", "0", 1e3)
        found = operate(supplied(*parts))
        return float(found.current("Q1")[0]), float(found.dc("d", "0")[0])

    (amps_1, volts_1), (amps_2, volts_2) = current(1e3), current(2e3)
    _, slopes = amps(FET, volts_1 - amps_1 * 1e3, -amps_1 * 1e3)
    gm, gds = slopes[0, 1], slopes[0, 0]
    wanted = 1.0 / gds + 1e3 * (1.0 + gm / gds)
    assert (volts_1 - volts_2) / (amps_1 - amps_2) == pytest.approx(wanted, rel=0.02)


def test_both_halves_of_a_pair_share_a_constant_tail() -> None:
    """7.8 V at the base less 0.7 V over 3.3 kohm: 2.15 mA, of which a 81st is the base's; each half has one half."""
    found = operate(supplied(*long_tailed(NPN)))
    halves = np.array([found.valve(name).anode_a[0] for name in ("V1", "V2")])
    assert halves[0] == pytest.approx(halves[1], rel=2e-3), "but for a millivolt of ion current in the grid leak"
    base_v = found.dc("b", "n")[0]
    assert halves.sum() == pytest.approx((base_v - 0.69) / 3.3e3 * 80.0 / 81.0, rel=0.01)
    assert found.power("Q1")[0] == pytest.approx(halves.sum() * found.dc("k", "e")[0], rel=0.01)


def long_tailed(law: Law, *, grid_ohm: float = 1e6) -> tuple[object, ...]:
    """Two triodes on a tail of one transistor, its base at a divider of the negative supply."""
    return (
        Resistor("RA1", "p", "a1", 100e3),
        Resistor("RA2", "p", "a2", 100e3),
        Valve("V1", "a1", "g1", "k", ECC83),
        Valve("V2", "a2", "0", "k", ECC83),
        Resistor("RG", "g1", "0", grid_ohm),
        Transistor("Q1", "k", "b", "e", law),
        Resistor("RE", "e", "n", 3.3e3),
        Resistor("RB1", "b", "n", 3.3e3),
        Resistor("RB2", "0", "b", 22e3),
    )


def amplifier(*parts: object) -> Circuit:
    """Parts under the HT of a rectifier valve (`p`) and a negative supply of some ripple (`n`)."""
    return of(
        shapes.full_wave(280.0, 75.0, shapes.RECTIFIER_VALVE),
        shapes.reservoir(22e-6, 15e3),
        shapes.source("WN", "c", "0", 45.0, 14.0),
        shapes.Diode("DN", "n", "c", shapes.SILICON),
        Capacitor("CN", "0", "n", 47e-6),
        Resistor("RN", "0", "n", 10e3),
        parts,
    )


@pytest.mark.spice
def test_a_pair_with_a_bipolar_tail_against_ngspice() -> None:
    ours, theirs = both(amplifier(*long_tailed(NPN)), run_s=0.6)
    assert ours.current("Q1")[0] > 5e-4
    agree_dc(ours, theirs, "p", "n", "a1", "a2", "k", "b", "e")
    agree_ripple(ours, theirs, "a1", "a2", "k", share=0.05)


@pytest.mark.spice
def test_fet_tail_and_fet_anode_load_against_ngspice() -> None:
    """A pair on a junction transistor of the negative supply; a stage that has one as its anode load."""
    parts = (
        *long_tailed(FET)[:5],
        Transistor("Q1", "k", "n", "s", FET),
        Resistor("RS", "s", "n", 1e3),
        Transistor("Q2", "p", "x", "y", FET),
        Resistor("RY", "y", "x", 2.2e3),
        Valve("V3", "x", "0", "k3", EL34, "x"),
        Resistor("RK", "k3", "0", 10e3),
    )
    ours, theirs = both(amplifier(*parts), run_s=0.6)
    agree_dc(ours, theirs, "a1", "a2", "k", "s", "x", "y", "k3")
    agree_ripple(ours, theirs, "a1", "k", "x", share=0.05)


@pytest.mark.spice
def test_a_pnp_anode_load_on_a_zener_against_ngspice() -> None:
    parts = (
        Regulator("Z1", "b", "p", Law("zener", {**ZENER_100.constants, "breakdown_v": 10.0, "slope_ohm": 60.0})),
        Resistor("RB", "b", "0", 100e3),
        Resistor("RE", "p", "e", 8.2e3),
        Transistor("Q1", "a", "b", "e", PNP),
        Valve("V1", "a", "0", "k", ECC83),
        Resistor("RK", "k", "0", 1.5e3),
    )
    ours, theirs = both(amplifier(*parts), run_s=0.6)
    agree_dc(ours, theirs, "p", "b", "e", "k", "a", share=0.006)
    agree_ripple(ours, theirs, "b", "e", "a", share=0.05)
