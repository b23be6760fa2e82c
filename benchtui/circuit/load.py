"""The load that a valve works into: how its anode's volts follow its own current, slowly and for signals."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from benchtui.circuit.dc import linearise
from benchtui.circuit.operating import Operating


def steady_ohms(found: Operating, valve: str) -> np.ndarray:
    """Ohms (samples,) from anode to cathode outside of `valve` for direct current, rectifiers and supply included.

    Everything else follows its law at the operating point; the current of `valve` is what drives it.
    """
    net, system = found.system.network, found.system
    number = net.device_names.index(valve)
    groups = tuple(
        replace(group, emission=np.where((group.members == number)[:, None], 0.0, group.emission))
        for group in found.case.valves
    )
    ends = _ends(found, {valve: 1.0})
    factors = linearise(system, replace(found.case, valves=groups), np.nan_to_num(found.dc_volts)).factors
    return _across(found, valve, factors.solve(ends[:, None].copy())[:, 0])[0]


def signal_load(found: Operating, valve: str, driven: Mapping[str, float], hz: float) -> tuple[np.ndarray, np.ndarray]:
    """Ohms (samples,) that `valve` works into at `hz`, and the share (samples,) of its anode's swing at its screen.

    `driven` says how the signal currents of all valves of the stage go with its own: 1 for itself and those beside it,
    -1 for the other half of a push-pull pair. None of them answers to its electrodes: their currents are what drives.
    """
    net = found.system.network
    siemens = found.ac.valve_siemens.copy()
    siemens[[net.device_names.index(name) for name in driven]] = 0.0
    ac = replace(found.ac, valve_siemens=siemens)
    volts = ac.answers(np.array([2j * np.pi * hz]), _ends(found, driven)[:, :1])[:, 0, 0]
    anode, screen = (each.real for each in _across(found, valve, volts))
    return anode, screen / anode


def _ends(found: Operating, driven: Mapping[str, float]) -> np.ndarray:
    """Currents into the nodes (nodes, samples): one ampere times each share into the anode and out of the cathode."""
    net, system = found.system.network, found.system
    amps = np.zeros((system.nodes, net.samples))
    for name, share in driven.items():
        amps += share * system.incidence[:, _anode_branch(found, name)][:, None]
    return amps


def _across(found: Operating, valve: str, volts: np.ndarray) -> np.ndarray:
    """Volts of anode and screen to the cathode (2, samples) at node `volts` (nodes, samples)."""
    anode = _anode_branch(found, valve)
    return np.stack([found.system.between_ends(volts, branch) for branch in (anode, anode + 1)])


def _anode_branch(found: Operating, valve: str) -> int:
    net = found.system.network
    return net.first_valve + 3 * net.device_names.index(valve)
