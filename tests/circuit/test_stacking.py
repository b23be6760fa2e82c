"""Circuits of one structure solved side by side: each as it is alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchtui.circuit.elements import Circuit, Resistor
from benchtui.circuit.operate import operate
from benchtui.circuit.stacking import picked, stacked, structure
from tests.circuit.shapes import amplifier

SAMPLES = 3


def circuits() -> list[Circuit]:
    """A sound amplifier, one with a resistor ten times too large, one with dead and weak valves."""
    sound = amplifier(SAMPLES, spread=0.05)
    wrong = _with(sound, "R10", lambda part: replace(part, ohm=10.0 * part.ohm))
    dead = _with(sound, "V1", lambda part: replace(part, emission=np.array([0.0, 0.1, 0.0])))
    return [sound, wrong, dead]


def _with(circuit: Circuit, name: str, change) -> Circuit:  # noqa: ANN001
    return replace(circuit, elements=tuple(change(e) if e.name == name else e for e in circuit.elements))


def test_each_of_the_stacked_reads_as_it_does_alone() -> None:
    each = circuits()
    whole = operate(stacked(each, SAMPLES), fine=False)
    assert whole.samples == len(each) * SAMPLES and whole.settled.all()
    for number, circuit in enumerate(each):
        alone = operate(circuit, fine=False)
        here = slice(number * SAMPLES, (number + 1) * SAMPLES)
        for node in ("q", "p1", "k1", "k2"):
            assert whole.dc(node, "0")[here] == pytest.approx(alone.dc(node, "0"), rel=1e-4, abs=1e-4)


def test_some_samples_picked_are_these_samples() -> None:
    whole = stacked(circuits(), SAMPLES)
    some = operate(picked(whole, np.array([1, 5])), fine=False)
    assert some.dc("p1", "0") == pytest.approx(operate(whole, fine=False).dc("p1", "0")[[1, 5]], rel=1e-4)


def test_circuits_of_other_structure_are_refused() -> None:
    sound = circuits()[0]
    moved = _with(sound, "R10", lambda part: replace(part, b="k1"))
    more = replace(sound, elements=(*sound.elements, Resistor("R99", "q", "0", 1e6)))
    assert structure(sound) != structure(moved) and structure(sound) != structure(more)
    for other in (moved, more):
        with pytest.raises(ValueError, match="one structure|longer"):
            stacked([sound, other], SAMPLES)


def test_values_alone_are_no_structure() -> None:
    assert len({structure(circuit) for circuit in circuits()}) == 1
