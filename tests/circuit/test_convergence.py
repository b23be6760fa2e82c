"""Random plausible circuits: each has an answer that Kirchhoff's first law bears out, or a node is to blame.

A short draw of the study in `tests/bench/convergence.py`.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from tests.builds import recorded
from tests.circuit.kinds import kinds
from tests.circuit.kirchhoff import left_over
from tests.circuit.mutants import mutants
from tests.reference import amplifiers

MUTANTS, SAMPLES, SEED = 14, 12, 20
BUILDS = {"a": amplifiers.build, "pp-6v6": recorded.build}
LEFT_OVER = 2e-4
"""Share of the largest current (of 0.1 mA at least); the two halves of the engine agree within 1e-4 and 20 nA."""


@cache
def solved(number: int) -> Operating:
    """One mutant, from its sound neighbour or from nothing in turn."""
    builds = {name: build(name).build for name, build in BUILDS.items()}
    mutant = list(mutants(builds, MUTANTS, SAMPLES, SEED))[number]
    return operate(mutant.circuit, trims=mutant.trims, start=operate(mutant.sound) if number % 2 else None)


@pytest.mark.parametrize("number", range(MUTANTS))
def test_what_settled_obeys_kirchhoff_and_the_rest_names_a_node_and_reads_nothing(number: int) -> None:
    found = solved(number)
    lost = ~found.settled
    assert (left_over(found)[~lost] <= LEFT_OVER).all()
    for sample in np.flatnonzero(lost):
        assert found.blame[sample] in found.system.network.nodes
    assert [node is None for node in found.blame] == found.settled.tolist()
    for node in found.system.network.nodes:
        assert np.isnan(found.dc(node, "0")[lost]).all()


def test_nearly_all_of_them_settle() -> None:
    settled = np.concatenate([solved(number).settled for number in range(MUTANTS)])
    assert settled.size == MUTANTS * SAMPLES
    assert settled.mean() > 0.99


@pytest.mark.parametrize("name", sorted(kinds()))
def test_the_sound_circuits_settle_with_next_to_nothing_left_over(name: str) -> None:
    found = operate(kinds()[name])
    assert found.settled.all()
    assert left_over(found)[0] < 1e-6


def test_what_is_left_over_shows_a_wrong_answer() -> None:
    """A tenth of a volt off at one node must not pass for a solution."""
    found = operate(kinds()["amplifier"])
    found.dc_volts[found.system.network.index("k2")] += 0.1
    assert left_over(found)[0] > 0.01
