"""The linearised circuit at the harmonics of the mains: what the rectifiers see of it, and the ripple everywhere.

Phasors are peak values of sin: the mains is sqrt 2 times its rms value at angle zero.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from benchtui.circuit.dc import Case, valve_currents
from benchtui.circuit.elimination import Factors
from benchtui.circuit.system import System

CHUNK_COLUMNS = 2048
"""Columns (harmonics times samples) handled at once: bounds the memory."""


def two_step_symbol(points: int, hz: float) -> np.ndarray:
    """What the two-step backward difference makes of j w at harmonics 1 to points / 2, in radian a second.

    With it a product in frequency is a cyclic implicit time stepping of `points` steps a cycle: damped, and it does not
    ring where a rectifier starts or stops (Gear's method; textbook).
    """
    z = np.exp(-2j * np.pi * np.arange(1, points // 2 + 1) / points)
    return (3.0 - 4.0 * z + z * z) * points * hz / 2.0


def exact_symbol(harmonics: int, hz: float) -> np.ndarray:
    """j w at harmonics 1 to `harmonics` of `hz`, in radian a second."""
    return 2j * np.pi * hz * np.arange(1, harmonics + 1)


@dataclass(frozen=True, eq=False)
class AcCircuit:
    """The circuit linearised at an operating point: linear values come from the network, pots from `linear_g`."""

    system: System
    linear_g: np.ndarray
    valve_siemens: np.ndarray
    rectifier_siemens: np.ndarray | None = None
    """What the rectifiers conduct on average (p, p, samples); None leaves them open."""

    farads: np.ndarray | None = None
    """Between the branches of the devices (devices, 3, 3, samples); None leaves them out, as for the mains."""

    def _factors(self, s: np.ndarray) -> Factors:
        net, count = self.system.network, self.system.rectifier_count
        conducted = np.zeros((count, count, net.samples)) if self.rectifier_siemens is None else self.rectifier_siemens
        linear = replace(net.linear, g=self.linear_g)
        store = self.system.ac_store(s, linear, self.valve_siemens, conducted, self.farads)
        return self.system.plan.factor(store)

    def _chunks(self, count: int) -> list[slice]:
        size = max(1, CHUNK_COLUMNS // self.system.network.samples)
        return [slice(start, min(start + size, count)) for start in range(0, count, size)]

    def seen_from_rectifiers(self, s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Ohms between rectifiers (samples, p, p, harmonics), and each one's open volts at the mains (samples, p)."""
        system, net = self.system, self.system.network
        count, samples = system.rectifier_count, net.samples
        ends = system.incidence[:, net.first_rectifier : net.first_rectifier + count]
        ohms = np.empty((samples, count, count, s.size), dtype=complex)
        open_v = np.zeros((samples, count), dtype=complex)
        for chunk in self._chunks(s.size):
            width = chunk.stop - chunk.start
            rhs = np.zeros((system.nodes, count + 1, width * samples), dtype=complex)
            rhs[:, :count] = ends[:, :, None]
            for emf in net.emfs:
                rhs[emf.node, count, :samples] = emf.volts / emf.ohm
            self._factors(s[chunk]).solve(rhs, kept_only=True)
            seen = np.einsum("np,nqc->pqc", ends, rhs).reshape(count, count + 1, width, samples)
            ohms[..., chunk] = np.moveaxis(seen[:, :count], -1, 0)
            if chunk.start == 0:
                open_v = seen[:, count, 0].T
        return ohms, open_v

    def volts(self, s: np.ndarray, rectifier_amps: np.ndarray) -> np.ndarray:
        """Node volts (nodes, harmonics, samples) with the rectifiers' currents given (p, harmonics, samples)."""
        system, net = self.system, self.system.network
        ends = system.incidence[:, net.first_rectifier : net.first_rectifier + system.rectifier_count]
        found = np.empty((system.nodes, s.size, net.samples), dtype=complex)
        for chunk in self._chunks(s.size):
            width = chunk.stop - chunk.start
            rhs = -np.einsum("np,pks->nks", ends, rectifier_amps[:, chunk]).astype(complex)
            if chunk.start == 0:
                for emf in net.emfs:
                    rhs[emf.node, 0] += emf.volts / emf.ohm
            rhs = rhs.reshape(system.nodes, width * net.samples)
            found[:, chunk] = self._factors(s[chunk]).solve(rhs).reshape(system.nodes, width, net.samples)
        return found

    def answers(self, s: np.ndarray, amps: np.ndarray) -> np.ndarray:
        """Node volts (nodes, k, harmonics, samples) that each of the currents into nodes (nodes, k) makes by itself.

        `s` (harmonics,), or (harmonics, samples) where samples differ in it.
        """
        samples = self.system.network.samples
        found = np.empty((*amps.shape, len(s), samples), dtype=complex)
        for chunk in self._chunks(len(s)):
            width = chunk.stop - chunk.start
            rhs = np.repeat(amps[..., None].astype(complex), width * samples, axis=2)
            found[:, :, chunk] = self._factors(s[chunk]).solve(rhs).reshape(*amps.shape, width, samples)
        return found

    def log_determinant(self, s: np.ndarray) -> np.ndarray:
        """Logarithm of the complex determinant (harmonics, samples), its angle but for whole turns."""
        found = [self._factors(s[chunk]).log_determinant() for chunk in self._chunks(len(s))]
        return np.concatenate(found).reshape(len(s), -1)

    def driving_ohms(self, s: np.ndarray, pairs: list[tuple[int, int]]) -> np.ndarray:
        """Complex ohms seen between each pair of nodes: (pairs, harmonics, samples)."""
        ends = pair_ends(self.system.nodes, pairs)
        return np.einsum("np,npks->pks", ends, self.answers(s, ends))


def pair_ends(nodes: int, pairs: list[tuple[int, int]]) -> np.ndarray:
    """One ampere into the first node of each pair and out of its second: (nodes, pairs); chassis is left out."""
    ends = np.zeros((nodes + 1, len(pairs)))
    for k, (pos, neg) in enumerate(pairs):
        ends[pos, k] += 1.0
        ends[neg, k] -= 1.0
    return ends[:-1]


def linearised_at(system: System, case: Case, volts: np.ndarray) -> AcCircuit:
    """The circuit at direct node `volts` (nodes, samples), pots where the case has them, rectifiers open."""
    linear_g = np.where(np.isfinite(system.network.linear.r), 0.0, case.linear)  # chokes have none of this kind
    return AcCircuit(system, linear_g, valve_currents(system.network, case.valves, system.device_volts(volts))[1])
