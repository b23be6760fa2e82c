"""Laws that any circuit obeys, on random ones: textbook network theory, no table needed.

Linear networks are drawn with several mains transformers as sources (one frequency, in phase), direct currents are
injected into the equations, since no element of the engine is a source of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtui.circuit.dc import case_of, open_ports, solve
from benchtui.circuit.elements import (
    CHASSIS,
    Capacitor,
    Choke,
    Circuit,
    Diode,
    Element,
    Law,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Resistor,
    Valve,
    Winding,
)
from benchtui.circuit.flows import phasor_amps
from benchtui.circuit.network import network
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating, waveform
from benchtui.circuit.probe import Probe, readings
from benchtui.circuit.system import LEAK_SIEMENS, System
from tests.circuit import shapes
from tests.circuit.kinds import kinds
from tests.circuit.shapes import ECC83, EL34, SILICON, amplifier, of

EXAMPLES = settings(max_examples=20)
NODES = ("n1", "n2", "n3", "n4", "n5")
SOURCES = ("S1", "S2")


@dataclass(frozen=True)
class Net:
    """A passive network of `NODES`, and where its two sources are."""

    parts: tuple[Element, ...]
    ends: tuple[tuple[str, str], ...]

    def driven(self, *volts: float, ohm: float = 50.0) -> Operating:
        """The steady state with the sources at these volts rms; `ohm` is the resistance of each."""
        sources = [
            MainsTransformer(f"{name} core", v, 1.0, (Winding(name, *ends, 1.0, ohm),))
            for name, v, ends in zip(SOURCES, volts, self.ends, strict=True)
        ]
        return operate(Circuit((*sources, *self.parts), 50.0))


@st.composite
def nets(draw: st.DrawFn, *, resistive: bool = False) -> Net:
    """A resistor from each node to an earlier one, and up to six more parts anywhere."""
    ohms = st.floats(1.0, 6.0).map(lambda x: 10.0**x)
    earlier = {name: st.sampled_from((CHASSIS, *NODES)[: k + 1]) for k, name in enumerate(NODES)}
    parts: list[Element] = [Resistor(f"RT{name}", name, draw(earlier[name]), draw(ohms)) for name in NODES]
    pairs = st.lists(st.sampled_from((CHASSIS, *NODES)), min_size=2, max_size=2, unique=True)
    kinds_of_part = ("R",) if resistive else ("R", "C", "L", "P")
    for number in range(draw(st.integers(1, 6))):
        kind, (a, b), ohm = draw(st.sampled_from(kinds_of_part)), draw(pairs), draw(ohms)
        parts.append(
            {
                "R": Resistor(f"R{number}", a, b, ohm),
                "C": Capacitor(f"C{number}", a, b, 1e-2 / ohm),
                "L": Choke(f"L{number}", a, b, ohm / 300.0, ohm / 10.0),
                "P": Pot(f"P{number}", a, f"w{number}", b, ohm, 0.3),
            }[kind]
        )
    first, second = draw(pairs), draw(pairs)
    return Net(tuple(parts), (tuple(first), tuple(second)))


def direct(net: Net, amps: Mapping[str, float]) -> dict[str, float]:
    """Direct volts of every node with `amps` injected into some."""
    system = System(network(Circuit(net.parts)))
    case = case_of(system.network, open_ports(system.network))
    injected = np.zeros((system.nodes, 1))
    for node, each in amps.items():
        injected[system.network.index(node)] = each
    found = solve(system, replace(case, injected=injected), np.zeros((system.nodes, 1)))
    assert found.settled.all()
    return {name: float(found.volts[k, 0]) for name, k in system.network.nodes.items()}


def shown(found: Operating) -> np.ndarray:
    """Complex volts of `NODES` at mains frequency."""
    return np.array([found.phasors[0, found.system.network.index(node), 0] for node in NODES])


def through(found: Operating, winding: str) -> complex:
    """Complex current through a source, from its first node to its second."""
    branch = found.system.network.linear_names[winding]
    return complex(phasor_amps(found.system, found.case, found.phasors, branch)[0, 0])


@EXAMPLES
@given(nets(), st.floats(-1.0, 1.0), st.floats(-1.0, 1.0))
def test_what_two_direct_currents_do_is_the_sum_of_what_each_does(net: Net, first: float, second: float) -> None:
    one, other = direct(net, {"n1": first}), direct(net, {"n3": second})
    both = direct(net, {"n1": first, "n3": second})
    largest = max(map(abs, (*one.values(), *other.values())))
    for node in NODES:
        assert both[node] == pytest.approx(one[node] + other[node], rel=1e-6, abs=1e-9 * largest + 1e-12)


@EXAMPLES
@given(nets(), st.floats(1.0, 300.0), st.floats(1.0, 300.0))
def test_what_two_windings_do_is_the_sum_of_what_each_does(net: Net, first: float, second: float) -> None:
    one, other, both = shown(net.driven(first, 0.0)), shown(net.driven(0.0, second)), shown(net.driven(first, second))
    assert both == pytest.approx(one + other, rel=1e-9, abs=1e-9)


@EXAMPLES
@given(nets(), st.floats(0.01, 10.0))
def test_volts_of_a_linear_network_follow_their_source(net: Net, share: float) -> None:
    whole = share * shown(net.driven(100.0, 0.0))
    assert shown(net.driven(100.0 * share, 0.0)) == pytest.approx(whole, rel=1e-9, abs=1e-9 * share)


@EXAMPLES
@given(nets())
def test_a_current_does_elsewhere_what_it_would_do_here_from_there(net: Net) -> None:
    """Reciprocity: volts at n4 by a current into n1 are those at n1 by the same current into n4."""
    assert direct(net, {"n1": 1.0})["n4"] == pytest.approx(direct(net, {"n4": 1.0})["n1"], rel=1e-6, abs=1e-6)


@EXAMPLES
@given(nets())
def test_a_winding_drives_another_as_that_would_drive_it(net: Net) -> None:
    forth, back = through(net.driven(100.0, 0.0), "S2"), through(net.driven(0.0, 100.0), "S1")
    assert forth == pytest.approx(back, rel=1e-7, abs=1e-12)


@EXAMPLES
@given(nets())
def test_a_linear_network_turns_all_that_its_windings_give_into_heat(net: Net) -> None:
    found = net.driven(100.0, 30.0)
    leaks_w = LEAK_SIEMENS * 130.0**2 * (len(NODES) + 2)  # of every node to chassis, in no part's heat
    assert heat_w(found) == pytest.approx(given_w(found), rel=1e-6, abs=leaks_w)


@EXAMPLES
@given(nets(resistive=True), st.floats(3.0, 7.0), st.floats(3.0, 7.0))
def test_two_meters_find_the_same_source_behind_a_pair_of_nodes(net: Net, first: float, second: float) -> None:
    """Open volts over loaded volts less one is the source's ohms over the meter's, whatever the meter."""
    found = net.driven(100.0, 0.0)
    meters = (np.inf, 10.0**first, 10.0**second)
    open_v, *loaded = readings(found, [Probe("n2", "n5", "ac", ohm) for ohm in meters])[0]
    if open_v > 1e-6:
        one, other = ((open_v / v - 1.0) * ohm for v, ohm in zip(loaded, meters[1:], strict=True))
        assert one == pytest.approx(other, rel=1e-4, abs=1e-4)


def given_w(found: Operating) -> float:
    """Mean watts that all EMFs give."""
    net = found.system.network
    amps = [phasor_amps(found.system, found.case, found.phasors, emf.branch)[0, 0] for emf in net.emfs]
    return sum(-0.5 * emf.volts[0] * each.real for emf, each in zip(net.emfs, amps, strict=True))


def heat_w(found: Operating) -> float:
    """Mean watts that all elements turn into heat, valves with what ripple adds."""
    total = 0.0
    for element in found.circuit.elements:
        if isinstance(element, MainsTransformer):
            total += sum(found.power(name)[0] for name in (element.name, *(w.name for w in element.windings)))
        elif isinstance(element, Valve):
            total += found.valve(element.name).heat_w[0] + _ripple_w(found, element.name)
        elif not isinstance(element, Capacitor):
            total += found.power(element.name)[0]
    return total


def _ripple_w(found: Operating, valve: str) -> float:
    net = found.system.network
    number = net.device_names.index(valve)
    ends = found.system.incidence[:, net.first_valve + 3 * number : net.first_valve + 3 * number + 3]
    volts = np.einsum("ne,kn->ke", ends, found.phasors[:, :, 0])
    amps = volts @ found.ac.valve_siemens[number, :, :, 0].T
    return float((volts * amps.conj()).real.sum() / 2.0)


@pytest.mark.parametrize("law", [SILICON, shapes.RECTIFIER_VALVE], ids=["silicon", "valve"])
def test_a_supply_turns_all_that_its_mains_gives_into_heat(law: Law) -> None:
    """Within the 1 % that rectifier currents are known to at 192 points of a cycle."""
    core, *diodes = shapes.full_wave(300.0, 60.0, law)
    found = operate(of(replace(core, primary_ohm=10.0), tuple(diodes), shapes.reservoir(47e-6, 4000.0)))
    assert found.power("RL")[0] > 10.0
    assert heat_w(found) == pytest.approx(given_w(found), rel=0.01)


def test_an_amplifier_turns_all_that_its_mains_gives_into_heat() -> None:
    found = operate(amplifier())
    valves_w = sum(found.valve(name).heat_w[0] for name in ("V1", "V2"))
    assert valves_w > 0.01
    assert heat_w(found) == pytest.approx(given_w(found), rel=0.01)


def scaled(circuit: Circuit, by: float) -> Circuit:
    """Every impedance `by` times as large, those of devices too, and the same volts."""
    return replace(circuit, elements=tuple(_scaled(each, by) for each in circuit.elements))


_CURRENTS = ("is_a", "gg", "kd", "perveance_a_v15", "at_a", "idss_a", "saturation_a")
_OHMS = ("kg1", "kg2", "rs_ohm", "slope_ohm")


def _scaled(element: Element, by: float) -> Element:
    changed: dict[str, object] = {}
    for name, power in (("ohm", by), ("henry", by), ("primary_henry", by), ("leakage_henry", by), ("farad", 1.0 / by)):
        if hasattr(element, name):
            changed[name] = getattr(element, name) * power
    if isinstance(element, MainsTransformer):
        windings = tuple(_scaled(winding, by) for winding in element.windings)
        changed |= {"primary_ohm": element.primary_ohm * by, "windings": windings}
    if isinstance(element, OutputTransformer):
        changed |= {"half_ohm": tuple(o * by for o in element.half_ohm), "secondary_ohm": element.secondary_ohm * by}
    if hasattr(element, "law"):
        constants = dict(element.law.constants)
        for name in constants:
            constants[name] *= 1.0 / by if name in _CURRENTS else by if name in _OHMS else 1.0
        changed["law"] = replace(element.law, constants=constants)
    return replace(element, **changed)


@pytest.mark.parametrize("by", [0.1, 7.0])
@pytest.mark.parametrize("name", ["amplifier", "paraphase pair", "choke input", "transistor tails", "hybrid bridge"])
def test_with_all_impedances_larger_the_volts_stay_and_the_currents_fall(name: str, by: float) -> None:
    """Leaks of the engine's own (a gigaohm at each rectifier) are not scaled: where a winding hangs is left out."""
    before, after = sound(name), operate(scaled(kinds()[name], by))
    assert after.settled.all()
    hanging = {w for e in before.circuit.elements if isinstance(e, MainsTransformer) for w in _hanging(e)}
    for node in set(outer(before)) - hanging:
        assert after.dc(node, "0")[0] == pytest.approx(before.dc(node, "0")[0], rel=2e-4, abs=2e-3), node
        assert after.ac_rms(node, "0")[0] == pytest.approx(before.ac_rms(node, "0")[0], rel=3e-3, abs=2e-4), node
    for element in before.circuit.elements:
        if isinstance(element, (Resistor, Diode)):
            assert after.rms(element.name)[0] * by == pytest.approx(before.rms(element.name)[0], rel=2e-3, abs=2e-8), (
                element.name
            )


