"""Readings of one or more stages as they are with each fault: mean and spread over builds, of all points together.

A fault's few builds are sound builds with the fault in. So what is left of the differences between builds is told by a
few latent figures of these: the mains, and the directions in which the sound readings vary most. What they do not
explain is spread of each point's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from benchtui.assemble.valves import sections
from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build
from benchtui.diagnosis.changes import Change
from benchtui.diagnosis.faults import Fault
from benchtui.diagnosis.kinds import kinds
from benchtui.diagnosis.simulated import FAULTY, Simulated, simulated, with_changes

#: Latent figures beside the mains.
_LATENT = 8

#: How strongly a fault's builds are taken to differ as sound ones do, in builds.
_ALIKE = 6.0

#: How often a fault that an earlier stage would have had as well has come since.
_SINCE = 0.2

#: A fault may make a reading differ more between builds than in sound ones, up to so many times.
_SHARE = 1.5


@dataclass(frozen=True, eq=False)
class Spread:
    """Readings as a straight function of standard normal latents, plus a spread of each point's own.

    `mean` and `own` are (cases, points), `slope` (cases, points, latents); NaN in `mean` where no figure is known. The
    first latent is the mains.
    """

    mean: np.ndarray
    slope: np.ndarray
    own: np.ndarray

    def take(self, cases: np.ndarray | slice, points: list[int]) -> Spread:
        """That of some cases and points, as copies."""
        return Spread(self.mean[cases][:, points], self.slope[cases][:, points], self.own[cases][:, points])


@dataclass(frozen=True, eq=False)
class Table:
    """Every case of the last of some stages: first the sound one, then each size of each fault.

    `stage` is that last one, `points` are (stage, point). `of` (cases,) is the number of each case's fault, -1 for the
    sound one; `share` (cases,) what of its fault's weight it has, `weight` (faults,) how often each is met. `blown` is
    as in Simulated, of that stage. `reach` (points,) is the largest reading of any case. `mains_deviation` is that of
    the mains over its rated volts. `slip_at` (cases,) is the point at which a case is a slip of the meter, -1 for none.
    """

    build: Build
    stage: str
    points: tuple[tuple[str, str], ...]
    faults: tuple[Fault, ...]
    of: np.ndarray
    share: np.ndarray
    weight: np.ndarray
    spread: Spread
    blown: dict[str, np.ndarray]
    reach: np.ndarray
    mains_deviation: float
    latent: np.ndarray
    slip_at: np.ndarray

    @property
    def here(self) -> list[int]:
        """The points of the last stage itself."""
        return [k for k, (stage, _) in enumerate(self.points) if stage == self.stage]

    def change_of(self, case: int) -> Change | None:
        """What a case has changed in the circuit; None where that is nothing."""
        changes = self.faults[self.of[case]].changes if self.of[case] >= 0 else ()
        return changes[self.size_of(case)] if changes else None

    def size_of(self, case: int) -> int:
        """Which of its fault's changes a case has; one that has come since has the same as the one that was there."""
        own = np.flatnonzero(self.of == self.of[case])
        return int(np.searchsorted(own, case)) % len(self.faults[self.of[case]].changes)


