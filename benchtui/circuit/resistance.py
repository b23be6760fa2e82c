"""What an ohmmeter shows on the unpowered circuit: capacitors charged, junctions and valves open.

The circuit falls into parts that hang together. In each one node is the reference (chassis, where it is in); one
factorisation serves every node that a probe touches, and then tells the resistance between any two of them, and what a
current between them leaves across every other pair.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from benchtui.circuit.branches import COIL_DC_SIEMENS
from benchtui.circuit.elements import CHASSIS, Circuit, Element
from benchtui.circuit.elimination import FEW_COLUMNS
from benchtui.circuit.network import network
from benchtui.circuit.paths import OPEN_SIEMENS, hanging_together


@dataclass(frozen=True, eq=False)
class Paths:
    """Nodes, and what conducts between them without power: the ends of each path and its siemens (paths, samples)."""

    nodes: tuple[str, ...]
    ends: tuple[tuple[str, str], ...]
    siemens: np.ndarray

    def extremes(self) -> Paths:
        """The same with two samples: each path at its least resistance of all samples, and at its most.

        No resistance between two nodes falls when one anywhere rises (Rayleigh's law of monotonicity: P. G. Doyle and
        J. L. Snell, "Random Walks and Electric Networks", 1984, from memory), so the two enclose all builds between.
        """
        return Paths(self.nodes, self.ends, np.stack([self.siemens.max(axis=1), self.siemens.min(axis=1)], axis=1))


def paths(elements: Iterable[Element]) -> Paths:
    """The paths through `elements`.

    Chokes and windings count with their winding resistance; a mains transformer's primary is another circuit and is
    not seen. Raises ValueError where a path is open in some samples only: what hangs together must be one for all.
    """
    net = network(Circuit(tuple(elements)))
    siemens = net.linear.at_dc()
    kept = (siemens > OPEN_SIEMENS).any(axis=1)
    kept[list(net.leaks)] = False
    if (siemens[kept] <= OPEN_SIEMENS).any():
        raise ValueError("a path is open in some samples only, they are to be solved apart")
    linear, coils = np.flatnonzero(kept), range(net.first_coil, net.first_valve)
    names = [*net.nodes, CHASSIS]
    ends = tuple((names[net.tail[branch]], names[net.head[branch]]) for branch in (*linear, *coils))
    of_coils = np.full((len(coils), net.samples), COIL_DC_SIEMENS)
    return Paths(tuple(net.nodes), ends, np.concatenate([siemens[linear], of_coils]))


class Unpowered:
    """The resistances of a circuit between any two nodes. Methods raise KeyError when it lacks a node."""

    def __init__(self, *made_of: Paths) -> None:
        names = dict.fromkeys(name for each in made_of for name in each.nodes if name != CHASSIS)
        self._numbers = {name: number for number, name in enumerate([*names, CHASSIS])}
        ends = [(self._numbers[a], self._numbers[b]) for each in made_of for a, b in each.ends]
        samples = max((each.siemens.shape[1] for each in made_of), default=1)
        siemens = [np.broadcast_to(each.siemens, (len(each.ends), samples)) for each in made_of]
        self._part = hanging_together(len(self._numbers), ends)
        self._free = np.flatnonzero(self._part != np.arange(len(self._part)))
        self._matrix = _matrix(self._free, ends, np.concatenate(siemens) if siemens else np.zeros((0, samples)))
        self._columns: dict[int, np.ndarray] = {}

    @property
    def nodes(self) -> frozenset[str]:
        """Names of the nodes, chassis included."""
        return frozenset(self._numbers)

    def joined(self, one: str, other: str) -> bool:
        """Whether a path joins two nodes."""
        return bool(self._part[self._at(one)] == self._part[self._at(other)])

    def between(self, pos: str, neg: str) -> np.ndarray:
        """Ohms (samples,) between two nodes; inf where no path joins them."""
        return self.volts(pos, neg, pos, neg) if self.joined(pos, neg) else np.full(len(self._matrix), np.inf)

    def volts(self, pos: str, neg: str, one: str, other: str) -> np.ndarray:
        """Volts (samples,) from node `one` to `other` while one ampere flows from `pos` to `neg`.

        NaN where no path joins the two nodes of either pair.
        """
        if not (self.joined(pos, neg) and self.joined(one, other)):
            return np.full(len(self._matrix), np.nan)
        self.touch((pos, neg))
        c, d = self._at(one), self._at(other)
        into, out_of = (self._columns[self._at(node)] for node in (pos, neg))
        return (into[:, c] - into[:, d]) - (out_of[:, c] - out_of[:, d])

    def touch(self, nodes: Iterable[str]) -> None:
        """Solve for the probes at `nodes` together, which is cheaper than for one pair after the other."""
        wanted = [number for number in {self._at(node) for node in nodes} if number not in self._columns]
        if wanted and len(self._matrix) < FEW_COLUMNS:
            wanted = [number for number in range(len(self._part)) if number not in self._columns]
        if not wanted:
            return
        amps = (self._free[:, None] == np.array(wanted)).astype(float)
        volts = np.zeros((len(self._matrix), len(self._part), len(wanted)))
        volts[:, self._free] = np.linalg.solve(self._matrix, np.broadcast_to(amps, (len(self._matrix), *amps.shape)))
        self._columns |= {number: volts[:, :, k] for k, number in enumerate(wanted)}

    def _at(self, node: str) -> int:
        try:
            return self._numbers[node]
        except KeyError:
            raise KeyError(f"the circuit has no node {node!r}; it has {', '.join(sorted(self._numbers))}") from None


def resistance(circuit: Circuit, pos: str, neg: str) -> np.ndarray:
    """Ohms (samples,) between two nodes of the linear network; inf where no path joins them.

    Raises KeyError when the circuit lacks a node.
    """
    return unpowered(circuit).between(pos, neg)


@lru_cache(maxsize=8)
def unpowered(circuit: Circuit) -> Unpowered:
    """The resistances of `circuit`, kept for the next pair of probes."""
    return Unpowered(paths(circuit.elements))


def _matrix(free: np.ndarray, ends: list[tuple[int, int]], siemens: np.ndarray) -> np.ndarray:
    """The nodal matrices (samples, free, free) of the nodes `free`, all but the references."""
    count = max((number for pair in ends for number in pair), default=-1) + 1
    matrix = np.zeros((count, count, siemens.shape[1]))
    for (a, b), row in zip(ends, siemens, strict=True):
        matrix[a, a] += row
        matrix[b, b] += row
        matrix[a, b] -= row
        matrix[b, a] -= row
    return np.ascontiguousarray(np.moveaxis(matrix[np.ix_(free, free)], -1, 0))