def _hanging(core: MainsTransformer) -> set[str]:
    return {node for winding in core.windings for node in (winding.a, winding.b)}


@cache
def sound(name: str) -> Operating:
    """One of the small circuits solved."""
    found = operate(kinds()[name])
    assert found.settled.all()
    return found


def outer(found: Operating) -> list[str]:
    """The nodes that the circuit names and that have a path to chassis."""
    net = found.system.network
    return [name for name, number in net.nodes.items() if number not in net.hidden and name not in found.floating]


@pytest.mark.parametrize("name", sorted(kinds()))
def test_neither_order_nor_names_matter(name: str) -> None:
    before = sound(name)
    rng = np.random.default_rng(3)
    circuit = kinds()[name]
    order = rng.permutation(len(circuit.elements))
    turned = replace(circuit, elements=tuple(_renamed(circuit.elements[k]) for k in order))
    after = operate(turned)
    for node in outer(before):
        assert after.dc(_other(node), "0")[0] == pytest.approx(before.dc(node, "0")[0], rel=1e-5, abs=1e-5), node
        ripple = before.ac_rms(node, "0")[0]
        assert after.ac_rms(_other(node), "0")[0] == pytest.approx(ripple, rel=1e-4, abs=1e-6, nan_ok=True), node


_NODE_NAMES = {"a", "b", "anode", "cathode", "grid", "screen", "wiper", "end_1", "end_2"}
_NODE_NAMES |= {"collector", "base", "emitter", "anode_a", "anode_b", "ht", "hot", "cold"}


