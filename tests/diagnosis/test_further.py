"""The next reading: what it would tell, and that the one which tells most is asked for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchtui.diagnosis.answer import considering, stage_table
from benchtui.diagnosis.candidates import Candidate
from benchtui.diagnosis.evidence import evidence_of
from benchtui.diagnosis.foretold import Foretold
from benchtui.diagnosis.further import Next, bits, next_reading
from benchtui.diagnosis.weigh import weigh
from benchtui.forecast.given import Further, Given
from tests.reference import amplifiers

BUILD = amplifiers.build("a").build
ANY = Candidate("live", "output", "bp1", "", "bp1", "0")


def told(mean: list[float], deviation: list[float], weights: list[float], parts: list[int] | None = None) -> float:
    of = Foretold(ANY, np.array(mean), np.array(deviation))
    return bits(of, np.array(weights), np.array(parts or range(len(mean))))


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


def test_which_size_a_fault_of_one_part_has_is_nothing_to_be_told() -> None:
    assert told([0.0, 100.0, 200.0], [1.0] * 3, [0.25, 0.25, 0.5], [0, 0, 1]) == pytest.approx(1.0, abs=0.01)
    assert told([0.0, 100.0], [1.0] * 2, [0.5, 0.5], [0, 0]) == pytest.approx(0.0, abs=1e-9)


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


def test_a_slip_of_the_meter_is_read_once_more_and_what_reads_the_same_is_none() -> None:
    """A cathode that reads nothing while HT and the other cathode are as they should be."""
    nominal = amplifiers.nominal("a")["output"]["test_points"]
    read = {name: each["meter_10M"] for name, each in nominal.items() if name in BUILD.point} | {"v2_cathode": 0.01}

    def slip(*further: Further) -> float:
        table, _, weighed = considering(BUILD, Given("output", 230.0, read, further=further))
        return sum(p for of, p in zip(table.faults, weighed.faults, strict=True) if of.part == "meter")

    found = after(read)
    assert found is not None and (found.candidate.kind, found.candidate.point) == ("again", "v2_cathode")
    assert slip() > 0.2
    twice = slip(Further("again", "output", "v2_cathode", 0.01))
    assert 1.0 - twice > 10.0 * (1.0 - slip())  # nothing else explains it, but less surely so
    assert slip(Further("again", "output", "v2_cathode", nominal["v2_cathode"]["meter_10M"])) < 0.01


def test_nothing_is_asked_for_that_the_meter_would_not_bear() -> None:
    """V2's cathode is low, and V3's tells most; in some cases it may read more than a meter that ends at 30 V bears."""
    given = Given("output", 230.0, {"v2_cathode": 14.0})
    table, evidence = stage_table(BUILD, given), evidence_of(BUILD, given)
    small = BUILD.model_copy(update={"meter": BUILD.meter.model_copy(update={"largest": 30.0})})
    weighed = weigh(table, evidence)
    asked = [next_reading(replace(table, build=of), evidence, weighed, with_exchanges=False) for of in (BUILD, small)]
    assert [each and each.candidate.point for each in asked] == ["v3_cathode", "ot_drop_v3"]
