"""A simulated builder finds faults with fewer readings by what is suggested than at random."""

from __future__ import annotations

from functools import cache
from zlib import crc32

import pytest

from benchtui.diagnosis.faults import Fault
from tests.diagnosis.searching import Found, bench, searched
from tests.record.counts import count
from tests.reference import amplifiers

BUILD = amplifiers.build("a").build

THIN = count(short=3, full=1)
STAGES = count(short=("supply",), full=("supply", "output", "driver"))


@cache
def found(stage: str) -> tuple[Found, ...]:
    return tuple(searched(BUILD, stage, some))


def some(fault: Fault) -> bool:
    """On every run each third fault, by its name; in the long run all."""
    return crc32(f"{fault.kind} {fault.part}".encode()) % THIN == 0


@pytest.mark.parametrize("stage", STAGES)
def test_as_suggested_at_most_half_as_many_readings_are_taken_as_at_random(stage: str) -> None:
    suggested, at_random = (sum(getattr(each, name) for each in found(stage)) for name in ("suggested", "at_random"))
    assert len(found(stage)) > 25 / THIN
    assert 0 < suggested <= 0.5 * at_random


@pytest.mark.parametrize("stage", STAGES)
def test_seldom_has_the_builder_to_go_on_without_a_suggestion(stage: str) -> None:
    assert sum(each.lost == 0 for each in found(stage)) > 0.9 * len(found(stage))


def test_a_fault_that_moves_no_reading_is_not_searched_for() -> None:
    """C3 is a reservoir behind all others: without load nothing shows that it is open."""

    def idle(fault: Fault) -> bool:
        return (fault.kind, fault.part) == ("capacitor-open", "C3")

    assert len(bench(BUILD, "supply", idle).faults) == 1
    assert searched(BUILD, "supply", idle) == []
