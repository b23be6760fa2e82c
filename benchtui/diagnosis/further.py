"""Where to measure next: the reading from which most is to be learned, and what each outcome would mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from benchtui.diagnosis.candidates import Candidate
from benchtui.diagnosis.foretold import Foretold, after_exchange, again, live, unpowered
from benchtui.diagnosis.table import Table
from benchtui.diagnosis.unpowered import LEAST_OHM, OL_OHM
from benchtui.diagnosis.weigh import Evidence, Weighed
from benchtui.quantities.show import show

#: Cases that are weighed against each other: these many, each of at least this probability.
_MOST_CASES, _LEAST_SHARE = 40, 0.003

#: A live reading must tell so many times as much as one without power to be asked for.
_LIVE_WORTH = 1.5

#: An exchange is work, and is thought of only where no reading tells so many bits while so many are missing; it must
#: tell so many itself. So many cases are solved for it.
_LITTLE_BITS, _UNSURE_BITS, _EXCHANGE_BITS, _MOST_EXCHANGED = 0.3, 0.5, 0.5, 16

#: From this probability on a slip of the meter is cleared up first, since that costs nothing.
_SLIP_SHARE = 0.2

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


def next_reading(table: Table, evidence: Evidence, weighed: Weighed, *, with_exchanges: bool = True) -> Next | None:
    """The reading that separates what may be the matter best; None where none of them would tell anything.

    Exchanges take seconds where others take milliseconds; without them the best of the others is told.
    """
    cases = _leading(weighed)
    weights = weighed.cases[cases] / weighed.cases[cases].sum()
    parts, most_v = _parts(table, cases), table.build.meter.largest
    once_more = list(again(table, evidence, cases))
    if slip := _slipped(table, cases, weights, once_more):
        return Next(slip.candidate, bits(slip, weights, parts), _outcomes(table, slip, cases, weights))
    at_power = _best(chain(live(table, evidence, cases), once_more), weights, parts, most_v)
    cold = _best(unpowered(table, evidence, cases), weights, parts, most_v)
    best = at_power if at_power[0] > _LIVE_WORTH * cold[0] else cold
    if with_exchanges and best[0] < _LITTLE_BITS and _unsure(weights, parts) > _UNSURE_BITS:
        few = _leading(weighed, _MOST_EXCHANGED)
        weights_of_few = weighed.cases[few] / weighed.cases[few].sum()
        other = _best(after_exchange(table, evidence, few), weights_of_few, _parts(table, few), most_v)
        if other[0] > max(best[0], _EXCHANGE_BITS):
            best, cases, weights = other, few, weights_of_few
    if best[1] is None or best[0] < _LEAST_BITS:
        return None
    return Next(best[1].candidate, best[0], _outcomes(table, best[1], cases, weights))


def bits(of: Foretold, weights: np.ndarray, parts: np.ndarray) -> float:
    """What a reading is expected to tell of which of `parts` (cases,) is at fault (mutual information), the reading of
    each case being a normal one.
    """
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
    joint = np.zeros((parts.max() + 1, len(grid)))
    np.add.at(joint, parts[known], weight[:, None] * share)
    alone = joint.sum(axis=1, keepdims=True) * joint.sum(axis=0) / weight.sum()
    met = (joint > _MET**2) & (alone > 0.0)
    return float(np.where(met, joint * np.log2(np.where(met, joint, 1.0) / np.where(met, alone, 1.0)), 0.0).sum())


def _parts(table: Table, cases: np.ndarray) -> np.ndarray:
    """A number for the part at fault in each of the cases, none being one of them."""
    names = [None if table.of[case] < 0 else table.faults[table.of[case]].part for case in cases]
    return np.unique([name or "" for name in names], return_inverse=True)[1]


def _within_meter(of: Foretold, most_v: float) -> bool:
    """Can the meter bear what it would read in any of the cases, as far as that is known?"""
    if of.candidate.kind == "ohms":
        return True
    return not bool((np.abs(of.mean) + 2.0 * np.nan_to_num(of.deviation) > most_v).any())


def _slipped(table: Table, cases: np.ndarray, weights: np.ndarray, once_more: list[Foretold]) -> Foretold | None:
    """The reading that is likely enough to be a slip of the meter to be made once more before anything else."""
    share = {each: weights[table.slip_at[cases] == _point(table, each)].sum() for each in once_more}
    likeliest = max(share, key=share.__getitem__, default=None)
    return likeliest if likeliest is not None and share[likeliest] > _SLIP_SHARE else None


def _point(table: Table, of: Foretold) -> int:
    return table.points.index((of.candidate.state, of.candidate.point))


def _unsure(weights: np.ndarray, parts: np.ndarray) -> float:
    """Bits that are missing to knowing the part at fault: the entropy of what is known."""
    share = np.bincount(parts, weights)
    share = share[share > 0.0]
    return float(-(share * np.log2(share)).sum())


def _leading(weighed: Weighed, most: int = _MOST_CASES) -> np.ndarray:
    order = np.argsort(-weighed.cases)[:most]
    return order[(weighed.cases[order] > _LEAST_SHARE) | (np.arange(len(order)) < 2)]


def _best(
    foretold: Iterator[Foretold], weights: np.ndarray, parts: np.ndarray, most_v: float
) -> tuple[float, Foretold | None]:
    told = ((bits(each, weights, parts), each) for each in foretold if _within_meter(each, most_v))
    return max(told, key=lambda found: found[0], default=(0.0, None))


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
    if of.kind != "ohms":
        return f"{show(low, 'V', 3)} to {show(high, 'V', 3)}"
    if 10.0**low >= 0.1 * OL_OHM:
        return "open"
    if 10.0**low <= LEAST_OHM:
        return f"under {show(10.0**high, 'ohm', 2)}"
    top = "open" if 10.0**high >= 0.5 * OL_OHM else show(10.0**high, "ohm", 2)
    return f"{show(10.0**low, 'ohm', 2)} to {top}"
