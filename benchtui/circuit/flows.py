"""Currents of single linear branches in a steady state, from the volts of the nodes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchtui.circuit.ac import exact_symbol
from benchtui.circuit.dc import Case
from benchtui.circuit.system import System


def mean_amps(system: System, case: Case, dc_volts: np.ndarray, branch: int) -> np.ndarray:
    """Mean A (samples,) from the branch's tail to its head."""
    return case.linear[branch] * system.between_ends(dc_volts, branch)


def phasor_amps(system: System, case: Case, phasors: np.ndarray, branch: int) -> np.ndarray:
    """Current at the harmonics of the mains, peak A (harmonics, samples), from the branch's tail to its head."""
    net = system.network
    across = system.between_ends(phasors, branch)
    for turns in net.turns:
        if turns.branch == branch:
            across -= turns.ratio * phasors[:, turns.primary]
    for emf in net.emfs:
        if emf.branch == branch:
            across[0] -= emf.volts
    linear = net.linear.rows([branch])
    if np.isinf(linear.r).all():
        linear = replace(linear, g=case.linear[[branch]])
    return linear.at(exact_symbol(len(across), net.mains_hz)[:, None])[0] * across


def heat(system: System, case: Case, dc_volts: np.ndarray, phasors: np.ndarray, branch: int) -> np.ndarray:
    """Mean W (samples,) in the resistance of a branch."""
    mean = mean_amps(system, case, dc_volts, branch)
    square = mean**2 + (np.abs(phasor_amps(system, case, phasors, branch)) ** 2).sum(axis=0) / 2.0
    return square / case.linear[branch]
