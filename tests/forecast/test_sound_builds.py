"""Sound builds whose valves are not those that the forecast supposes: seldom warned, never stopped.

A short draw of the study in `tests/bench/healthy.py`, by a small ensemble.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.bench.healthy import Judged, judged

BUILDS, SEED, SAMPLES = 8, 5, 64


@cache
def stages() -> list[Judged]:
    """All powered stages of one demo build."""
    return judged("pp-6v6", BUILDS, SEED, SAMPLES)


@pytest.mark.parametrize("way", ["mains", "given"])
def test_sound_builds_are_seldom_warned_and_never_stopped(way: str) -> None:
    records = sum(row.records for row in stages())
    assert records == BUILDS * len(stages()) >= 60
    assert sum(row.stopped[way] for row in stages()) == 0
    assert sum(row.warned[way] for row in stages()) <= 0.03 * records


def test_the_mains_and_earlier_readings_narrow_by_a_third() -> None:
    """Output against unknown mains, and in driver what was read before against the mains alone."""
    found = {row.stage: row for row in stages()}
    assert found["output"].narrowing("given", "spread") < 2 / 3
    assert found["driver"].narrowing("given", "mains", found["driver"].seen) < 2 / 3
