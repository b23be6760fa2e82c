"""Faults named on the records of the reference amplifiers, whose readings are ngspice's, not ours."""

from __future__ import annotations

from functools import cache

import pytest

from tests.diagnosis.scoring import Score, score, told
from tests.record.counts import count

NAMES = count(short=("a",), full=("a", "c"))

#: One fault record of so many is weighed.
EVERY = count(short=2, full=1)


@cache
def scored(name: str) -> Score:
    found = score(name, EVERY)
    print(f"\n{told(name, found)}")
    return found


@pytest.mark.parametrize("name", NAMES)
def test_the_right_part_is_named(name: str) -> None:
    found = scored(name)
    assert found.faults > 70 // EVERY
    assert found.first >= 0.75 * found.faults and found.three >= 0.9 * found.faults


@pytest.mark.parametrize("name", NAMES)
def test_in_sound_builds_no_fault_is_named(name: str) -> None:
    found = scored(name)
    assert found.sound >= 24 and found.named == 0


@pytest.mark.parametrize("name", NAMES)
def test_what_is_said_to_be_sure_is_right(name: str) -> None:
    answers, right = scored(name).tenths[8:].sum(axis=0)
    assert answers > 30 // EVERY and right >= 0.9 * answers
    doubtful, right = scored(name).tenths[:5].sum(axis=0)
    assert doubtful > 3 // EVERY and right < 0.8 * doubtful
