"""Decay after switch-off: closed forms, and ngspice where rectifiers or hot valves take part.

The closed forms and worked figures are those of a handbook's section on discharge: V = V0 exp(-t / RC).
"""

from __future__ import annotations

from dataclasses import replace
from math import exp, log

import numpy as np
import pytest

from benchtui.circuit.discharge import Decay, discharge
from benchtui.circuit.elements import Capacitor, Choke, Circuit, Diode, Resistor, Valve
from benchtui.circuit.operate import operate
from tests.circuit import deck, shapes
from tests.circuit.shapes import EL34, of


def one(farad: float, *ohms: float) -> Circuit:
    return of(Capacitor("C", "p", "0", farad), *(Resistor(f"R{k}", "p", "0", ohm) for k, ohm in enumerate(ohms)))


@pytest.mark.parametrize(
    ("farad", "ohms", "start_v", "threshold_v", "seconds", "within"),
    [
        (100e-6, (220e3,), 450.0, 60.0, 44.33, 0.2),
        (100e-6, (220e3,), 450.0, 10.0, 83.75, 0.3),
        (200e-6, (2200.0,), 450.0, 10.0, 1.675, 0.02),
        (100e-6, (10e6,), 450.0, 60.0, 33.58 * 60, 12.0),  # a dead bleeder, the meter alone
        (150e-6, (210.8e3,), 400.0, 60.0, 60.0, 0.3),
        (100e-6, (220e3, 10e6), 450.0, 60.0, 215.3e3 * 100e-6 * log(450 / 60), 0.1),
    ],
)
def test_one_capacitor(
    farad: float, ohms: tuple[float, ...], start_v: float, threshold_v: float, seconds: float, within: float
) -> None:
    found = discharge(one(farad, *ohms), {"C": start_v})
    assert found.seconds_to(threshold_v)[0, 0] == pytest.approx(seconds, abs=within)


def test_volts_after_some_seconds() -> None:
    """450 V, tau 22 s: 115.1 V after 30 s (0.5); 0.6738 % are left after five time constants (0.01)."""
    found = discharge(one(100e-6, 220e3), {"C": 450.0})
    assert found.volts_at(30.0)[0, 0] == pytest.approx(115.1, abs=0.5)
    assert 100 * found.volts_at(5 * 22.0)[0, 0] / 450.0 == pytest.approx(0.6738, abs=0.01)
    assert found.volts_at(0.0)[0, 0] == pytest.approx(450.0)


def two_sections() -> Circuit:
    return of(
        Capacitor("C1", "p", "0", 50e-6),
        Resistor("R1", "p", "q", 10e3),
        Capacitor("C2", "q", "0", 20e-6),
        Resistor("R2", "q", "0", 100e3),
    )


def test_two_capacitors_by_their_own_equations() -> None:
    """The 2x2 system's eigenvalues worked out here; C2, behind R1, falls first and is then fed by C1."""
    matrix = np.array(
        [[-1 / (10e3 * 50e-6), 1 / (10e3 * 50e-6)], [1 / (10e3 * 20e-6), -(1 / 10e3 + 1 / 100e3) / 20e-6]]
    )
    values, modes = np.linalg.eig(matrix)
    found = discharge(two_sections(), {"C1": 400.0, "C2": 100.0})
    for seconds in (0.05, 0.5, 5.0, 20.0):
        exact = modes @ (np.exp(values * seconds) * np.linalg.solve(modes, np.array([400.0, 100.0])))
        assert found.volts_at(seconds)[0] == pytest.approx(exact, rel=5e-3), seconds


def test_a_capacitor_below_the_threshold_may_rise_above_it() -> None:
    """C2 begins at 5 V, is charged by C1 through R1, and is safe only after that: the last crossing counts."""
    found = discharge(two_sections(), {"C1": 400.0, "C2": 5.0})
    c1, c2 = found.seconds_to(10.0)[0]
    assert c2 > 10.0
    assert c2 == pytest.approx(c1, rel=0.05)


def test_a_capacitor_without_any_path_never_empties() -> None:
    found = discharge(of(Capacitor("C", "p", "q", 1e-6), Resistor("R", "p", "0", 1e5)), {"C": 300.0})
    assert np.isinf(found.seconds_to(10.0)[0, 0])
    assert discharge(of(Capacitor("C", "p", "q", 1e-6)), {"C": 5.0}).seconds_to(10.0)[0, 0] == 0.0


def test_a_blown_bleeder_in_one_sample_only() -> None:
    found = discharge(
        of(Capacitor("C", "p", "0", 100e-6), Resistor("R", "p", "0", np.array([220e3, 1e12]))), {"C": 450.0}
    )
    seconds = found.seconds_to(60.0)[:, 0]
    assert seconds[0] == pytest.approx(44.33, abs=0.2)
    assert np.isinf(seconds[1])


def test_parallel_capacitors_share_their_charge() -> None:
    """Two capacitors across each other meet at (C1 V1 + C2 V2) / (C1 + C2)."""
    circuit = of(Capacitor("C1", "p", "0", 30e-6), Capacitor("C2", "p", "0", 10e-6), Resistor("R", "p", "0", 1e6))
    found = discharge(circuit, {"C1": 400.0})
    assert found.volts_at(0.01)[0] == pytest.approx([300.0, 300.0], rel=0.01)


def test_names_and_starts_are_checked() -> None:
    with pytest.raises(KeyError, match="no capacitor 'C9'"):
        discharge(one(1e-6, 1e3), {"C9": 1.0})
    with pytest.raises(ValueError, match="volts at switch-off"):
        discharge(one(1e-6, 1e3))


