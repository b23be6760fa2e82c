"""Windows narrowed by what a build has read before: as narrow as the knowledge allows, and no narrower."""

from __future__ import annotations

import numpy as np
import pytest

from benchtui.forecast.conditioned import Known, conditioned
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.given import StageReadings
from tests.record.counts import count
from tests.reference.amplifiers import build, healthy, nominal

POWERED = ("heaters", "supply", "output", "driver")


def builds(number: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Two earlier readings and two later ones: the first later one is their sum within 1, the second unrelated."""
    rng = np.random.default_rng(seed)
    earlier = 100.0 + 10.0 * rng.standard_normal((number, 2))
    noise = rng.standard_normal((2, number))
    return earlier, np.stack([earlier.sum(axis=1) + noise[0], 50.0 + 5.0 * noise[1]], axis=1)


def test_a_reading_that_follows_from_earlier_ones_is_foretold_with_what_is_left_over() -> None:
    earlier, later = builds(400, 1)
    told = conditioned(later, [Known(earlier, np.array([112.0, 95.0]))])
    assert told[:, 0].mean() == pytest.approx(207.0, abs=0.3)
    assert told[:, 0].std() == pytest.approx(1.0, rel=0.1)


def test_an_unrelated_reading_stays_as_wide_as_it_was() -> None:
    earlier, later = builds(100, 2)
    noise = np.random.default_rng(3).standard_normal((100, 40))
    told = conditioned(later, [Known(earlier, np.array([112.0, 95.0])), Known(noise, np.zeros(40))])
    assert told[:, 1].std() <= later[:, 1].std() * 1.0001


def test_what_is_left_over_is_as_large_for_builds_that_were_not_drawn() -> None:
    """With 30 readings of nothing among 80 builds, a plain fit would leave a third less than there is."""
    earlier, later = builds(80, 4)
    noise = np.random.default_rng(5).standard_normal((80, 30))
    told = conditioned(later, [Known(np.hstack([earlier, noise]), np.concatenate([[100.0, 100.0], np.zeros(30)]))])
    assert told[:, 0].std() > 1.0


def test_a_build_far_from_all_that_were_drawn_is_foretold_less_surely() -> None:
    earlier, later = builds(100, 6)
    near = conditioned(later, [Known(earlier, np.array([100.0, 100.0]))])
    far = conditioned(later, [Known(earlier, np.array([250.0, 10.0]))])
    assert far[:, 0].std() > 1.15 * near[:, 0].std()


def test_without_knowledge_the_ensemble_is_what_it_was() -> None:
    earlier, later = builds(50, 7)
    assert conditioned(later, []) is later
    assert conditioned(later, [Known(earlier, np.array([np.nan, np.nan]))]) is later
    assert conditioned(later, [Known(np.full((50, 1), 6.3), np.array([6.3]))]) is later


def test_what_did_not_settle_stays_unknown() -> None:
    earlier, later = builds(50, 8)
    later[3] = np.nan
    told = conditioned(np.hstack([later, np.full((50, 1), np.nan)]), [Known(earlier, np.array([100.0, 100.0]))])
    assert np.isnan(told[3]).all() and np.isnan(told[:, 2]).all()
    assert np.isfinite(np.delete(told, 3, axis=0)[:, :2]).all()


@pytest.mark.parametrize("name", ["a", "c"])
def test_healthy_builds_stay_inside_windows_narrowed_by_their_own_earlier_readings(name: str) -> None:
    """Readings of sound builds by ngspice, with valves that differ from the constants by a fixed share a type."""
    before: dict[int, dict[str, StageReadings]] = {}
    alarms = []
    for record in healthy(name):
        if record["build"] > count(short=2, full=6):
            continue
        made, stage, mains_v = build(name).build, record["stage"], record["mains_v"]
        earlier = before.setdefault(record["build"], {})
        plain = {e.point: e for e in expect_powered(made, stage, mains_v=mains_v).expectations}
        for e in expect_powered(made, stage, mains_v=mains_v, earlier=earlier).expectations:
            value = record["readings"].get(e.point)
            if value is not None and not e.low <= value <= e.high:
                if plain[e.point].low <= value <= plain[e.point].high:
                    alarms.append((record["build"], stage, e.point, value, e.low, e.high))
        earlier[stage] = StageReadings(mains_v, record["readings"])
    assert not alarms


@pytest.mark.parametrize("name", ["a", "c"])
def test_points_read_before_narrow_by_a_third_in_the_driver_stage(name: str) -> None:
    made, mains_v = build(name).build, 230.0
    read = {
        stage: {point: told["meter_10M"] for point, told in nominal(name)[stage]["test_points"].items()}
        for stage in POWERED[:3]
    }
    earlier = {stage: StageReadings(mains_v, readings) for stage, readings in read.items()}
    wide = {e.point: e.high - e.low for e in expect_powered(made, "driver", mains_v=mains_v).expectations}
    told = expect_powered(made, "driver", mains_v=mains_v, earlier=earlier).expectations
    share = [(e.high - e.low) / wide[e.point] for e in told if e.point in read["output"]]
    assert len(share) > 10 and np.median(share) < 2 / 3


def test_a_reading_outside_its_window_tells_nothing_of_later_ones() -> None:
    made = build("a").build
    odd = {"supply": StageReadings(230.0, {"bp1": 250.0})}
    plain, told = (
        expect_powered(made, "output", mains_v=230.0, earlier=earlier, samples=60).expectations
        for earlier in ({}, odd)
    )
    assert [(e.low, e.high) for e in told] == [(e.low, e.high) for e in plain]
