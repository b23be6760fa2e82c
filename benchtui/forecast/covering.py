"""A smallest set of readings that shows every slip which any of them shows."""

from __future__ import annotations

import numpy as np


def covering(shows: np.ndarray, free: int) -> list[int]:
    """Rows of `shows` (readings, slips) that are needed beside the first `free`, which are read anyway.

    Greedy, the earlier of two rows that add alike (V. Chvatal, Mathematics of Operations Research 4(3), 1979, from
    memory: never far from the smallest), then without what turned out needless. In the order of what each adds.
    """
    known = shows[:free].any(axis=0)
    return _greedy(shows, known, _without_needless(shows, known, _greedy(shows, known, list(range(free, len(shows))))))


def _greedy(shows: np.ndarray, known: np.ndarray, rows: list[int]) -> list[int]:
    chosen: list[int] = []
    left = shows[rows].any(axis=0) & ~known
    while left.any():
        chosen.append(rows[int((shows[rows] & left).sum(axis=1).argmax())])
        left &= ~shows[chosen[-1]]
    return chosen


def _without_needless(shows: np.ndarray, known: np.ndarray, chosen: list[int]) -> list[int]:
    for row in reversed(chosen):
        others = [each for each in chosen if each != row]
        if not (shows[row] & ~known & ~shows[others].any(axis=0)).any():
            chosen = others
    return chosen
