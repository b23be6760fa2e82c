"""Two faults at once, where no single one explains what was read: pairs that may, solved when they are needed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from benchtui.diagnosis.changes import Change
from benchtui.diagnosis.faults import Fault
from benchtui.diagnosis.kinds import kinds
from benchtui.diagnosis.table import Table, with_faults
from benchtui.diagnosis.weigh import NONE, UNKNOWN, Evidence, Weighed, foreseen, was_read, weigh

#: The kind of two faults at once.
TWO = "two-faults"

#: Pairs are looked for where an unknown fault is at least so likely, or where a reading is so many deviations off what
#: the likeliest single fault makes of it.
_DOUBT, _LEFT_OVER = 0.25, 4.0

#: Pairs that are solved.
_MOST = 24

#: A reading counts for no more than so many squared deviations; one that nobody can compute, for so many.
_FAR, _NOBODY = 25.0, 6.0


def weigh_all(table: Table, evidence: Evidence) -> tuple[Table, Weighed]:
    """Every single fault weighed and, where none of them explains the readings, pairs of them: a table with both."""
    weighed = weigh(table, evidence)
    here, y = was_read(table, evidence)
    mean, _, deviation = foreseen(table, evidence, here)
    left_over = np.abs((y - mean) / deviation)[weighed.cases.argmax()]
    if weighed.unknown < _DOUBT and not (left_over > _LEFT_OVER).any():
        return table, weighed
    chosen = list(_likeliest(table, mean, deviation, y))
    if not chosen:
        return table, weighed
    found, prior = zip(*((_both(table, a, b), _prior(table, a) * _prior(table, b)) for a, b in chosen), strict=True)
    weight = np.array(prior) * table.weight.sum() / (1.0 - NONE - UNKNOWN)
    table = with_faults(table, found, weight)
    return table, weigh(table, evidence)


def _prior(table: Table, case: int) -> float:
    """How likely a case is before anything is read."""
    weight = table.weight[table.of[case]] * table.share[case]
    return float((1.0 - NONE - UNKNOWN) * weight / table.weight.sum())


def _both(table: Table, a: int, b: int) -> Fault:
    one, other = table.change_of(a), table.change_of(b)
    first, second = table.faults[table.of[a]], table.faults[table.of[b]]
    both = Change({**one.instead, **other.instead}, (*one.extra, *other.extra))
    part, says = f"{first.part} and {second.part}", f"{first.says}; and {second.says}"
    return Fault(TWO, part, kinds()[TWO].says.format(part=says), 0.0, (both,))


def _likeliest(table: Table, mean: np.ndarray, deviation: np.ndarray, y: np.ndarray) -> Iterator[tuple[int, int]]:
    """The pairs of cases that may explain the readings best, as far as one can tell without solving them.

    Each reading is taken to be as the one fault makes it, or the other, or moved by the sum of both.
    """
    alone = _squared(y - mean, deviation)
    cases = [k for k in range(1, len(table.of)) if table.change_of(k) is not None]
    parts = {k: table.faults[table.of[k]].part for k in cases}
    touched = {k: table.change_of(k).instead.keys() for k in cases}
    costs: list[tuple[float, int, int]] = []
    for number, a in enumerate(cases):
        behind = (b for b in cases[number + 1 :] if parts[a] != parts[b] and not touched[a] & touched[b])
        others = np.array(list(behind), dtype=int)
        if not len(others):
            continue
        summed = _squared(y - mean[a] - mean[others] + mean[0], np.maximum(deviation[a], deviation[others]))
        cost = np.minimum(np.minimum(alone[a], alone[others]), summed).sum(axis=1)
        weight = table.weight[table.of[others]] * table.share[others] * table.weight[table.of[a]] * table.share[a]
        costs += zip(cost - 2.0 * np.log(weight), [a] * len(others), others, strict=True)
    taken: set[tuple[int, int]] = set()
    for _, a, b in sorted(costs):
        faults = int(table.of[a]), int(table.of[b])
        if faults not in taken:
            taken.add(faults)
            yield int(a), int(b)
        if len(taken) == _MOST:
            return


def _squared(off: np.ndarray, deviation: np.ndarray) -> np.ndarray:
    squared = np.minimum((off / deviation) ** 2, _FAR)
    return np.where(np.isfinite(squared), squared, _NOBODY)
