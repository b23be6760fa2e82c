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

FEW_COLUMNS = 24
"""Below this a pivot costs more in calls than in sums, and whole matrices are solved: at 57 nodes three times as quick
for one column, equal at about 32."""


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
    filled: np.ndarray
    size: int
    kept: int

    def factor(self, store: np.ndarray) -> Factors:
        """Ready to solve; `store` (size, columns) is used up. A dead pivot gives inf or NaN in that column alone."""
        if store.shape[1] < FEW_COLUMNS:
            return Dense(self._whole(store))
        for pivot in self.pivots:
            store[pivot.diagonal] = 1.0 / store[pivot.diagonal]
            if pivot.touched.size:
                column = store[pivot.column]
                column *= store[pivot.diagonal]
                store[pivot.block] -= column[:, None] * store[pivot.row][None, :]
        return Eliminated(self, store)

    def _whole(self, store: np.ndarray) -> np.ndarray:
        """The matrices (columns, nodes, nodes) that a store holds."""
        nodes, columns = len(self.place), store.shape[1]
        matrix = np.zeros((columns, nodes * nodes), dtype=store.dtype)
        matrix[:, self.filled] = store[self.place.reshape(-1)[self.filled]].T
        return matrix.reshape(columns, nodes, nodes)


@dataclass(frozen=True, eq=False)
class Eliminated:
    """The factors of many columns, as the plan stores them."""

    plan: Plan
    store: np.ndarray

    def solve(self, rhs: np.ndarray, *, kept_only: bool = False) -> np.ndarray:
        """Overwrite `rhs` (nodes, ..., columns) with the solution, and return it.

        `kept_only` promises that `rhs` is zero but at the kept nodes, and gives the solution there alone.
        """
        store, pivots = self.store, self.plan.pivots
        if kept_only:
            pivots = pivots[len(pivots) - self.plan.kept :]
        for pivot in pivots:
            if pivot.touched.size:
                rhs[pivot.touched] -= _spread(store[pivot.column], rhs) * rhs[pivot.node]
        for pivot in reversed(pivots):
            if pivot.touched.size:
                rhs[pivot.node] -= (_spread(store[pivot.row], rhs) * rhs[pivot.touched]).sum(axis=0)
            rhs[pivot.node] *= store[pivot.diagonal]
        return rhs

    def log_determinant(self) -> np.ndarray:
        """Logarithm of each column's complex determinant (columns,), its angle but for whole turns."""
        return -np.log(self.store[[pivot.diagonal for pivot in self.plan.pivots]]).sum(axis=0)


@dataclass(frozen=True, eq=False)
class Dense:
    """Few columns, whose matrices (columns, nodes, nodes) are quicker solved whole."""

    matrix: np.ndarray

    def solve(self, rhs: np.ndarray, *, kept_only: bool = False) -> np.ndarray:
        """The same as `Eliminated.solve`."""
        sides = np.moveaxis(rhs.reshape(len(rhs), -1, rhs.shape[-1]), -1, 0)
        rhs[:] = np.moveaxis(solve_each(self.matrix, sides), 0, -1).reshape(rhs.shape)
        return rhs

    def log_determinant(self) -> np.ndarray:
        """The same as `Eliminated.log_determinant`."""
        sign, size = np.linalg.slogdet(self.matrix)
        return size + 1j * np.angle(sign)


Factors = Eliminated | Dense


def solve_each(matrix: np.ndarray, rhs: np.ndarray) -> np.ndarray:
    """np.linalg.solve of stacks (samples, n, n), (samples, n, k); a singular sample gives NaN and spares the others."""
    try:
        return np.linalg.solve(matrix, rhs)
    except np.linalg.LinAlgError:
        found = np.full(rhs.shape, np.nan, dtype=np.result_type(matrix, rhs))
        for number, (one, side) in enumerate(zip(matrix, rhs, strict=True)):
            try:
                found[number] = np.linalg.solve(one, side)
            except np.linalg.LinAlgError:
                continue
        return found


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
    return Plan(tuple(pivots), place, np.flatnonzero(place >= 0), size, kept)
