"""The steady state as such: Kirchhoff, superposition, scaling, symmetry, samples, trims, floating parts, failure."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest

from benchtui.circuit.dc import linearise
from benchtui.circuit.elements import (
    Capacitor,
    Circuit,
    Diode,
    MainsTransformer,
    Pot,
    Resistor,
    Valve,
    Winding,
)
from benchtui.circuit.operate import Trim, operate
from benchtui.circuit.operating import Operating
from benchtui.circuit.probe import Probe, readings
from benchtui.circuit.resistance import resistance
from tests.circuit import shapes
from tests.circuit.shapes import ECC83, SILICON, amplifier, of

TRIM = Trim("P1", "k2", "0", 0.35)


def changed(circuit: Circuit, name: str, **values: object) -> Circuit:
    """The circuit with one element altered."""
    assert any(getattr(e, "name", None) == name for e in circuit.elements)
    parts = tuple(replace(e, **values) if getattr(e, "name", None) == name else e for e in circuit.elements)
    return Circuit(parts, circuit.mains_hz)


def test_currents_sum_to_nothing_at_every_node() -> None:
    found = operate(amplifier(), trims=[TRIM])
    at = linearise(found.system, found.case, found.dc_volts)
    assert np.abs(at.residual).max() < 1e-8
    mean = float(found.current("D1")[0] + found.current("D2")[0])
    assert mean == pytest.approx(float(found.current("L1")[0]), rel=1e-3)
    point = found.valve("V2")
    assert point.cathode_a[0] == pytest.approx(found.current("R8")[0], rel=1e-6)
    assert found.current("R7")[0] == pytest.approx(point.screen_a[0], rel=1e-6)


def test_power_put_in_is_power_turned_into_heat() -> None:
    """Mains EMF times primary current against the heat of every part, within the accuracy of a waveform's points."""
    found = operate(amplifier(), trims=[TRIM])
    resistances = [e.name for e in amplifier().elements if isinstance(e, Resistor)]
    parts = [*resistances, "P1", "L1", "T", "W_HT", "W_BIAS", "D1", "D2", "D3", "D4", "D5"]
    heat = sum(float(found.power(name)[0]) for name in parts)
    for valve in ("V1", "V2"):
        point = found.valve(valve)
        heat += float(point.anode_w[0] + point.screen_w[0])
    primary = found.harmonic("T primary", "0", 1)
    assert primary[0] < 230.0
    amps_in_phase = (np.sqrt(2) * 230.0 - found.phasors[0, found.system.network.nodes["T primary"], 0].real) / 4.5
    assert heat == pytest.approx(np.sqrt(2) * 230.0 * amps_in_phase / 2, rel=0.01)


def test_linear_circuits_superpose() -> None:
    """Two windings in one resistive circuit: what both do together is the sum of what each does alone, in phasors."""

    def volts(first: float, second: float) -> np.ndarray:
        parts = (
            shapes.source("A", "a", "0", first, 10.0),
            shapes.source("B", "b", "0", second, 20.0),
            Resistor("R1", "a", "m", 1000.0),
            Resistor("R2", "b", "m", 2200.0),
            Capacitor("C", "m", "0", 1e-6),
        )
        found = operate(of(*parts))
        return found.phasors[0, found.system.network.nodes["m"], 0]

    assert volts(10.0, 6.0) == pytest.approx(volts(10.0, 0.0) + volts(0.0, 6.0), rel=1e-12)


def test_volts_scale_with_the_mains_where_the_law_has_no_scale() -> None:
    """Ideal rectifiers: twice the mains, twice of everything (the drop of 10 mV aside)."""
    one = operate(of(shapes.full_wave(200.0, 50.0), shapes.reservoir(47e-6, 4000.0)))
    two = operate(of(shapes.full_wave(400.0, 50.0), shapes.reservoir(47e-6, 4000.0)))
    for quantity in (
        lambda o: o.dc("p", "0"),
        lambda o: o.ac_rms("p", "0"),
        lambda o: o.rms("Wa"),
        lambda o: o.peak("Da"),
    ):
        assert quantity(two)[0] / quantity(one)[0] == pytest.approx(2.0, rel=2e-3)