def supply(load: tuple = ()) -> Circuit:
    return of(
        shapes.bridge(250.0, 25.0),
        Capacitor("C1", "p", "0", 47e-6),
        Choke("L1", "p", "q", 5.0, 85.0),
        Capacitor("C2", "q", "0", 47e-6),
        Resistor("R1", "q", "0", 100e3),
        load,
    )


def test_cold_supply_falls_as_one_capacitor() -> None:
    """Both capacitors in parallel through the choke, within 1 %: RC ln(V0 / 10 V)."""
    at = operate(supply())
    seconds = dict(zip(*names_and_seconds(discharge(at), 10.0), strict=True))
    volts = float(at.dc("p", "0")[0])
    assert seconds["C1"] == pytest.approx(94e-6 * 100e3 * log(volts / 10.0), rel=0.01)


def names_and_seconds(found: Decay, threshold_v: float) -> tuple[tuple[str, ...], np.ndarray]:
    return found.names, found.seconds_to(threshold_v)[0]


def test_cold_and_without_rectifiers_both_ways_of_reckoning_agree() -> None:
    """Stepping in time against the exact exponentials, half a per cent."""
    at = operate(supply())
    exact, stepped = discharge(at), discharge(at, hot=True)
    assert stepped.seconds_to(10.0)[0] == pytest.approx(exact.seconds_to(10.0)[0], rel=0.005)


OUTPUT = (
    Valve("V1", "x", "0", "k", EL34, "f"),
    Resistor("R2", "q", "x", 200.0),
    Resistor("R3", "q", "f", 1000.0),
    Resistor("R4", "k", "0", 330.0),
    Capacitor("C3", "k", "0", 100e-6),
)


def spice_volts(circuit: Circuit, start: dict[str, float], seconds: float, keep: str) -> tuple[np.ndarray, np.ndarray]:
    """ngspice's fall of a node after switch-off: the mains at nothing from the start."""
    parts = [replace(e, mains_v=0.0) if hasattr(e, "mains_v") else e for e in circuit.elements]
    found = deck.run(Circuit(tuple(parts), 50.0), start, run_s=seconds, keep_from_s=0.0, step_s=seconds / 4000)
    return found["time"], found[f"v({keep})"]


@pytest.mark.spice
def test_hot_valve_empties_the_supply_as_ngspice_says() -> None:
    circuit = supply(OUTPUT)
    at = operate(circuit)
    begin = {node: float(at.dc(node, "0")[0]) for node in ("p", "q", "k", "x", "f")}
    time, volts = spice_volts(circuit, begin, 3.0, "q")
    hot = discharge(at, hot=True)
    below = time[np.flatnonzero(volts >= 60.0)[-1]]
    index = hot.names.index("C2")
    assert hot.seconds_to(60.0)[0, index] == pytest.approx(below, rel=0.03)
    assert hot.seconds_to(60.0)[0, index] < 0.5 * discharge(at).seconds_to(60.0)[0, index]


@pytest.mark.spice
def test_pump_capacitor_of_a_doubler_feeds_the_other() -> None:
    """Its charge leaves through the second rectifier: the output holds up longer than its own R C says."""
    circuit = of(
        shapes.source("W", "a", "0", 120.0, 10.0),
        Capacitor("C1", "x", "a", 100e-6),
        Diode("D1", "0", "x", shapes.SILICON),
        Diode("D2", "x", "p", shapes.SILICON),
        Capacitor("C2", "p", "0", 47e-6),
        Resistor("RL", "p", "0", 47e3),
    )
    at = operate(circuit)
    cold = discharge(at)
    found = cold.seconds_to(30.0)[0, cold.names.index("C2")]
    begin = {node: float(at.dc(node, "0")[0]) for node in ("p", "x")}
    time, volts = spice_volts(circuit, begin, 20.0, "p")
    assert found == pytest.approx(time[np.flatnonzero(volts >= 30.0)[-1]], rel=0.02)
    assert found > 1.5 * 47e3 * 47e-6 * log(begin["p"] / 30.0)


def test_decay_between_grid_points_is_exponential() -> None:
    found = Decay(("C",), np.array([0.0, 10.0]), np.array([[[100.0, 100.0 * exp(-1.0)]]]), np.zeros((1, 1), dtype=bool))
    assert found.volts_at(5.0)[0, 0] == pytest.approx(100.0 * exp(-0.5))
    assert found.seconds_to(100.0 * exp(-0.3))[0, 0] == pytest.approx(3.0)


@pytest.mark.parametrize("hot", [False, True])
def test_a_hopeless_sample_leaves_the_others_alone(hot: bool) -> None:
    bleeder = Resistor("R", "p", "0", np.array([220e3, np.nan, 220e3]))
    found = discharge(of(Capacitor("C", "p", "0", 100e-6), bleeder), {"C": 450.0}, hot=hot)
    assert found.volts_at(30.0)[[0, 2], 0] == pytest.approx([115.1, 115.1], abs=1.0)
    assert np.isnan(found.volts_at(30.0)[1, 0])
    assert np.isnan(found.seconds_to(60.0)[1, 0])


def test_unknown_volts_are_never_below_the_threshold() -> None:
    found = Decay(("C",), np.array([0.0, 1.0]), np.full((1, 1, 2), np.nan), np.zeros((1, 1), dtype=bool))
    assert np.isnan(found.seconds_to(10.0)[0, 0])
