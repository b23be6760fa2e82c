"""Which nodes hang together, sample by sample."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from benchtui.circuit.system import System

OPEN_SIEMENS = 5e-12
"""A path of less (200 gigaohm) counts as none: dirt on a tag strip conducts more."""


def parts_of(system: System, linear: np.ndarray, *, capacitors: bool = False, devices: bool = True) -> np.ndarray:
    """A number for each node and chassis (nodes + 1, samples): equal where a path joins them.

    Paths are resistances and coils, with `devices` also rectifiers, valves and transistors (not their grids) that can
    conduct, with `capacitors` those too.
    """
    net = system.network
    joined = np.zeros((system.tail.size, net.samples), dtype=bool)
    joined[: net.first_coil] = linear > OPEN_SIEMENS
    joined[list(net.leaks)] = False
    if capacitors:
        joined[: net.first_coil] |= net.linear.c > 0
    joined[net.first_coil : net.first_valve] = True
    if devices:
        for group in net.valves:
            for electrode in (0, 1):
                joined[net.first_valve + 3 * group.members + electrode] = group.emission > 0
        for group in net.rectifiers:
            joined[net.first_rectifier + group.members] = group.emission > 0
    patterns, which = np.unique(joined, axis=1, return_inverse=True)  # as good as always there is but one
    ends = list(zip(system.tail.tolist(), system.head.tolist(), strict=True))
    numbers = [
        hanging_together(system.nodes + 1, [pair for pair, there in zip(ends, pattern, strict=True) if there])
        for pattern in patterns.T
    ]
    return np.stack(numbers, axis=1)[:, which.reshape(-1)]


def hanging_together(count: int, ends: Iterable[tuple[int, int]]) -> np.ndarray:
    """A number for each of `count` nodes, equal where a path joins them: that of the last node among them."""
    root = list(range(count))

    def find(node: int) -> int:
        while root[node] != node:
            root[node] = root[root[node]]
            node = root[node]
        return node

    for a, b in ends:
        one, other = find(a), find(b)
        root[min(one, other)] = max(one, other)
    return np.array([find(node) for node in range(count)])