def test_impedances_and_frequency_scale() -> None:
    """All ohms times 3, all farads by 3: the same volts, a third of the current. 60 Hz with C 5/6: the same again."""
    base = operate(of(shapes.full_wave(280.0, 50.0), shapes.reservoir(48e-6, 4000.0)))
    high = operate(of(shapes.full_wave(280.0, 150.0), shapes.reservoir(16e-6, 12000.0)))
    fast = operate(of(shapes.full_wave(280.0, 50.0), shapes.reservoir(40e-6, 4000.0), hz=60.0))
    assert high.dc("p", "0")[0] == pytest.approx(base.dc("p", "0")[0], rel=1e-4)
    assert high.rms("Da")[0] == pytest.approx(base.rms("Da")[0] / 3, rel=1e-3)
    assert fast.dc("p", "0")[0] == pytest.approx(base.dc("p", "0")[0], rel=1e-6)
    assert fast.ac_rms("p", "0")[0] == pytest.approx(base.ac_rms("p", "0")[0], rel=1e-6)


def test_equal_halves_carry_equal_currents_and_mirrored_circuits_mirror() -> None:
    found = operate(of(shapes.full_wave(280.0, 50.0, SILICON), shapes.reservoir(47e-6, 4000.0)))
    assert found.current("Da")[0] == pytest.approx(found.current("Db")[0], rel=1e-6)
    negative = operate(
        of(
            shapes.full_wave(280.0, 50.0)[0],
            Diode("Da", "n", "w1", SILICON),
            Diode("Db", "n", "w2", SILICON),
            Capacitor("C", "0", "n", 47e-6),
            Resistor("RL", "n", "0", 4000.0),
        )
    )
    assert negative.dc("n", "0")[0] == pytest.approx(-found.dc("p", "0")[0], rel=1e-6)
    assert negative.ac_rms("n", "0")[0] == pytest.approx(found.ac_rms("p", "0")[0], rel=1e-6)


def test_order_and_names_of_elements_do_not_matter() -> None:
    circuit = amplifier()
    turned = Circuit(tuple(reversed(circuit.elements)), circuit.mains_hz)
    first, second = operate(circuit, trims=[TRIM]), operate(turned, trims=[TRIM])
    for node in ("p", "q", "g2", "p1"):
        assert first.dc(node, "0")[0] == pytest.approx(second.dc(node, "0")[0], rel=1e-5)


def test_samples_are_solved_as_if_alone() -> None:
    """A batch from the nominal point against each sample by itself from nothing."""
    batch = amplifier(12, spread=0.15)
    found = operate(batch, trims=[TRIM], start=operate(amplifier(), trims=[TRIM]))
    assert found.settled.all()
    for number in (0, 5, 11):
        alone = operate(amplifier_sample(batch, number), trims=[TRIM])
        for node in ("p", "q", "n", "p2", "p1", "k1"):
            assert found.dc(node, "0")[number] == pytest.approx(alone.dc(node, "0")[0], rel=1.5e-3), node
        assert found.ac_rms("p", "0")[number] == pytest.approx(alone.ac_rms("p", "0")[0], rel=0.01)
        assert found.pots["P1"][number] == pytest.approx(alone.pots["P1"][0], abs=1e-3)


def amplifier_sample(circuit: Circuit, number: int) -> Circuit:
    def one(value: object) -> object:
        if isinstance(value, np.ndarray):
            return float(value[number])
        return (
            tuple(replace(w, ratio=one(w.ratio), ohm=one(w.ohm)) for w in value) if isinstance(value, tuple) else value
        )

    def of_sample(element: object) -> object:
        fields = {key: one(value) for key, value in vars(element).items() if key not in ("name", "law")}
        return replace(element, **fields)

    return Circuit(tuple(of_sample(element) for element in circuit.elements), circuit.mains_hz)