@lru_cache(maxsize=16)
def fault_table(build: Build, stage: str, earlier: tuple[str, ...] = ()) -> Table:
    """The table of powered `stage` with the `earlier` powered ones: each fault there as well, or come since."""
    here, before = simulated(build, stage), [simulated(build, name) for name in earlier]
    read = np.concatenate([stage.sound for stage in (*before, here)], axis=1)
    latent = _latents(read, here.mains)
    at_once, since = _cases(here, before)
    sound = _sound(read, latent, np.concatenate([stage.least[0] for stage in (*before, here)]))
    faulty, least = _faulty(here, before, at_once, since)
    spread = _joined(sound, _spread(faulty, latent[:FAULTY], sound, least))
    of = np.concatenate([[-1], here.of[at_once]])
    sizes = np.bincount(here.of, minlength=len(here.faults))
    known = np.isin(np.arange(len(here.of)), at_once[since])
    part = np.where(since, _SINCE, np.where(known[at_once], 1.0 - _SINCE, 1.0)) / sizes[here.of[at_once]]
    reach = np.nan_to_num(np.abs(faulty)).max(axis=(0, 1), initial=0.0)
    return Table(
        build=build,
        stage=stage,
        points=tuple((s.stage, name) for s in (*before, here) for name in s.points),
        faults=here.faults,
        of=of,
        share=np.concatenate([[1.0], part]),
        weight=_weights(build, stage, here.faults),
        spread=spread,
        blown={name: np.concatenate([[0.0], out[at_once]]) for name, out in here.blown.items()},
        reach=np.maximum(reach, np.abs(sound.mean[0])),
        mains_deviation=float(here.mains.std()),
        latent=latent[:FAULTY],
        slip_at=np.full(len(of), -1),
    )


def with_faults(table: Table, found: Sequence[Fault], weight: np.ndarray) -> Table:
    """The table with more faults of one size each, solved now, `weight` (faults,); they were not there earlier."""
    read, least, blown = with_changes(table.build, table.stage, [fault.changes[0] for fault in found])
    here = table.here
    solved = spread_of(table, read, least)
    sound = table.spread.take(slice(1), list(range(len(table.points))))
    more = Spread(*(np.repeat(getattr(sound, name), len(found), axis=0) for name in ("mean", "slope", "own")))
    more.mean[:, here], more.slope[:, here], more.own[:, here] = solved.mean, solved.slope, solved.own
    return replace(
        table,
        faults=(*table.faults, *found),
        of=np.concatenate([table.of, len(table.faults) + np.arange(len(found))]),
        share=np.concatenate([table.share, np.ones(len(found))]),
        weight=np.concatenate([table.weight, weight]),
        spread=_joined(table.spread, more),
        blown={name: np.concatenate([share, blown[name]]) for name, share in table.blown.items()},
        slip_at=np.concatenate([table.slip_at, np.full(len(found), -1)]),
    )


def spread_of(table: Table, read: np.ndarray, least: np.ndarray) -> Spread:
    """The spread of further solved cases (cases, builds, points) of the table's own stage, beside its sound builds."""
    return _spread(read, table.latent, table.spread.take(slice(1), table.here), least)


def _weights(build: Build, stage: str, found: Sequence[Fault]) -> np.ndarray:
    """How often each fault is met (faults,), more often those of what `stage` wires: it has not worked before."""
    return np.array([fault.weight for fault in found]) * just_wired(build, stage, found)


def just_wired(build: Build, stage: str, found: Sequence[Fault]) -> np.ndarray:
    """How many times as often each fault (faults,) is met because `stage` wires its part."""
    wired = {listed.id for listed in parts(build) if listed.part.stage == stage}
    wired |= {section.id for section in sections(build) if section.valve in wired}
    return np.array([kinds()[fault.kind].just_wired if fault.part in wired else 1.0 for fault in found])


def _cases(here: Simulated, before: Sequence[Simulated]) -> tuple[np.ndarray, np.ndarray]:
    """Number of each case in `here`, and whether its fault has come since; a fault known before is there twice."""
    numbers = np.arange(len(here.of))
    known = {fault.id for stage in before for fault in stage.faults}
    twice = np.array([here.faults[k].id in known for k in here.of], dtype=bool)
    return np.concatenate([numbers, numbers[twice]]), np.concatenate([np.zeros(len(numbers)), np.ones(twice.sum())]) > 0


def _first(of: Simulated) -> dict[tuple[str, str, str], int]:
    """Where the cases of each fault begin, by its id."""
    numbers, cases = np.unique(of.of, return_index=True)
    return {of.faults[number].id: int(case) for number, case in zip(numbers, cases, strict=True)}


