"""The smallest set of readings that shows every slip which any of them shows."""

from __future__ import annotations

import numpy as np


def covering(shows: np.ndarray, free: int) -> list[int]:
    """Rows of `shows` (readings, slips) that are needed beside the first `free`, which are read anyway, in the order
    of what each adds.

    Greedy (V. Chvatal, Mathematics of Operations Research 4(3), 1979, from memory: never far from the smallest set),
    earlier rows first where two add alike; then each row that the others make needless is dropped, the least first.
    """
    left = shows.any(axis=0) & ~shows[:free].any(axis=0)
    chosen: list[int] = []
    while left.any():
        adds = (shows[free:] & left).sum(axis=1)
        best = free + int(adds.argmax())
        chosen.append(best)
        left &= ~shows[best]
    for row in reversed(chosen.copy()):
        others = [each for each in chosen if each != row]
        if not (shows[row] & ~shows[:free].any(axis=0) & ~shows[others].any(axis=0)).any():
            chosen = others
    return chosen
