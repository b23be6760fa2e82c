"""Which nodes hang together, sample by sample."""

from __future__ import annotations

import numpy as np

from benchtui.circuit.system import System

OPEN_SIEMENS = 5e-12
"""A path of less (200 gigaohm) counts as none: dirt on a tag strip conducts more."""


def parts_of(system: System, linear: np.ndarray, *, capacitors: bool = False, devices: bool = True) -> np.ndarray:
    """A number for each node and chassis (nodes + 1, samples): equal where a path joins them, -1 with chassis.

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
    if (joined == joined[:, :1]).all():  # as good as always: one reckoning does for all samples
        return np.repeat(_labels(system, joined[:, :1]), net.samples, axis=1)
    return _labels(system, joined)


def _labels(system: System, joined: np.ndarray) -> np.ndarray:
    """The lowest node that each node hangs together with (nodes + 1, columns), by `joined` (branches, columns)."""
    label = np.repeat(np.arange(system.nodes + 1)[:, None], joined.shape[1], axis=1)
    label[-1] = -1
    while True:
        before = label.copy()
        for branch in np.flatnonzero(joined.any(axis=1)):
            ends = [system.tail[branch], system.head[branch]]
            lowest = np.where(joined[branch], label[ends].min(axis=0), label[ends])
            label[ends] = lowest
        if (label == before).all():
            return label
