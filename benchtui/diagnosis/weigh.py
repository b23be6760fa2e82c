"""How likely each fault is, given what was read: every case of a table held against the readings (Bayes)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import lgamma, log, pi

import numpy as np

from benchtui.diagnosis.cold import cold_table
from benchtui.diagnosis.table import Spread, Table

#: Before anything is read: how likely it is that nothing is wrong, and that it is something nobody thought of.
NONE, UNKNOWN = 0.8, 0.01

#: Degrees of freedom of the tails: the laws of valves, and what is taken to be drawn evenly, are not that sure.
_TAIL = 6.0

#: Share of its points that an unknown fault moves anywhere, and how much wider the others are than in a sound build.
_ANYWHERE, _WIDER = 0.4, 2.0

#: Volts of which a meter and its leads make as much by themselves (common practice, no source).
_NOTHING_V = 0.03

#: How often a slip at a reading is made a second time.
_SLIP_TWICE = 0.02

#: What is computed of a fuse, and whether someone looked at it, is wrong so often.
_FUSE_SLIP = 0.02

#: Volts over which a reading may lie that nobody can compute: so many times the largest that is computed, at least.
_RANGE, _LEAST_V = 1.5, 1.0

#: Decades over which a reading in ohms may lie.
_DECADES = 9.0


@dataclass(frozen=True)
class Evidence:
    """What is known: readings in volts by (stage, point), the mains that each stage had, the fuses found blown.

    `blown` is None where nobody has looked at a fuse. `ohms` are further readings without power, in decades by (red,
    black), of candidates of `cold.cold_table`. `again` are points that were read a second time, and read the same.
    `exchanged` are readings in volts by (id of an exchange, point) of the last stage.
    `none`: how likely it is beforehand that nothing is wrong.
    """

    read: Mapping[tuple[str, str], float]
    mains_v: Mapping[str, float]
    blown: frozenset[str] | None = frozenset()
    ohms: Mapping[tuple[str, str], float] = field(default_factory=dict)
    again: frozenset[tuple[str, str]] = frozenset()
    exchanged: Mapping[tuple[str, str], float] = field(default_factory=dict)
    none: float = NONE


@dataclass(frozen=True)
class Weighed:
    """Probabilities: of each case of the table, of each of its faults, of none and of an unknown one.

    Those of faults, none and unknown sum to 1. `case_of` (faults,) is the likeliest case of each fault.
    """

    cases: np.ndarray
    faults: np.ndarray
    none: float
    unknown: float
    case_of: np.ndarray


def weigh(table: Table, evidence: Evidence) -> Weighed:
    """The posterior of every fault of the table."""
    cold, cold_unknown = _further_ohms(table, evidence)
    case = _likely(table, evidence) + cold + _fuses(table, evidence.blown)
    case = case + _prior(table, evidence.none) + _slips(table, evidence)
    unknown = _unknown(table, evidence) + cold_unknown + log(UNKNOWN) + log(0.5) * len(evidence.blown or ())
    return weighed_by(table, case, unknown)


def weighed_by(table: Table, case: np.ndarray, unknown: float) -> Weighed:
    """Probabilities of logs that are alike up to a constant: of each case (cases,), and of an unknown fault."""
    top = max(float(case.max()), unknown)
    weights, other = np.exp(case - top), float(np.exp(unknown - top))
    whole = weights.sum() + other
    weights, other = weights / whole, other / whole
    per_fault = np.bincount(table.of[1:], weights[1:], len(table.faults))
    order = np.lexsort((case[1:], table.of[1:])) + 1
    case_of = np.zeros(len(table.faults), dtype=int)
    case_of[table.of[order]] = order  # the last of each fault stays: its likeliest
    return Weighed(weights, per_fault, float(weights[0]), other, case_of)


def _prior(table: Table, none: float) -> np.ndarray:
    """Log prior (cases,)."""
    share = (1.0 - none - UNKNOWN) * table.weight / max(table.weight.sum(), 1e-9)
    return np.log(np.concatenate([[none], share[table.of[1:]] * table.share[1:]]))


def was_read(table: Table, evidence: Evidence) -> tuple[list[int], np.ndarray]:
    """The points of the table that were read, and what they read."""
    here = [k for k, point in enumerate(table.points) if point in evidence.read]
    return here, np.array([evidence.read[table.points[k]] for k in here])


def foreseen(
    table: Table, evidence: Evidence, points: list[int], cases: np.ndarray | slice = slice(None)
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Mean (cases, points), slope (cases, points, latents) and deviation (cases, points), the mains being known where
    it was read.
    """
    return at_mains(table, evidence, table.spread.take(cases, points), [table.points[k][0] for k in points])