def _other(node: str | None) -> str | None:
    """Another name of a node, in another place of any order."""
    return node if node is None or node == CHASSIS else f"z{node}"[::-1]


def _renamed(element: Element) -> Element:
    changed: dict[str, object] = {k: _other(v) for k, v in vars(element).items() if k in _NODE_NAMES}
    if isinstance(element, MainsTransformer):
        changed["windings"] = tuple(_renamed(winding) for winding in element.windings)
    if isinstance(element, OutputTransformer) and element.screen_taps is not None:
        first, second, share = element.screen_taps
        changed["screen_taps"] = (_other(first), _other(second), share)
    return replace(element, **changed)


def balanced(samples: int = 1, *, strong: float = 1.0) -> Circuit:
    """A long-tailed pair and a push-pull pair, both halves alike but for V3, which is `strong` times V4."""
    return of(
        shapes.full_wave(270.0, 40.0, SILICON, out="q"),
        Capacitor("C", "q", "0", 100e-6),
        Resistor("RB", "q", "0", 50e3 * np.ones(samples)),
        *(part for half in "12" for part in _half(half)),
        Resistor("RT", "k", "0", 2200.0),
        OutputTransformer("T2", "x1", "q", "x2", "s", "0", 25.0, (62.0, 62.0), 0.4, 30.0, 0.02),
        Resistor("SPK", "s", "0", 8.0),
        Valve("V3", "x1", "u1", "kk", EL34, "q", strong),
        Valve("V4", "x2", "u2", "kk", EL34, "q"),
        Resistor("RKK", "kk", "0", 270.0),
        Capacitor("CKK", "kk", "0", 100e-6),
    )


