"""Nodal equations of one topology: which admittance adds to which entry of the matrix, and in what order to eliminate.

The admittances of all pairs of branches stand in one list, the sources; a stamp says that source q is added (or taken
away) at row i, column j. The list is laid out as: linear branches; the same times the ratio and times the ratio squared
for secondaries (their primary is a node); coil pairs; valve pairs (9 each); rectifier pairs; meters; the leak.
"""

from __future__ import annotations

import numpy as np

from benchtui.circuit.elimination import Plan, plan
from benchtui.circuit.network import COIL_DC_SIEMENS, Network

LEAK_SIEMENS = 1e-12
"""From every node to chassis, so that a part without DC path does not stop the others from being solved."""


class System:
    """The equations of a network, with meters on the given (positive, negative) pairs of node numbers."""

    def __init__(self, network: Network, meters: tuple[tuple[int, int], ...] = ()) -> None:
        self.network = network
        self.nodes = len(network.nodes)
        self.rectifier_count = len(network.rectifier_names)
        self.tail = np.concatenate([network.tail, np.array([pos for pos, _ in meters], dtype=int)])
        self.head = np.concatenate([network.head, np.array([neg for _, neg in meters], dtype=int)])
        self.meter_count = len(meters)
        self.incidence = self._incidence()
        rows, columns, sources, signs = self._stamps()
        kept = frozenset(self.kept_nodes.tolist())
        self.plan: Plan = plan(self.nodes, frozenset(zip(rows.tolist(), columns.tolist(), strict=True)), kept)
        places = self.plan.place[rows, columns]
        order = np.argsort(places, kind="stable")
        self._source, self._sign = sources[order], signs[order][:, None]
        self._place, self._start = np.unique(places[order], return_index=True)

    @property
    def kept_nodes(self) -> np.ndarray:
        """Ends of rectifiers and primaries: the nodes through which the supply is seen."""
        net, first = self.network, self.network.first_rectifier
        ends = np.concatenate([net.tail[first:], net.head[first:], np.array([n for n, _ in net.emfs], dtype=int)])
        return np.unique(ends[ends < self.nodes])

    def _incidence(self) -> np.ndarray:
        matrix = np.zeros((self.nodes + 1, self.tail.size))
        branches = np.arange(self.tail.size)
        np.add.at(matrix, (self.tail, branches), 1.0)
        np.add.at(matrix, (self.head, branches), -1.0)
        return matrix[:-1]

    def _pairs(self) -> list[tuple[int, int, int]]:
        """(branch of the current, branch of the volts, source) of every pair but the primaries' shares."""
        net = self.network
        pairs = [(b, b, b) for b in range(net.first_coil)]
        source = net.first_coil + 2 * len(net.turns)
        blocks = [(coils.first, coils.count) for coils in net.coils]
        blocks += [(net.first_valve + 3 * v, 3) for v in range(len(net.valve_names))]
        blocks += [(net.first_rectifier, self.rectifier_count)]
        for first, count in blocks:
            for i in range(count):
                for j in range(count):
                    pairs.append((first + i, first + j, source))
                    source += 1
        first_meter = self.tail.size - self.meter_count
        pairs += [(first_meter + m, first_meter + m, source + m) for m in range(self.meter_count)]
        self._leak_source = source + self.meter_count
        return pairs

    def _stamps(self) -> tuple[np.ndarray, ...]:
        stamps = []
        for i, j, source in self._pairs():
            for row, row_sign in ((self.tail[i], 1.0), (self.head[i], -1.0)):
                for column, column_sign in ((self.tail[j], 1.0), (self.head[j], -1.0)):
                    stamps.append((row, column, source, row_sign * column_sign))
        net = self.network
        for number, turns in enumerate(net.turns):
            ratio = net.first_coil + number
            squared = ratio + len(net.turns)
            for end, sign in ((self.tail[turns.branch], -1.0), (self.head[turns.branch], 1.0)):
                stamps += [(end, turns.primary, ratio, sign), (turns.primary, end, ratio, sign)]
            stamps.append((turns.primary, turns.primary, squared, 1.0))
        stamps += [(node, node, self._leak_source, 1.0) for node in range(self.nodes)]
        stamps = [each for each in stamps if each[0] < self.nodes and each[1] < self.nodes]
        rows, columns, sources, signs = zip(*stamps, strict=True)
        return np.array(rows), np.array(columns), np.array(sources), np.array(signs)

    def store(self, sources: np.ndarray) -> np.ndarray:
        """The matrix, as the plan stores it, from the list of sources (sources, columns)."""
        store = np.zeros((self.plan.size, sources.shape[1]), dtype=sources.dtype)
        store[self._place] = np.add.reduceat(sources[self._source] * self._sign, self._start, axis=0)
        return store

    def dc_sources(self, linear: np.ndarray, valves: np.ndarray, rectifiers: np.ndarray, meters: np.ndarray) -> np.ndarray:
        """Sources at DC: linear (branches, columns), valves (valves, 3, 3, columns), rectifiers (p, p, columns)."""
        columns = linear.shape[1]
        coils = [np.repeat(COIL_DC_SIEMENS * np.eye(c.count).reshape(-1, 1), columns, 1) for c in self.network.coils]
        return np.concatenate([
            linear,
            np.zeros((2 * len(self.network.turns), columns)),
            *coils,
            valves.reshape(-1, columns),
            rectifiers.reshape(-1, columns),
            meters,
            np.full((1, columns), LEAK_SIEMENS),
        ])

    def ac_sources(self, s: np.ndarray, linear: np.ndarray, valves: np.ndarray, rectifiers: np.ndarray) -> np.ndarray:
        """Sources at the complex frequencies `s` (harmonics, 1), no meters: (sources, harmonics * samples)."""
        net = self.network
        shape = linear.shape[1:]
        ratio = [turns.ratio * linear[turns.branch] for turns in net.turns]
        squared = [turns.ratio**2 * linear[turns.branch] for turns in net.turns]
        coils = [(c.inverse_henry.reshape(c.count**2, 1, -1) / s).astype(complex) for c in net.coils]
        parts = [
            linear,
            np.array(ratio + squared).reshape(-1, *shape),
            *coils,
            np.broadcast_to(valves.reshape(-1, 1, shape[1]), (9 * len(net.valve_names), *shape)),
            np.broadcast_to(rectifiers.reshape(-1, 1, shape[1]), (self.rectifier_count**2, *shape)),
            np.zeros((self.meter_count, *shape)),
            np.full((1, *shape), LEAK_SIEMENS),
        ]
        return np.concatenate([part.reshape(-1, shape[0] * shape[1]) for part in parts])