def _faulty(
    here: Simulated, before: Sequence[Simulated], at_once: np.ndarray, since: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Readings (cases, builds, points) of all stages, and their least spread (cases, points)."""
    own_first = _first(here)
    values, least = [], []
    for stage in (*before, here):
        first, rows = _first(stage), []
        for case, late in zip(at_once, since, strict=True):
            id = here.faults[here.of[case]].id
            there = stage is here or (not late and id in first)
            rows.append(first[id] + case - own_first[id] if there else -1)
        with_sound = np.concatenate([stage.faulty, stage.sound[None, :FAULTY]])
        values.append(with_sound[rows])
        least.append(np.concatenate([stage.least[1:], stage.least[:1]])[rows])
    return np.concatenate(values, axis=2), np.concatenate(least, axis=1)


def _latents(sound: np.ndarray, mains: np.ndarray) -> np.ndarray:
    """(builds, latents) of unit variance: the mains, and what sound builds differ by beside it."""
    x = (mains / max(mains.std(), 1e-9))[:, None]
    scaled = sound - sound.mean(axis=0)
    scaled = scaled / np.where(scaled.std(axis=0) > 0.0, scaled.std(axis=0), 1.0)
    scaled = scaled[:, np.isfinite(scaled).all(axis=0)]
    beside = scaled - x @ np.linalg.lstsq(x, scaled, rcond=None)[0]
    u, size, _ = np.linalg.svd(beside, full_matrices=False)
    kept = min(_LATENT, int((size > 1e-6 * max(size.max(initial=0.0), 1e-12)).sum()))
    return np.concatenate([x, u[:, :kept] * np.sqrt(len(x))], axis=1)


def _sound(values: np.ndarray, latent: np.ndarray, least: np.ndarray) -> Spread:
    """A straight line through the sound builds (builds, points) by their latents."""
    middle = values.mean(axis=0)
    fit = np.linalg.lstsq(latent, values - middle, rcond=None)[0]
    left = values - middle - latent @ fit
    own = np.sqrt(least**2 + (left**2).sum(axis=0) / max(len(values) - latent.shape[1], 1))
    return Spread(middle[None], fit.T[None], own[None])


def _spread(values: np.ndarray, latent: np.ndarray, sound: Spread, least: np.ndarray) -> Spread:
    """The same for each fault's few builds (cases, builds, points), which are taken to differ as sound ones do.

    What they share with these is a slope in proportion to the reading; their own builds move it.
    """
    mean = np.full((len(values), values.shape[2]), np.nan)
    slope, own = np.zeros((*mean.shape, latent.shape[1])), np.array(least)
    for case, read in enumerate(values):
        told = np.isfinite(read).mean(axis=0) > 0.5
        rows = np.isfinite(read[:, told]).all(axis=1)
        if not told.any() or not rows.any():
            continue
        x, y = latent[rows], read[np.ix_(rows, told)]
        with np.errstate(all="ignore"):
            share = np.nan_to_num(y.mean(axis=0) / sound.mean[0, told], posinf=0.0, neginf=0.0)
        alike = sound.slope[0, told].T * np.clip(share, -_SHARE, _SHARE)
        off = y - x @ alike
        gram = x.T @ x + _ALIKE * np.eye(x.shape[1])
        fit = alike + np.linalg.solve(gram, x.T @ (off - off.mean(axis=0)))
        left = y - x @ fit
        middle = left.mean(axis=0)
        mean[case, told], slope[case, told] = middle, fit.T
        scatter = np.sqrt(((left - middle) ** 2).sum(axis=0) / max(len(x) - 3.0, 1.0))
        # a dozen builds flatter themselves: what sound builds leave over is left over with a fault as well
        usual = sound.own[0, told] * np.clip(np.abs(share), 0.0, _SHARE)
        own[case, told] = np.maximum(np.hypot(least[case, told], scatter), usual)
    return Spread(mean, slope, own)


def _joined(first: Spread, rest: Spread) -> Spread:
    return Spread(*(np.concatenate([getattr(s, name) for s in (first, rest)]) for name in ("mean", "slope", "own")))