def _half(half: str) -> tuple[Element, ...]:
    return (
        Resistor(f"RA{half}", "q", f"a{half}", 100e3),
        Resistor(f"RG{half}", f"g{half}", "0", 1e6),
        Valve(f"V{half}", f"a{half}", f"g{half}", "k", ECC83),
        Capacitor(f"CC{half}", f"a{half}", f"u{half}", 100e-9),
        Resistor(f"RU{half}", f"u{half}", "0", 220e3),
    )


def test_alike_halves_read_alike_and_leave_nothing_at_the_loudspeaker() -> None:
    found = operate(balanced())
    assert found.valve("V3").anode_a[0] > 0.01
    for one, other in (("a1", "a2"), ("g1", "g2"), ("x1", "x2"), ("u1", "u2")):
        assert found.dc(one, "0")[0] == pytest.approx(found.dc(other, "0")[0], rel=1e-9, abs=1e-9)
        assert found.ac_rms(one, "0")[0] == pytest.approx(found.ac_rms(other, "0")[0], rel=1e-7, abs=1e-9)
    assert found.valve("V3").anode_w[0] == pytest.approx(found.valve("V4").anode_w[0], rel=1e-9)
    assert found.ac_rms("s", "0")[0] < 1e-7 * found.ac_rms("x1", "0")[0]
    unlike = operate(balanced(strong=1.2))
    assert unlike.ac_rms("s", "0")[0] > 1e-4 * unlike.ac_rms("x1", "0")[0]