def test_a_trim_makes_the_loaded_reading_meet_its_target() -> None:
    target = np.linspace(0.2, 0.45, 12)
    trim = Trim("P1", "g2", "0", -34.0 - 10 * (target - 0.2), 1e6)
    found = operate(amplifier(12, spread=0.05), trims=[trim])
    assert found.settled.all()
    assert readings(found, [Probe("g2", "0", "dc", 1e6)])[:, 0] == pytest.approx(trim.target_v, rel=2e-3)
    assert ((found.pots["P1"] > 0.02) & (found.pots["P1"] < 0.98)).all()
    assert not found.untrimmed["P1"].any()


def test_a_target_out_of_reach_is_flagged() -> None:
    """2 A through the output valve cannot be had by its bias: the pot ends at its stop, in that sample only."""
    found = operate(amplifier(2, spread=0.0), trims=[replace_target(TRIM, np.array([0.35, 20.0]))])
    assert found.untrimmed["P1"].tolist() == [False, True]
    assert found.pots["P1"][1] > 0.9999
    assert found.dc("k2", "0")[0] == pytest.approx(0.35, rel=1e-4)


def replace_target(trim: Trim, target_v: np.ndarray) -> Trim:
    return replace(trim, target_v=target_v)


def test_an_unknown_pot_or_node_is_named() -> None:
    with pytest.raises(KeyError, match="no pot 'P9'.*P1"):
        operate(amplifier(), trims=[replace(TRIM, pot="P9")])
    found = operate(amplifier())
    with pytest.raises(KeyError, match="no node 'nowhere'"):
        found.dc("nowhere", "0")
    with pytest.raises(KeyError, match="no part 'R99'"):
        found.current("R99")
    with pytest.raises(KeyError, match="no valve 'V9'.*V1"):
        found.valve("V9")


def test_values_must_agree_on_the_number_of_samples() -> None:
    with pytest.raises(ValueError, match=r"one number of samples, not \[2, 3\]"):
        operate(of(Resistor("R1", "a", "0", np.ones(2)), Resistor("R2", "a", "0", np.ones(3))))


def test_floating_nodes_have_no_reading_but_their_own_part_has() -> None:
    """A heater winding without centre tap: 6.3 V across it, nothing to chassis; a grid without leak likewise."""
    circuit = of(
        shapes.full_wave(280.0, 50.0, SILICON),
        shapes.reservoir(47e-6, 10e3),
        shapes.source("H", "h1", "h2", 6.3, 0.1),
        Resistor("RH", "h1", "h2", 7.0),
        Valve("V1", "x", "g", "k", ECC83),
        Resistor("RA", "p", "x", 100e3),
        Resistor("RK", "k", "0", 1500.0),
        Capacitor("CG", "g", "0", 22e-9),
    )
    found = operate(circuit)
    assert found.settled.all()
    assert found.floating == {"h1", "h2", "g"}
    assert np.isnan(found.dc("h1", "0")[0]) and np.isnan(found.ac_rms("h1", "0")[0])
    assert found.ac_rms("h1", "h2")[0] == pytest.approx(6.3 * 7 / 7.1, rel=1e-6)
    assert found.dc("h1", "h2")[0] == pytest.approx(0.0, abs=1e-9)
    assert np.isnan(readings(found, [Probe("g", "0", "dc", 10e6)])[0, 0])
    assert np.isfinite(found.ac_rms("g", "0")[0]), "the capacitor ties it down for AC"
    assert np.isfinite(found.dc("x", "0")[0])


def test_a_node_floats_only_in_the_samples_where_its_tie_is_open() -> None:
    circuit = changed(amplifier(2, spread=0.0), "R9", ohm=np.array([1e6, 1e12]))
    found = operate(circuit)
    assert "g1" not in found.floating
    assert np.isfinite(found.dc("g1", "0")).tolist() == [True, False]
    assert np.isfinite(found.dc("p1", "0")).all()


