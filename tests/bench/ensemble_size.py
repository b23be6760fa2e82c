"""How well windows hold, and how steady they are, by the size of the ensemble.

    python -m tests.bench.ensemble_size [BUILD ...]

For each size and several seeds: the share of records of fresh builds without a reading outside, of builds drawn as the
ensemble is and of sound builds of other constants (`sound.py`); the factor by which all windows would have to be
widened further (about their middles) to hold 98 % of the latter; how far a window's width varies from seed to seed.
`alone` has nothing but the mains measured, `given` also all earlier readings.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from unittest.mock import patch

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.forecast import drawn
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.given import StageReadings
from benchtui.forecast.windows import JOINT_SHARE
from tests.bench.sound import NAMES, Sound, made, powered_stages, sound_builds

SEEDS = {50: 6, 64: 6, 100: 4, 128: 4, 200: 3, 400: 2}
FRESH, GIVEN = 500, 20
"""Fresh builds that are judged alone, and by their own earlier readings."""

STAGES = ("supply", "output", "driver")
FIRST_SEED, FRESH_SEED = 1000, 77


@dataclass(frozen=True, eq=False)
class Measured:
    """One stage of one build at one size, by seed: cover, the factor still needed, and the widths (seeds, points)."""

    stage: str
    samples: int
    how: str
    cover_alike: np.ndarray
    cover_sound: np.ndarray
    factor: np.ndarray
    widths: np.ndarray


def measure(name: str) -> list[Measured]:
    """Every size and stage of one build."""
    build = made(name)
    sound = sound_builds(build, FRESH, FRESH_SEED, at_rated=True)
    alike = alike_builds(sound, FRESH_SEED + 1)
    return [
        found
        for samples, seeds in SEEDS.items()
        for found in _at_size(sound, alike, samples, range(FIRST_SEED, FIRST_SEED + seeds))
    ]


def alike_builds(sound: Sound, seed: int) -> Sound:
    """Builds drawn just as the ensemble is, at the same mains."""
    values = {}
    for stage, points in sound.points.items():
        with patch.object(drawn, "Draw", lambda samples: Draw(samples, seed)):
            drawn.drawn_stage.cache_clear()
            found = drawn.drawn_stage(sound.build, stage, sound.build.mains.volts, True, FRESH)
        values[stage] = found.values[:, [list(found.points).index(point) for point in points]]
    drawn.drawn_stage.cache_clear()
    return Sound(sound.build, sound.mains_v, sound.points, values)


def _at_size(sound: Sound, alike: Sound, samples: int, seeds: range) -> Iterator[Measured]:
    found: dict[tuple[str, str], list[tuple[float, float, float, np.ndarray]]] = {}
    for seed in seeds:
        drawn.drawn_stage.cache_clear()
        with patch.object(drawn, "Draw", lambda count, seed=seed: Draw(count, seed)):
            for stage in STAGES:
                found.setdefault((stage, "alone"), []).append(_alone(sound, alike, stage, samples))
                if stage != STAGES[0] and seed < FIRST_SEED + 2:
                    found.setdefault((stage, "given"), []).append(_given(sound, alike, stage, samples))
    drawn.drawn_stage.cache_clear()
    for (stage, how), rows in found.items():
        alike_cover, sound_cover, factor, widths = zip(*rows, strict=True)
        yield Measured(
            stage, samples, how, np.array(alike_cover), np.array(sound_cover), np.array(factor), np.stack(widths)
        )


def _alone(sound: Sound, alike: Sound, stage: str, samples: int) -> tuple[float, float, float, np.ndarray]:
    expected = expect_powered(sound.build, stage, mains_v=sound.build.mains.volts, samples=samples).expectations
    low, high = (np.array([getattr(e, side) for e in expected]) for side in ("low", "high"))
    places = [sound.points[stage].index(e.point) for e in expected]
    off = [_off(each.readings[stage][:, places], low, high) for each in (alike, sound)]
    return float((off[0] <= 1).mean()), float((off[1] <= 1).mean()), float(np.quantile(off[1], JOINT_SHARE)), high - low


def _given(sound: Sound, alike: Sound, stage: str, samples: int) -> tuple[float, float, float, np.ndarray]:
    mains_v, off, widths = sound.build.mains.volts, [], []
    for each in (alike, sound):
        here = []
        for number in range(GIVEN):
            before = powered_stages(sound.build)
            before = before[: before.index(stage)]
            earlier = {name: StageReadings(mains_v, each.record(number, name)) for name in before}
            told = expect_powered(sound.build, stage, mains_v=mains_v, earlier=earlier, samples=samples).expectations
            low, high = (np.array([getattr(e, side) for e in told]) for side in ("low", "high"))
            places = [sound.points[stage].index(e.point) for e in told]
            here.append(_off(each.readings[stage][[number]][:, places], low, high)[0])
            widths.append(high - low)
        off.append(np.array(here))
    needed = float(np.quantile(off[1], JOINT_SHARE))
    return float((off[0] <= 1).mean()), float((off[1] <= 1).mean()), needed, np.mean(widths, axis=0)


def _off(readings: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """The furthest reading of each record (records,) from its window's middle, in half widths; NaN is outside."""
    off = np.abs(readings - (low + high) / 2.0) / ((high - low) / 2.0)
    known = np.isfinite(readings).any(axis=0)
    return np.nan_to_num(off[:, known], nan=np.inf).max(axis=1)


def _line(samples: int, how: str, rows: list[Measured]) -> str:
    alike, sound, factor = (
        np.concatenate([getattr(row, key) for row in rows]) for key in ("cover_alike", "cover_sound", "factor")
    )
    noise = np.concatenate([row.widths.std(axis=0, ddof=len(row.widths) > 1) / row.widths.mean(axis=0) for row in rows])
    width = np.concatenate([row.widths.mean(axis=0) for row in rows])
    return (
        f"| {samples} | {how} | {100 * alike.mean():.1f} ({100 * alike.min():.0f}) "
        f"| {100 * sound.mean():.1f} ({100 * sound.min():.0f}) | {factor.mean():.2f} ({factor.max():.2f}) "
        f"| {100 * np.median(noise):.1f} | {np.median(width / _WIDEST[how]):.2f} |"
    )


_WIDEST: dict[str, np.ndarray] = {}


def main(names: list[str]) -> None:
    """Prints the table of all builds together."""
    with ProcessPoolExecutor(2) as workers:
        rows = [row for found in workers.map(measure, names or NAMES) for row in found]
    print("| builds | how | cover alike, % (least) | cover sound, % (least) | factor (most) | noise, % | width |")
    print("|---|---|---|---|---|---|---|")
    for how in ("alone", "given"):
        largest = [row for row in rows if row.samples == max(SEEDS) and row.how == how]
        _WIDEST[how] = np.concatenate([row.widths.mean(axis=0) for row in largest])
        for samples in SEEDS:
            print(_line(samples, how, [row for row in rows if row.samples == samples and row.how == how]), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
