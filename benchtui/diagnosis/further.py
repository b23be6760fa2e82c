"""Where to measure next: the reading from which most is to be learned, and what each outcome would mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from benchtui.diagnosis.cold import Candidate, cold_table
from benchtui.diagnosis.table import Table
from benchtui.diagnosis.unpowered import LEAST_OHM, OL_OHM
from benchtui.diagnosis.weigh import Evidence, Weighed, foreseen, was_read
from benchtui.quantities.show import show

#: Cases that are weighed against each other: these many, each of at least this probability.
_MOST_CASES, _LEAST_SHARE = 40, 0.003

#: A live reading must tell so many times as much as one without power to be asked for.
_LIVE_WORTH = 1.5

#: From fewer bits than this nothing is learned.
_LEAST_BITS = 0.05

#: Outcomes that lie further apart than this many deviations are told apart.
_APART = 3.0

_GRID = 200

#: Cases and outcomes less likely than this are never met; their logarithms would be lost to rounding.
_MET = 1e-9


@dataclass(frozen=True)
class Outcome:
    """A span of readings in words, and the faults that would read so, as (kind, part, probability)."""

    reads: str
    means: tuple[tuple[str, str | None, float], ...]


@dataclass(frozen=True)
class Next:
    """What to read next; `bits` is what it is expected to tell."""

    candidate: Candidate
    bits: float
    outcomes: tuple[Outcome, ...]


@dataclass(frozen=True, eq=False)
class Foretold:
    """Mean and deviation (cases,) of a candidate in each of the cases that are weighed."""

    candidate: Candidate
    mean: np.ndarray
    deviation: np.ndarray


def next_reading(table: Table, evidence: Evidence, weighed: Weighed) -> Next | None:
    """The reading that separates what may be the matter best; None where none of them would tell anything."""
    cases = _leading(weighed)
    weights = weighed.cases[cases] / weighed.cases[cases].sum()
    live = _best(_live(table, evidence, cases), weights)
    cold = _best(_unpowered(table, evidence, cases), weights)
    best = live if live[0] > _LIVE_WORTH * cold[0] else cold
    if best[1] is None or best[0] < _LEAST_BITS:
        return None
    return Next(best[1].candidate, best[0], _outcomes(table, best[1], cases, weights))


def bits(of: Foretold, weights: np.ndarray) -> float:
    """What a reading is expected to tell of which case it is (mutual information), the reading being a normal one."""
    known = np.isfinite(of.mean) & (weights > _MET)
    if known.sum() < 2:
        return 0.0
    mean, deviation, weight = of.mean[known], of.deviation[known], weights[known]
    low, high = (mean - 4.0 * deviation).min(), (mean + 4.0 * deviation).max()
    near = (mean[:, None] + deviation[:, None] * np.linspace(-3.0, 3.0, 13)).ravel()
    grid = np.sort(np.concatenate([np.linspace(low, high, _GRID), near]))
    step = np.gradient(grid)
    density = np.exp(-0.5 * ((grid - mean[:, None]) / deviation[:, None]) ** 2) / deviation[:, None]
    share = density * step
    share = share / share.sum(axis=1, keepdims=True)
    whole = (weight[:, None] * share).sum(axis=0) / weight.sum()
    met = share > _MET
    told = np.where(met, share * np.log2(np.where(met, share, 1.0) / np.where(met, whole, 1.0)), 0.0).sum(axis=1)
    return float((weight * told).sum())


def _leading(weighed: Weighed) -> np.ndarray:
    order = np.argsort(-weighed.cases)[:_MOST_CASES]
    return order[(weighed.cases[order] > _LEAST_SHARE) | (np.arange(len(order)) < 2)]


def _best(foretold: Iterator[Foretold], weights: np.ndarray) -> tuple[float, Foretold | None]:
    return max(((bits(each, weights), each) for each in foretold), key=lambda found: found[0], default=(0.0, None))


def _live(table: Table, evidence: Evidence, cases: np.ndarray) -> Iterator[Foretold]:
    """The powered points of the stage that were not read."""
    ahead = [
        k
        for k, (of, name) in enumerate(table.points)
        if of == table.stage and (of, name) not in evidence.read and table.build.point[name].quantity != "resistance"
    ]
    mean, deviation = _conditioned(table, evidence, cases, ahead)
    for column, k in enumerate(ahead):
        name = table.points[k][1]
        point = table.build.point[name]
        candidate = Candidate("live", table.stage, name, f"Read {point.name}", point.red, point.black)
        yield Foretold(candidate, mean[:, column], deviation[:, column])


def _conditioned(
    table: Table, evidence: Evidence, cases: np.ndarray, ahead: list[int]
) -> tuple[np.ndarray, np.ndarray]:
    """Mean and deviation (cases, ahead) of further readings of this very build, in each case."""
    here, y = was_read(table, evidence)
    mean, slope, _ = foreseen(table, evidence, here, cases)
    further_mean, further_slope, _ = foreseen(table, evidence, ahead, cases)
    found = np.empty((2, len(cases), len(ahead)))
    for row, case in enumerate(cases):
        known = np.isfinite(mean[row])
        a, own = slope[row, known], table.spread.own[case, here][known]
        precision = np.eye(a.shape[1]) + (a / own[:, None] ** 2).T @ a
        spread, further = np.linalg.inv(precision), further_slope[row]
        latent = spread @ (a.T @ ((y - mean[row])[known] / own**2))
        found[0, row] = further_mean[row] + further @ latent
        variance = table.spread.own[case, ahead] ** 2 + np.einsum("kl,lm,km->k", further, spread, further)
        found[1, row] = np.sqrt(variance)
    return found[0], found[1]


def _unpowered(table: Table, evidence: Evidence, cases: np.ndarray) -> Iterator[Foretold]:
    """Ohms with hands in, of those that were not read."""
    cold = cold_table(table.build, table.stage)
    mean, deviation = cold.read(table, cases)
    for k, candidate in enumerate(cold.candidates):
        if (candidate.red, candidate.black) not in evidence.ohms:
            yield Foretold(candidate, mean[:, k], deviation[:, k])


def _outcomes(table: Table, of: Foretold, cases: np.ndarray, weights: np.ndarray) -> tuple[Outcome, ...]:
    """The spans in which the cases read, the likeliest first."""
    order = [k for k in np.argsort(of.mean) if np.isfinite(of.mean[k])]
    spans: list[list[int]] = []
    for k in order:
        if spans and of.mean[k] - of.mean[spans[-1][-1]] <= _APART * max(of.deviation[k], of.deviation[spans[-1][-1]]):
            spans[-1].append(k)
        else:
            spans.append([k])
    found = []
    for span in spans:
        low = min(of.mean[k] - 2.0 * of.deviation[k] for k in span)
        high = max(of.mean[k] + 2.0 * of.deviation[k] for k in span)
        outcome = Outcome(_span(of.candidate, low, high), _means(table, cases, weights, span))
        found.append((sum(weights[k] for k in span), outcome))
    return tuple(outcome for _, outcome in sorted(found, key=lambda each: -each[0]))


def _means(table: Table, cases: np.ndarray, weights: np.ndarray, span: Sequence[int]) -> tuple:
    shares: dict[tuple[str, str | None], float] = {}
    for k in span:
        number = table.of[cases[k]]
        name = ("none", None) if number < 0 else (table.faults[number].kind, table.faults[number].part)
        shares[name] = shares.get(name, 0.0) + float(weights[k])
    return tuple((*name, share) for name, share in sorted(shares.items(), key=lambda item: -item[1]))


def _span(of: Candidate, low: float, high: float) -> str:
    if of.kind == "live":
        return f"{show(low, 'V', 3)} to {show(high, 'V', 3)}"
    if 10.0**low >= 0.1 * OL_OHM:
        return "open"
    if 10.0**low <= LEAST_OHM:
        return f"under {show(10.0**high, 'ohm', 2)}"
    top = "open" if 10.0**high >= 0.5 * OL_OHM else show(10.0**high, "ohm", 2)
    return f"{show(10.0**low, 'ohm', 2)} to {top}"
