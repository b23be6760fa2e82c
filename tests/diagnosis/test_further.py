"""The next reading: what it would tell, and that the one which tells most is asked for."""

from __future__ import annotations

import numpy as np
import pytest

from benchtui.diagnosis.answer import evidence_of, stage_table
from benchtui.diagnosis.further import Candidate, Foretold, Next, bits, next_reading
from benchtui.diagnosis.weigh import weigh
from benchtui.forecast.given import Given
from tests.reference import amplifiers

BUILD = amplifiers.build("a").build
ANY = Candidate("live", "output", "bp1", "", "bp1", "0")


def told(mean: list[float], deviation: list[float], weights: list[float]) -> float:
    return bits(Foretold(ANY, np.array(mean), np.array(deviation)), np.array(weights))


@pytest.mark.parametrize(
    ("mean", "weights", "wanted"),
    [
        ([0.0, 100.0], [0.5, 0.5], 1.0),
        ([0.0, 100.0, 200.0, 300.0], [0.25] * 4, 2.0),
        ([0.0, 0.0], [0.5, 0.5], 0.0),
        ([0.0, 100.0], [0.9, 0.1], 0.469),
    ],
)
def test_bits_are_those_of_shannon(mean: list[float], weights: list[float], wanted: float) -> None:
    """Outcomes that never overlap tell the entropy of the weights (C. E. Shannon, 1948, from memory)."""
    assert told(mean, [1.0] * len(mean), weights) == pytest.approx(wanted, abs=0.01)


def test_outcomes_that_overlap_tell_less_and_those_nobody_knows_nothing() -> None:
    assert 0.3 < told([0.0, 2.0], [1.0, 1.0], [0.5, 0.5]) < 0.7
    assert told([0.0, np.nan], [1.0, 1.0], [0.5, 0.5]) == 0.0


def after(read: dict[str, float], blown: frozenset[str] = frozenset()) -> Next | None:
    given = Given("output", 230.0, read, {}, blown)
    table, evidence = stage_table(BUILD, given), evidence_of(BUILD, given)
    return next_reading(table, evidence, weigh(table, evidence))


def test_a_dead_supply_with_a_blown_fuse_is_looked_for_without_power() -> None:
    dead = {"bp1": 0.0, "bp2": 0.0, "v2_cathode": 0.0}
    found = after(dead, frozenset({"F1"}))
    assert found is not None and found.candidate.kind == "ohms" and found.bits > 1.0
    first, second = found.outcomes[:2]
    assert {part for _, part, _ in first.means[:1]} != {part for _, part, _ in second.means[:1]}
    assert sum(share for outcome in found.outcomes for _, _, share in outcome.means) == pytest.approx(1.0)


def test_what_was_read_is_not_asked_again() -> None:
    found = after({"v2_cathode": 30.0})
    assert found is not None and found.candidate.point != "v2_cathode"


def test_where_all_is_clear_nothing_is_asked() -> None:
    nominal = amplifiers.nominal("a")["output"]["test_points"]
    read = {name: each["meter_10M"] for name, each in nominal.items() if name in BUILD.point}
    found = after(read)
    assert found is None or found.bits < 0.5