def test_one_hopeless_sample_leaves_the_others_alone() -> None:
    """Not a number in one sample: that one is reported with a node to blame, and reads nothing."""
    sound = operate(amplifier())
    found = operate(changed(amplifier(3, spread=0.0), "R10", ohm=np.array([100e3, np.nan, 100e3])))
    assert found.settled.tolist() == [True, False, True]
    assert found.blame[0] is None and found.blame[1] in found.system.network.nodes
    assert np.isnan(found.dc("p", "0")[1]) and np.isnan(found.valve("V2").anode_a[1])
    assert found.dc("p1", "0")[[0, 2]] == pytest.approx(sound.dc("p1", "0")[0], rel=1e-3)
    assert np.isnan(readings(found, [Probe("p", "0", "dc", 10e6), Probe("p", "0", "ac", 10e6)])[1]).all()


def test_it_ends_on_a_circuit_that_is_nothing_but_trouble() -> None:
    """Everything shorted and open at once: an answer or none, but an end."""
    names = [e.name for e in amplifier().elements if isinstance(e, Resistor)]
    random = np.random.default_rng(7)
    circuit = amplifier(24, spread=0.0)
    for name in names:
        circuit = changed(circuit, name, ohm=random.choice([1e-6, 100.0, 1e5, 1e12], 24))
    before = time.process_time()
    found = operate(circuit)
    assert time.process_time() - before < 120
    assert found.settled.mean() > 0.9
    assert np.isfinite(found.current("D1")[found.settled]).all()


@pytest.mark.parametrize("emission", [0.0, 0.1, 0.5, 1.0])
def test_warm_up_is_a_matter_of_emission(emission: float) -> None:
    """Cold valves draw nothing and the supply rises; every step on the way has a solution."""
    circuit = changed(changed(amplifier(), "V2", emission=emission), "V1", emission=emission)
    found = operate(circuit)
    assert found.settled.all()
    point = found.valve("V2")
    assert (point.anode_a[0] > 0) == (emission > 0)
    assert found.dc("q", "0")[0] >= operate(amplifier()).dc("q", "0")[0] - 1e-6


def test_a_cold_valve_rectifier_gives_no_supply() -> None:
    core, first, second = shapes.full_wave(280.0, 75.0, shapes.RECTIFIER_VALVE)
    halves = tuple(replace(each, emission=np.array([0.0, 0.02, 1.0])) for each in (first, second))
    found = operate(of((core, *halves), shapes.reservoir(16e-6, 4000.0)))
    volts = found.dc("p", "0")
    assert found.settled.all()
    assert volts[0] == pytest.approx(0.0, abs=0.01)
    assert 0 < volts[1] < volts[2]


def test_no_rectifier_at_all_is_the_ac_circuit() -> None:
    """Heaters: 6.3 V behind 0.1 ohm into 2.1 ohm, and each side of an artificial centre tap half of it."""
    found = operate(
        of(
            shapes.source("H", "h1", "h2", 6.6, 0.1),
            Resistor("RH", "h1", "h2", 2.1),
            Resistor("RC1", "h1", "0", 100.0),
            Resistor("RC2", "h2", "0", 100.0),
        )
    )
    load = 1 / (1 / 2.1 + 1 / 200)
    assert found.ac_rms("h1", "h2")[0] == pytest.approx(6.6 * load / (load + 0.1), rel=1e-6)
    assert found.ac_rms("h1", "0")[0] == pytest.approx(found.ac_rms("h1", "h2")[0] / 2, rel=1e-9)
    assert found.rms("H")[0] == pytest.approx(6.6 / (load + 0.1), rel=1e-6)
    assert found.power("RH")[0] == pytest.approx(found.ac_rms("h1", "h2")[0] ** 2 / 2.1, rel=1e-9)


