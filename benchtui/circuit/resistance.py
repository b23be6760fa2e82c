"""What an ohmmeter shows on the unpowered circuit: capacitors charged, junctions and valves open."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from benchtui.circuit.dc import case_of, linearise, open_ports
from benchtui.circuit.elements import Circuit
from benchtui.circuit.elimination import Factors
from benchtui.circuit.network import Network, network
from benchtui.circuit.paths import parts_of
from benchtui.circuit.system import System


def resistance(circuit: Circuit, pos: str, neg: str) -> np.ndarray:
    """Ohms (samples,) between two nodes of the linear network; inf where no path joins them.

    Chokes and windings count with their winding resistance; a mains transformer's primary is another circuit and is
    not seen. Raises KeyError when the circuit lacks a node.
    """
    net, factors, parts = _unpowered(circuit)
    a, b = net.index(pos), net.index(neg)
    rhs = np.zeros((len(net.nodes) + 1, net.samples))
    rhs[a] += 1.0
    rhs[b] -= 1.0
    with np.errstate(all="ignore"):
        rhs[:-1] = factors.solve(rhs[:-1])
    rhs[-1] = 0.0
    return np.where(parts[a] == parts[b], rhs[a] - rhs[b], np.inf)


@lru_cache(maxsize=8)
def _unpowered(circuit: Circuit) -> tuple[Network, Factors, np.ndarray]:
    """The factored network, and which nodes hang together: the same for every pair of probes."""
    net = network(circuit)
    system = System(net)
    case = case_of(net, open_ports(net))
    with np.errstate(all="ignore"):
        at = linearise(system, case.resistive(net), np.zeros((system.nodes, net.samples)))
    return net, at.factors, parts_of(system, case.linear, devices=False)