def at_mains(
    table: Table, evidence: Evidence, spread: Spread, stages: list[str]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The same of any spread whose points are of these `stages`."""
    at, left = _mains(table, evidence, stages)
    mean, slope = spread.mean + spread.slope[:, :, 0] * at, spread.slope.copy()
    slope[:, :, 0] *= left
    return mean, slope, np.sqrt(spread.own**2 + (slope**2).sum(axis=2))


def _likely(table: Table, evidence: Evidence) -> np.ndarray:
    """Log density (cases,) of the readings, with tails."""
    here, y = was_read(table, evidence)
    mean, slope, _ = foreseen(table, evidence, here)
    known, own = np.isfinite(mean), table.spread.own[:, here]
    off = np.where(known & ~_both_nothing(table, here, mean, y), y - mean, 0.0)
    slope = np.where(known[:, :, None], slope, 0.0)
    covariance = np.einsum("cpl,cql->cpq", slope, slope)
    index = np.arange(len(here))
    covariance[:, index, index] += np.where(known, own, 1.0) ** 2
    factor = np.linalg.cholesky(covariance)
    white = np.linalg.solve(factor, off[:, :, None])[:, :, 0]
    far, count = (white**2).sum(axis=1), known.sum(axis=1)
    size = 2.0 * np.log(np.einsum("cpp->cp", factor)).sum(axis=1)
    density = -0.5 * size - 0.5 * (_TAIL + count) * np.log1p(far / _TAIL) - _tail_norm(len(here))[count]
    return density - np.where(known, 0.0, np.log(reading_range(table, here))).sum(axis=1)


def _both_nothing(table: Table, here: list[int], mean: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Where (cases, points) a reading in volts and what it should be are both nothing: the rest tells of the meter."""
    volts = np.array([table.build.point[table.points[k][1]].quantity != "resistance" for k in here], dtype=bool)
    with np.errstate(invalid="ignore"):
        return volts & (np.abs(y) < _NOTHING_V) & (np.abs(mean) < _NOTHING_V)


def _tail_norm(most: int) -> np.ndarray:
    """Log of what makes a density with such tails one, in 0 to `most` dimensions (Student's, textbook)."""
    return np.array([lgamma(_TAIL / 2) - lgamma((_TAIL + n) / 2) + 0.5 * n * log(_TAIL * pi) for n in range(most + 1)])


def tailed(off: np.ndarray) -> np.ndarray:
    """Log density of deviations with such tails, each by itself."""
    return -_tail_norm(1)[1] - 0.5 * (_TAIL + 1) * np.log1p(off**2 / _TAIL)


def _mains(table: Table, evidence: Evidence, stages: list[str]) -> tuple[np.ndarray, np.ndarray]:
    """For each point, where the mains latent stands in its stage, and what of its spread is left once it was read."""
    rated_v, error = table.build.mains.volts, table.build.meter.ac[0] / np.sqrt(3.0)
    at, left = np.zeros(len(stages)), np.ones(len(stages))
    for k, stage in enumerate(stages):
        mains_v = evidence.mains_v.get(stage)
        if mains_v is not None:
            at[k] = (mains_v / rated_v - 1.0) / table.mains_deviation
            left[k] = error / table.mains_deviation
    return at, left


def reading_range(table: Table, here: list[int]) -> np.ndarray:
    """Volts (points,) over which a reading may lie that nobody can compute."""
    return np.maximum(_RANGE * table.reach[here], _LEAST_V)


def _unknown(table: Table, evidence: Evidence) -> float:
    """Log density of the readings where something nobody thought of is wrong: some anywhere, the others as usual."""
    here, y = was_read(table, evidence)
    mean, _, _ = foreseen(table, evidence, here, slice(1))
    spread = _WIDER * np.sqrt(table.spread.own[0, here] ** 2 + (table.spread.slope[0, here] ** 2).sum(axis=1))
    usual = np.nan_to_num(np.exp(-0.5 * ((y - mean[0]) / spread) ** 2) / (spread * np.sqrt(2.0 * pi)))
    return float(np.log(_ANYWHERE / reading_range(table, here) + (1.0 - _ANYWHERE) * usual).sum())


def _further_ohms(table: Table, evidence: Evidence) -> tuple[np.ndarray, float]:
    """Log density (cases,) of the further readings in ohms, and that of an unknown fault."""
    if not evidence.ohms:
        return np.zeros(len(table.of)), 0.0
    cold = cold_table(table.build, table.stage)
    here = [k for k, each in enumerate(cold.candidates) if (each.red, each.black) in evidence.ohms]
    y = np.array([evidence.ohms[cold.candidates[k].red, cold.candidates[k].black] for k in here])
    mean, deviation = (each[:, here] for each in cold.read(table, np.arange(len(table.of))))
    off = (y - mean) / deviation
    density = tailed(off) - np.log(deviation)
    usual = np.exp(-0.5 * (off[0] / _WIDER) ** 2) / (_WIDER * deviation[0] * np.sqrt(2.0 * pi))
    unknown = np.log(_ANYWHERE / _DECADES + (1.0 - _ANYWHERE) * usual).sum()
    return density.sum(axis=1), float(unknown)


def _slips(table: Table, evidence: Evidence) -> np.ndarray:
    """Log probability (cases,) that what was read twice came out the same, slips of the meter being rare."""
    again = np.array([point in evidence.again for point in table.points] + [False])
    return np.where(again[table.slip_at], log(_SLIP_TWICE), 0.0)


def _fuses(table: Table, blown: frozenset[str] | None) -> np.ndarray:
    """Log probability (cases,) of the fuses being as they were found."""
    found = np.zeros(len(table.of))
    for name, share in table.blown.items() if blown is not None else ():
        goes = np.clip(share, _FUSE_SLIP, 1.0 - _FUSE_SLIP)
        found += np.log(goes if name in blown else 1.0 - goes)
    return found
