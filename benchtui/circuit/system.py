"""Nodal equations of one topology: which admittance adds to which entry of the matrix, and in what order to eliminate.

The admittances of all pairs of branches stand in one list, the sources; a stamp says that source q is added (or taken
away) at row i, column j. The list is laid out as: linear branches; the same times the ratio and times the ratio squared
for secondaries (their primary is a node); coil pairs; valve pairs (9 each); rectifier pairs; meters; the leak.
"""

from __future__ import annotations

from copy import copy

import numpy as np

from benchtui.circuit.branches import COIL_DC_SIEMENS, Linear, Network
from benchtui.circuit.elimination import FEW_COLUMNS, Plan, plan

LEAK_SIEMENS = 1e-12
"""From every node to chassis, so that a part without DC path does not stop the others from being solved."""


def between(volts: np.ndarray, pos: int, neg: int) -> np.ndarray:
    """Volts (..., columns) from node `pos` to node `neg` of (..., nodes, columns); one past the last is chassis."""
    chassis = volts.shape[-2]
    if pos == neg or chassis == 0:
        return np.zeros((*volts.shape[:-2], volts.shape[-1]), dtype=volts.dtype)
    if neg == chassis:
        return volts[..., pos, :].copy()
    return -volts[..., neg, :] if pos == chassis else volts[..., pos, :] - volts[..., neg, :]


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
        stamps = self._stamps()
        pattern = frozenset((int(row), int(column)) for row, column, _, _ in stamps)
        self.plan: Plan = plan(self.nodes, pattern, frozenset(self.kept_nodes.tolist()))
        self._stamps_of: list[list[tuple[int, bool]]] = [[] for _ in range(self.leak_source + 1)]
        for row, column, source, sign in stamps:
            self._stamps_of[source].append((int(self.plan.place[row, column]), sign > 0))
        flat = [(source, *stamp) for source, here in enumerate(self._stamps_of) for stamp in here]
        self._sources, self._places, plus = np.array(flat, dtype=int).reshape(-1, 3).T
        self._signs = np.where(plus, 1.0, -1.0)

    @property
    def kept_nodes(self) -> np.ndarray:
        """Ends of rectifiers and primaries: the nodes through which the supply is seen."""
        net, first = self.network, self.network.first_rectifier
        ends = np.concatenate([net.tail[first:], net.head[first:], np.array([e.node for e in net.emfs], dtype=int)])
        return np.unique(ends[ends < self.nodes])

    def _incidence(self) -> np.ndarray:
        matrix = np.zeros((self.nodes + 1, self.tail.size))
        branches = np.arange(self.tail.size)
        np.add.at(matrix, (self.tail, branches), 1.0)
        np.add.at(matrix, (self.head, branches), -1.0)
        return matrix[:-1]

    def take(self, columns: np.ndarray) -> System:
        """The same equations for some samples of the network."""
        return self.with_network(self.network.take(columns))

    def with_network(self, network: Network) -> System:
        """The same equations for a network of the same branches with other values."""
        part = copy(self)
        part.network = network
        return part

    def across(self, volts: np.ndarray) -> np.ndarray:
        """Volts of every branch (branches, columns) from node volts (nodes, columns)."""
        grounded = np.concatenate([volts, np.zeros((1, *volts.shape[1:]))])
        return grounded[self.tail] - grounded[self.head]

    def device_volts(self, volts: np.ndarray) -> np.ndarray:
        """Volts of the devices' branches (devices, 3, columns) from node volts: anode, screen, grid to cathode."""
        net = self.network
        return self.across(volts)[net.first_valve : net.first_rectifier].reshape(-1, 3, volts.shape[1])

    def between_ends(self, volts: np.ndarray, branch: int) -> np.ndarray:
        """Volts of one branch (..., columns) from node volts (..., nodes, columns), chassis not among them."""
        return between(volts, int(self.tail[branch]), int(self.head[branch]))

    def out_of_nodes(self, amps: np.ndarray) -> np.ndarray:
        """Sum of the branch currents (branches, columns) that leave each node (nodes, columns)."""
        if amps.shape[1] < FEW_COLUMNS:
            return self.incidence @ amps
        sums = np.zeros((self.nodes + 1, amps.shape[1]))
        for tail, head, row in zip(self.tail.tolist(), self.head.tolist(), amps, strict=True):
            sums[tail] += row
            sums[head] -= row
        return sums[:-1]

    def _pairs(self) -> list[tuple[int, int, int]]:
        """(branch of the current, branch of the volts, source) of every pair but the primaries' shares."""
        net = self.network
        pairs = [(b, b, b) for b in range(net.first_coil)]
        self.coil_source = source = net.first_coil + 2 * len(net.turns)
        self.valve_source = source + sum(coils.count**2 for coils in net.coils)
        self.rectifier_source = self.valve_source + 9 * len(net.device_names)
        self.meter_source = self.rectifier_source + self.rectifier_count**2
        self.leak_source = self.meter_source + self.meter_count
        blocks = [(coils.first, coils.count) for coils in net.coils]
        blocks += [(net.first_valve + 3 * v, 3) for v in range(len(net.device_names))]
        blocks += [(net.first_rectifier, self.rectifier_count)]
        blocks += [(net.first_rectifier + self.rectifier_count + m, 1) for m in range(self.meter_count)]
        for first, count in blocks:
            for i in range(count):
                for j in range(count):
                    pairs.append((first + i, first + j, source))
                    source += 1
        return pairs

    def _stamps(self) -> list[tuple[int, int, int, float]]:
        """(row, column, source, sign), chassis left out."""
        stamps = []
        for i, j, source in self._pairs():
            for row, row_sign in ((self.tail[i], 1.0), (self.head[i], -1.0)):
                for column, column_sign in ((self.tail[j], 1.0), (self.head[j], -1.0)):
                    stamps.append((row, column, source, row_sign * column_sign))
        net = self.network
        for number, turns in enumerate(net.turns):
            ratio = net.first_coil + number
            for end, sign in ((self.tail[turns.branch], -1.0), (self.head[turns.branch], 1.0)):
                stamps += [(end, turns.primary, ratio, sign), (turns.primary, end, ratio, sign)]
            stamps.append((turns.primary, turns.primary, ratio + len(net.turns), 1.0))
        stamps += [(node, node, self.leak_source, 1.0) for node in range(self.nodes)]
        return [each for each in stamps if each[0] < self.nodes and each[1] < self.nodes]

    def add(self, store: np.ndarray, first: int, values: np.ndarray) -> None:
        """Add sources `first`, `first` + 1, ... of the given `values` (sources, columns) to a store."""
        if store.shape[1] < FEW_COLUMNS and not np.iscomplexobj(store):
            here = slice(*np.searchsorted(self._sources, (first, first + len(values))))
            amounts = self._signs[here, None] * values[self._sources[here] - first]
            places = self._places[here, None] * store.shape[1] + np.arange(store.shape[1])
            store += np.bincount(places.ravel(), amounts.ravel(), store.size).reshape(store.shape)
            return
        for stamps, row in zip(self._stamps_of[first : first + len(values)], values, strict=True):
            for place, plus in stamps:
                if plus:
                    store[place] += row
                else:
                    store[place] -= row

    def dc_store(self, linear: np.ndarray, meters: np.ndarray) -> np.ndarray:
        """The matrix at DC without valves and rectifiers, as the plan stores it."""
        columns = linear.shape[1]
        store = np.zeros((self.plan.size, columns))
        self.add(store, 0, linear)
        source = self.coil_source
        for coils in self.network.coils:
            each = COIL_DC_SIEMENS * np.eye(coils.count).reshape(-1, 1)
            self.add(store, source, np.repeat(each, columns, axis=1))
            source += coils.count**2
        self.add(store, self.meter_source, meters)
        self.add(store, self.leak_source, np.full((1, columns), LEAK_SIEMENS))
        return store

    def ac_store(
        self,
        s: np.ndarray,
        linear: Linear,
        valves: np.ndarray,
        rectifiers: np.ndarray,
        farads: np.ndarray | None = None,
    ) -> np.ndarray:
        """The matrix at the complex frequencies `s`, no meters: columns are harmonics times samples.

        `s` is (harmonics,), or (harmonics, samples) where samples differ in it; `farads` (devices, 3, 3, samples) lie
        between the branches of the devices.
        """
        net, samples = self.network, self.network.samples
        s = s[:, None] if s.ndim == 1 else s
        flat = self.device_store(valves, rectifiers)
        store = np.repeat(flat[:, None].astype(complex), len(s), axis=1).reshape(self.plan.size, -1)
        admittance = linear.at(s)
        self.add(store, 0, admittance.reshape(net.first_coil, -1))
        for number, turns in enumerate(net.turns):
            shared = turns.ratio * admittance[turns.branch]
            first = net.first_coil + number
            self.add(store, first, shared.reshape(1, -1))
            self.add(store, first + len(net.turns), (turns.ratio * shared).reshape(1, -1))
        source = self.coil_source
        for coils in net.coils:
            self.add(store, source, (coils.inverse_henry.reshape(-1, 1, samples) / s).reshape(coils.count**2, -1))
            source += coils.count**2
        if farads is not None and farads.size:
            susceptance = s * farads.reshape(-1, 1, samples)
            self.add(store, self.valve_source, susceptance.reshape(len(susceptance), -1))
        return store

    def device_store(self, valves: np.ndarray, rectifiers: np.ndarray) -> np.ndarray:
        """Valves (valves, 3, 3, columns), rectifiers (p, p, columns) and the leak: the same at every frequency."""
        columns = valves.shape[-1]
        store = np.zeros((self.plan.size, columns))
        self.add(store, self.valve_source, valves.reshape(-1, columns))
        self.add(store, self.rectifier_source, rectifiers.reshape(-1, columns))
        self.add(store, self.leak_source, np.full((1, columns), LEAK_SIEMENS))
        return store
