"""Joint windows: 98 % of the builds lie inside everywhere, and nothing narrower than a bench reading can be."""

from __future__ import annotations

import numpy as np
import pytest

from benchtui.forecast.windows import FLOOR_SHARE, dominant, joint_windows

RNG = np.random.default_rng(7)


def share_inside(readings: np.ndarray, windows: np.ndarray) -> float:
    return float(((readings >= windows[:, 0]) & (readings <= windows[:, 1])).all(axis=1).mean())


@pytest.mark.parametrize("points", [1, 5, 40])
def test_new_builds_of_the_same_kind_stay_inside(points: int) -> None:
    mixing = RNG.uniform(0, 1, (points, points))
    seen, new = (100.0 + 10.0 * RNG.uniform(-1, 1, (n, points)) @ mixing for n in (200, 5000))
    windows = joint_windows(seen, np.full(points, 100.0), np.full(points, 0.1))
    assert share_inside(new, windows) >= 0.98


def test_a_window_holds_the_nominal_even_where_the_ensemble_lies_aside() -> None:
    seen = RNG.uniform(5.0, 6.0, (200, 1))
    (low, high), = joint_windows(seen, np.array([4.0]), np.array([0.01]))
    assert low <= 4.0 and high > 5.9


def test_no_window_is_narrower_than_the_floor() -> None:
    (low, high), = joint_windows(np.full((50, 1), 200.0), np.array([200.0]), np.array([0.1]))
    assert low <= 200.0 * (1 - FLOOR_SHARE) and high >= 200.0 * (1 + FLOOR_SHARE)


def test_samples_that_did_not_settle_are_left_out() -> None:
    seen = RNG.uniform(9.0, 11.0, (100, 2))
    spoilt = seen.copy()
    spoilt[:10] = np.nan
    assert np.array_equal(
        joint_windows(spoilt, np.array([10.0, 10.0]), np.array([0.01, 0.01])),
        joint_windows(seen[10:], np.array([10.0, 10.0]), np.array([0.01, 0.01])),
    )


def test_a_point_that_never_settles_has_no_window() -> None:
    seen = np.stack([RNG.uniform(9, 11, 50), np.full(50, np.nan)], axis=1)
    windows = joint_windows(seen, np.array([10.0, np.nan]), np.array([0.01, 0.01]))
    assert np.isfinite(windows[0]).all() and np.isnan(windows[1]).all()


def test_a_narrower_spread_gives_no_wider_window() -> None:
    unit = RNG.uniform(-1, 1, (200, 3))
    nominal, digit = np.full(3, 50.0), np.full(3, 0.01)
    wide, narrow = (joint_windows(50.0 + s * unit, nominal, digit) for s in (8.0, 4.0))
    assert (narrow[:, 1] - narrow[:, 0] < wide[:, 1] - wide[:, 0]).all()


def test_the_part_that_moves_a_reading_is_named_with_its_share() -> None:
    drawn = {("R1", "value"): RNG.uniform(0.95, 1.05, 400), ("R2", "value"): RNG.uniform(0.95, 1.05, 400)}
    reading = 10.0 * drawn["R1", "value"] + 1.0 * drawn["R2", "value"]
    first, *_ = dominant(reading, drawn)
    assert first.startswith("R1, value: 9")


def test_a_draw_that_has_nothing_to_do_with_a_reading_is_not_named() -> None:
    drawn = {(f"R{k}", "value"): RNG.uniform(0.95, 1.05, 100) for k in range(100)}
    assert [text.split(",")[0] for text in dominant(2.0 + drawn["R7", "value"], drawn)] == ["R7"]
    assert dominant(RNG.uniform(1.0, 2.0, 100), drawn) == ()
