"""Gaussian elimination for many circuits of one topology at once: a fixed order of nodes, samples on the last axis.

The nodal equations of a circuit with resistances everywhere need no pivoting, so the order of elimination and the
places that fill in depend on the topology alone: they are planned once (least degree first) and each pivot is then a
handful of array operations over all samples. Textbook sparse elimination (George and Liu, "Computer Solution of Large
Sparse Positive Definite Systems", 1981; from memory, not checked).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np


@dataclass(frozen=True, eq=False)
class _Pivot:
    """One step: the node, those after it that it touches, and where their values lie in the store."""

    node: int
    touched: np.ndarray
    diagonal: int
    row: slice
    column: slice
    block: np.ndarray


@dataclass(frozen=True, eq=False)
class Plan:
    """The order of elimination of one pattern; `place[i, j]` is the row of the store that holds entry (i, j)."""

    pivots: tuple[_Pivot, ...]
    place: np.ndarray
    size: int
    kept: int

    def factor(self, store: np.ndarray) -> np.ndarray:
        """Overwrite `store` (size, columns) with its factors, and return it; a dead pivot leaves inf or NaN there."""
        for pivot in self.pivots:
            store[pivot.diagonal] = 1.0 / store[pivot.diagonal]
            if pivot.touched.size:
                column = store[pivot.column]
                column *= store[pivot.diagonal]
                store[pivot.block] -= column[:, None] * store[pivot.row][None, :]
        return store

    def solve(self, factors: np.ndarray, rhs: np.ndarray, *, kept_only: bool = False) -> np.ndarray:
        """Overwrite `rhs` (nodes, ..., columns) with the solution, and return it.

        `kept_only` promises that `rhs` is zero but at the kept nodes, and gives the solution there alone.
        """
        pivots = self.pivots[len(self.pivots) - self.kept :] if kept_only else self.pivots
        for pivot in pivots:
            if pivot.touched.size:
                rhs[pivot.touched] -= _spread(factors[pivot.column], rhs) * rhs[pivot.node]
        for pivot in reversed(pivots):
            if pivot.touched.size:
                rhs[pivot.node] -= (_spread(factors[pivot.row], rhs) * rhs[pivot.touched]).sum(axis=0)
            rhs[pivot.node] *= factors[pivot.diagonal]
        return rhs


def _spread(factors: np.ndarray, rhs: np.ndarray) -> np.ndarray:
    return factors if rhs.ndim == 2 else factors[:, None, :]


@lru_cache(maxsize=64)
def plan(nodes: int, pattern: frozenset[tuple[int, int]], kept: frozenset[int]) -> Plan:
    """The plan for a symmetric `pattern` of (row, column) pairs; nodes in `kept` are eliminated last."""
    touching = {node: set() for node in range(nodes)}
    for row, column in pattern:
        if row != column:
            touching[row].add(column)
            touching[column].add(row)
    left, order = set(range(nodes)), []
    while left:
        node = min(left, key=lambda each: (each in kept, len(touching[each]), each))
        left.remove(node)
        order.append((node, sorted(touching[node])))
        for other in touching[node]:
            touching[other] |= touching[node]
            touching[other] -= {node, other}
    return _laid_out(nodes, order, len(kept))


def _laid_out(nodes: int, order: list[tuple[int, list[int]]], kept: int) -> Plan:
    place = np.full((nodes, nodes), -1)
    size = 0
    for node, touched in order:
        count = len(touched)
        place[node, node] = size
        place[node, touched] = np.arange(size + 1, size + 1 + count)
        place[touched, node] = np.arange(size + 1 + count, size + 1 + 2 * count)
        size += 1 + 2 * count
    pivots = []
    for node, touched in order:
        start, count = int(place[node, node]), len(touched)
        after = np.array(touched, dtype=int)
        pivots.append(
            _Pivot(
                node,
                after,
                start,
                slice(start + 1, start + 1 + count),
                slice(start + 1 + count, start + 1 + 2 * count),
                place[np.ix_(after, after)],
            )
        )
    return Plan(tuple(pivots), place, size, kept)