def test_a_reading_in_an_amplifier_tells_the_same_source_with_any_meter() -> None:
    """A divider of 470k and 220k hangs on the reservoir: 150 kohm behind it, and every meter must find them."""
    divider = Resistor("RD1", "p", "d", 470e3), Resistor("RD2", "d", "0", 220e3)
    circuit = replace(amplifier(), elements=(*amplifier().elements, *divider))
    meters = (np.inf, 10e6, 1e6, 200e3)
    open_v, *loaded = readings(operate(circuit), [Probe("d", "0", "dc", ohm) for ohm in meters])[0]
    for volts, ohm in zip(loaded, meters[1:], strict=True):
        assert (open_v / volts - 1.0) * ohm == pytest.approx(470e3 * 220e3 / 690e3, rel=5e-3)


@pytest.mark.parametrize("samples", [6, 30], ids=["few", "many"])
def test_what_a_sample_reads_does_not_depend_on_the_others(samples: int) -> None:
    """The same builds in a batch and in another with a third of them, faulty ones among them."""
    circuit = amplifier(samples, spread=0.15, seed=4)
    faulty = replace(
        circuit,
        elements=tuple(
            replace(e, ohm=np.where(np.arange(samples) % 5 == 1, 1e12, e.ohm)) if e.name in ("R9", "R5") else e
            for e in circuit.elements
        ),
    )
    chosen = np.arange(0, samples, 3) if samples > 8 else np.array([2])
    whole, part = operate(faulty), operate(_only(faulty, chosen))
    assert whole.settled.all() and part.settled.all()
    for node in ("p", "q", "r", "n", "p1", "k1", "p2", "s2", "k2", "w"):
        assert part.dc(node, "0") == pytest.approx(whole.dc(node, "0")[chosen], rel=1e-6, abs=1e-6), node
        assert part.ac_rms(node, "0") == pytest.approx(whole.ac_rms(node, "0")[chosen], rel=2e-5, abs=1e-7), node


def _only(circuit: Circuit, chosen: np.ndarray) -> Circuit:
    def taken(each: object) -> object:
        if isinstance(each, np.ndarray):
            return each[chosen]
        if isinstance(each, tuple):
            return tuple(taken(one) for one in each)
        if isinstance(each, Law):
            return replace(each, constants={k: taken(v) for k, v in each.constants.items()})
        return _with(each) if isinstance(each, Winding) else each

    def _with(element: Element) -> Element:
        return replace(element, **{name: taken(value) for name, value in vars(element).items()})

    return replace(circuit, elements=tuple(_with(each) for each in circuit.elements))


def test_a_wave_of_one_harmonic_is_that_sine() -> None:
    """The convention that the laws above rely on: phasors are peak values of sine."""
    wave = waveform(np.array([[2.0 + 0.0j]]), 8)[:, 0]
    assert wave == pytest.approx(2.0 * np.sin(2.0 * np.pi * np.arange(8) / 8.0), abs=1e-12)
