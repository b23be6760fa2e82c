"""Whole circuits against ngspice, by the limits that a verdict needs; `-s` prints the table, in full in the long run.

DC 1 % or 20 mV and ripple 5 % or 0.5 mV at every node, windings' rms and rectifiers' peak 5 %, seconds of the fall
with cold valves 3 %. ngspice starts a hundredth off our DC and is run until it has come to rest.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from benchtui.buildfile.joints import Joints
from benchtui.circuit.discharge import discharge
from benchtui.circuit.elements import (
    CHASSIS,
    Choke,
    Circuit,
    Diode,
    Element,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Regulator,
    Resistor,
    Transistor,
    Valve,
)
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from tests.circuit import deck
from tests.circuit.deck import Rest, at_rest
from tests.circuit.whole import WHOLE
from tests.record.counts import count

pytestmark = pytest.mark.spice

OFF = 0.99
EMPTY_V = 10.0

#: Demo builds in stereo and with fixed bias are held to ngspice on every run (tests/builds/test_expect.py).
LIKE_DEMOS = ("stereo on one supply", "long-tailed pair, fixed bias by tap")

#: They take seconds each.
SLOW = ("hybrid bridge, ultra-linear pair", "doubler with a pump, small valves")

every_circuit = pytest.mark.parametrize(
    "name", count(short=[name for name in WHOLE if name not in (*LIKE_DEMOS, *SLOW)], full=list(WHOLE))
)


@dataclass(frozen=True)
class Both:
    """One circuit solved by both."""

    circuit: Circuit
    ours: Operating
    theirs: Rest
    unset: tuple[str, ...]

    @property
    def nodes(self) -> list[str]:
        """Nodes that both have, apart from those that float or hang between rectifiers, where strays alone decide."""
        joints = Joints()
        for e in self.circuit.elements:
            for a, b in direct_paths(e):
                joints.join(a, b)
        named = {name for name in self.ours.system.network.nodes if " " not in name}
        return sorted(n for n in named - self.ours.floating if joints.root(n) == joints.root(CHASSIS))


def direct_paths(e: Element) -> Iterator[tuple[str, str]]:
    """Pairs of nodes that direct current may join, rectifiers apart."""
    if isinstance(e, MainsTransformer):
        yield from ((w.a, w.b) for w in e.windings)
    elif isinstance(e, OutputTransformer):
        yield from ((r.a, r.b) for r in deck.winding_ohms(e))
    elif isinstance(e, Pot):
        yield from ((e.end_1, e.wiper), (e.wiper, e.end_2))
    elif isinstance(e, Transistor):
        yield from ((e.collector, e.emitter), (e.base, e.emitter))
    elif isinstance(e, Valve):
        yield from ((node, e.cathode) for node in (e.anode, e.screen) if node)
    elif isinstance(e, Regulator):
        yield e.anode, e.cathode
    elif isinstance(e, Resistor | Choke):
        yield e.a, e.b


@cache
def solved(name: str) -> Both:
    whole = WHOLE[name]
    circuit = whole.make()
    ours = operate(circuit)
    assert ours.settled.all()
    begin = starts(ours, OFF, whole.unset)
    return Both(
        circuit, ours, at_rest(circuit, begin, run_s=whole.run_s, last_s=0.1, coupled=whole.coupled), whole.unset
    )


def starts(ours: Operating, share: float, unset: tuple[str, ...] = ()) -> dict[str, float]:
    nodes = {name for name in ours.system.network.nodes if " " not in name} - ours.floating - set(unset)
    return {node: share * float(ours.dc(node, "0")[0]) for node in sorted(nodes)}


def ripple(theirs: Rest, node: str) -> float:
    """Volts rms of what repeats in five cycles: what the first and last means differ by is settling, and taken off."""
    time, volts = theirs.vectors["time"], theirs.volts(node)
    even = np.linspace(time[0], time[-1], 5001)[:-1]
    wave = np.interp(even, time, volts)
    means = wave.reshape(5, -1).mean(axis=1)
    return float(np.std(wave - (means[-1] - means[0]) * 1.25 * np.linspace(0.0, 1.0, wave.size)))


def off(pairs: Iterator[tuple[str, float, float]], share: float, least: float) -> tuple[float, dict[str, tuple]]:
    """The worst deviation as a share, of readings above the floor; and those beyond the limits."""
    pairs = list(pairs)
    told = [abs(a - b) / abs(b) for _, a, b in pairs if abs(b) > least / share]
    wrong = {key: (a, b) for key, a, b in pairs if not abs(a - b) <= max(share * abs(b), least)}
    return max(told, default=0.0), wrong


def dc(both: Both) -> tuple[float, dict[str, tuple]]:
    pairs = ((node, float(both.ours.dc(node, "0")[0]), both.theirs.dc(node)) for node in both.nodes)
    return off(pairs, 0.01, 0.02)


def ac(both: Both) -> tuple[float, dict[str, tuple]]:
    pairs = ((node, float(both.ours.ac_rms(node, "0")[0]), ripple(both.theirs, node)) for node in both.nodes)
    return off(pairs, 0.05, 5e-4)


def windings(both: Both) -> tuple[float, dict[str, tuple]]:
    cores = [e for e in both.circuit.elements if isinstance(e, MainsTransformer)]
    pairs = (
        (w.name, float(both.ours.rms(w.name)[0]), both.theirs.rms(both.theirs.volts(f"{w.name}_i", w.a) / w.ohm))
        for core in cores
        for w in core.windings
    )
    return off(pairs, 0.05, 1e-4)


def peaks(both: Both) -> tuple[float, dict[str, tuple]]:
    names = [e.name for e in both.circuit.elements if isinstance(e, Diode)]
    return off(((n, float(both.ours.peak(n)[0]), float(both.theirs.amps(n).max())) for n in names), 0.05, 1e-4)


def falls(both: Both) -> tuple[float, dict[str, tuple]]:
    """Seconds until each capacitor that both can tell stays under 10 V: mains off, valves cold."""
    decay = discharge(both.ours)
    seconds = dict(zip(decay.names, decay.seconds_to(EMPTY_V)[0], strict=True))
    told = {name: s for name, s in seconds.items() if 0.05 < s < 1e4}
    cold = [replace(e, mains_v=0.0) if isinstance(e, MainsTransformer) else e for e in both.circuit.elements]
    cold = [e for e in cold if not isinstance(e, Valve | OutputTransformer)]
    cold += [deck.winding_ohms(e) for e in both.circuit.elements if isinstance(e, OutputTransformer)]
    whole = 1.2 * max(told.values())
    found = deck.run(
        Circuit(tuple(e for part in cold for e in (part if isinstance(part, list) else [part])), 50.0),
        starts(both.ours, 1.0, both.unset),
        run_s=whole,
        keep_from_s=0.0,
        step_s=whole / 3000,
    )
    ends = {e.name: (e.a, e.b) for e in both.circuit.elements if e.name in told}
    return off(((n, told[n], last_above(found, *ends[n])) for n in told), 0.03, 0.01)


def last_above(found: dict[str, np.ndarray], a: str, b: str) -> float:
    at = [np.zeros(1) if node == "0" else found[f"v({node})"] for node in (a, b)]
    over = np.flatnonzero(np.abs(at[0] - at[1]) >= EMPTY_V)
    return float(found["time"][over[-1]]) if over.size else 0.0


QUANTITIES = {"dc": dc, "ripple": ac, "windings": windings, "rectifier peaks": peaks, "fall": falls}


@every_circuit
def test_a_whole_circuit_reads_as_in_ngspice(name: str) -> None:
    both = solved(name)
    found = {quantity: compare(both) for quantity, compare in QUANTITIES.items()}
    row = " | ".join(f"{100 * worst:.2f}" for worst, _ in found.values())
    print(f"\n| {name} | {len(both.nodes)} | {row} |")
    assert {quantity: wrong for quantity, (_, wrong) in found.items() if wrong} == {}