def test_mains_off_is_a_state_too() -> None:
    found = operate(changed(amplifier(), "T", mains_v=0.0))
    assert found.settled.all()
    for node in ("p", "q", "n", "p1", "g2"):
        assert found.dc(node, "0")[0] == pytest.approx(0.0, abs=0.01), node
    assert found.rms("D1")[0] == pytest.approx(0.0, abs=1e-6)


def test_two_transformers_and_two_channels_keep_to_themselves() -> None:
    """The same supply twice in one circuit: each is as if alone."""
    one = of(shapes.full_wave(280.0, 50.0, SILICON), shapes.reservoir(47e-6, 4000.0))
    twin = (
        MainsTransformer("T2", 280.0, 0.0, (Winding("Wc", "y1", "0", 1.0, 50.0), Winding("Wd", "0", "y2", 1.0, 50.0))),
        Diode("Dc", "y1", "r", SILICON),
        Diode("Dd", "y2", "r", SILICON),
        Capacitor("C9", "r", "0", 47e-6),
        Resistor("R9", "r", "0", 8000.0),
    )
    both = operate(Circuit((*one.elements, *twin), 50.0))
    alone = operate(one)
    assert both.dc("p", "0")[0] == pytest.approx(alone.dc("p", "0")[0], rel=1e-6)
    assert both.ac_rms("p", "0")[0] == pytest.approx(alone.ac_rms("p", "0")[0], rel=1e-6)
    assert both.dc("r", "0")[0] > both.dc("p", "0")[0]


def test_many_samples_take_little_time() -> None:
    """Measured at 0.3 s on the machine it was written on; the bound allows for a busy one."""
    nominal = operate(amplifier(), trims=[TRIM])
    circuit = amplifier(200, spread=0.1)
    before = time.process_time()
    found: Operating = operate(circuit, trims=[TRIM], start=nominal)
    readings(found, [Probe(node, "0", "dc", 10e6) for node in ("p", "q", "r", "n", "g2", "p1", "k1", "g1")])
    assert time.process_time() - before < 6.0
    assert found.settled.all()


def test_resistance_of_the_unpowered_circuit() -> None:
    """Series and parallel by hand; windings count, the primary does not, capacitors and junctions are open."""
    circuit = amplifier()
    assert resistance(circuit, "w", "m")[0] == pytest.approx(220.0, rel=1e-5), "the track, nothing beside it"
    assert resistance(circuit, "w", "0")[0] == pytest.approx(0.99 * 22e3 + 10e3, rel=1e-5)
    assert resistance(circuit, "q", "0")[0] == pytest.approx(220e3, rel=1e-5)
    assert resistance(circuit, "p", "0")[0] == pytest.approx(220e3 + 85.0, rel=1e-5)
    assert resistance(circuit, "a", "b")[0] == pytest.approx(24.0, rel=1e-5)
    assert resistance(circuit, "c", "0")[0] == pytest.approx(14.0, rel=1e-5)
    assert np.isinf(resistance(circuit, "a", "p")[0]), "a junction is open"
    grid_leak, bias, rail = 220e3, 0.99 * 22e3 + 10e3, 100e3 + 22e3 + 220e3
    assert resistance(circuit, "p1", "g2")[0] == pytest.approx(rail + bias + grid_leak, rel=1e-5)
    assert resistance(circuit, "p", "p")[0] == 0.0


@pytest.mark.parametrize(("position", "below_ohm"), [(0.25, 1e3), (0.75, np.inf)])
def test_resistance_of_a_pot_and_of_an_open_part(position: float, below_ohm: float) -> None:
    circuit = of(Pot("P", "a", "w", "b", 10e3, position), Resistor("R", "b", "0", below_ohm))
    assert resistance(circuit, "a", "w") == pytest.approx([position * 10e3])
    assert resistance(circuit, "a", "0") == pytest.approx([10e3 + below_ohm])


def test_what_hangs_together_must_be_one_for_all_samples() -> None:
    with pytest.raises(ValueError, match="open in some samples only"):
        resistance(of(Resistor("R", "b", "0", np.array([1e3, np.inf]))), "b", "0")
