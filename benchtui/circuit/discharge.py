"""How the capacitors empty after switch-off.

Valves cold: a linear network of resistances and capacitors (chokes count as their winding resistance: what they store
is gone in milliseconds). Seen from m capacitors the network is a matrix of ohms R; with D = diag(sqrt C) the matrix
D R D is symmetric and its eigenvalues are the time constants: every voltage is a sum of m exponentials, exact at any
time.

Rectifiers count as open. Where that would trap charge (the pump capacitor of a doubler), with the valves hot, or with
regulators that conduct also when the valves are cold, the equations are stepped instead: two-step backward difference,
the step as long as the fall is straight.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from benchtui.circuit.branches import Group
from benchtui.circuit.dc import Case, case_of, linearise, open_ports, solve
from benchtui.circuit.devices import DIODE_FORMS
from benchtui.circuit.elements import Circuit, Value
from benchtui.circuit.network import network
from benchtui.circuit.operating import Operating
from benchtui.circuit.paths import parts_of
from benchtui.circuit.system import System

LONGEST_S = 1e5
"""Slower than this (a day and more) counts as never."""

TRAPPED_SHARE = 0.01
"""Charge without a path of resistances matters above this share of all charge."""

EMPTY_V = 0.05
"""Below this a capacitor is done with."""

FIRST_S, SECOND_S, SHORTENINGS = 1e-6, 1e-4, 5
"""Steps in time: the first finds the nodes' volts, the second begins the fall."""

BENT_SHARE, BENT_V, GROWTH, FALL = 0.012, 0.12, 2.0, 0.3
"""How far from a straight line a capacitor may fall in one step, as a share of its volts and in volts, and by how much
the next step may be longer or shorter. The seconds to the threshold are within 0.8 % of those of far finer steps."""

LEAST_NEWTON_STEP = 2e-2
"""Share of the volts: the error that a Newton step of this leaves is its square, far below that of the step in time."""

_GRID_S = np.concatenate([[0.0], np.geomspace(1e-4, LONGEST_S, 451)])


@dataclass(frozen=True, eq=False)
class Decay:
    """Volts of the capacitors `names` on a grid of seconds after switch-off: `volts` (samples, capacitors, times)."""

    names: tuple[str, ...]
    times_s: np.ndarray
    volts: np.ndarray
    trapped: np.ndarray

    def volts_at(self, seconds: float) -> np.ndarray:
        """Volts (samples, capacitors) at `seconds` after switch-off."""
        after = int(np.clip(np.searchsorted(self.times_s, seconds), 1, len(self.times_s) - 1))
        before = after - 1
        span = self.times_s[after] - self.times_s[before]
        share = float(np.clip((seconds - self.times_s[before]) / span, 0.0, 1.0))
        return _between(self.volts[..., before], self.volts[..., after], share)

    def seconds_to(self, threshold_v: float) -> np.ndarray:
        """Seconds (samples, capacitors) until each stays below `threshold_v`; inf: never; NaN: not known."""
        high = np.abs(self.volts) >= threshold_v
        last = high.shape[-1] - 1 - np.argmax(high[..., ::-1], axis=-1)
        never = high[..., -1] | (self.trapped & high.any(axis=-1))
        after = np.minimum(last + 1, len(self.times_s) - 1)
        v0 = np.abs(np.take_along_axis(self.volts, last[..., None], axis=-1)[..., 0])
        v1 = np.abs(np.take_along_axis(self.volts, after[..., None], axis=-1)[..., 0])
        with np.errstate(all="ignore"):
            share = np.log(v0 / threshold_v) / np.log(v0 / np.maximum(v1, 1e-300))
        seconds = self.times_s[last] + np.clip(share, 0.0, 1.0) * (self.times_s[after] - self.times_s[last])
        seconds = np.where(never, np.inf, np.where(high.any(axis=-1), seconds, 0.0))
        return np.where(np.isnan(self.volts).any(axis=-1), np.nan, seconds)


def _between(before: np.ndarray, after: np.ndarray, share: float) -> np.ndarray:
    """Exponential between volts of one sign, straight otherwise."""
    straight = before + share * (after - before)
    alike = (before * after > 0) & (np.minimum(np.abs(before), np.abs(after)) > 1e-9)
    with np.errstate(all="ignore"):
        bent = before * np.power(np.where(alike, after / before, 1.0), share)
    return np.where(alike, bent, straight)


def discharge(
    source: Circuit | Operating,
    start: Mapping[str, Value] | None = None,
    *,
    hot: bool = False,
    until_v: float = EMPTY_V,
) -> Decay:
    """The fall of every capacitor's volts after switch-off, valves cold, or with their full emission when `hot`.

    It is followed at least until all are under `until_v`. `start` gives volts by capacitor name (0 where missing); an
    `Operating` brings its own. Raises KeyError when a name is no capacitor of the circuit, ValueError when a bare
    circuit comes without `start`.
    """
    if isinstance(source, Operating):
        system, case, nodes = source.system, source.case, np.nan_to_num(source.dc_volts)
        start = source.capacitor_volts() if start is None else start
    else:
        net = network(source)
        system, case, nodes = System(net), case_of(net, open_ports(net)), np.zeros((len(net.nodes), net.samples))
    if start is None:
        raise ValueError("a circuit that was never solved needs the capacitors' volts at switch-off")
    net = system.network
    names = tuple(name for name, branch in net.linear_names.items() if (net.linear.c[branch] > 0).any())
    unknown = sorted(set(start) - set(names))
    if unknown:
        raise KeyError(f"the circuit has no capacitor {unknown[0]!r}; it has {', '.join(names) or 'none'}")
    branches = np.array([net.linear_names[name] for name in names], dtype=int)
    volts = np.stack([np.broadcast_to(np.asarray(start.get(n, 0.0), dtype=float), (net.samples,)) for n in names])
    parts = parts_of(system, case.linear, devices=False)
    loose = parts[system.tail[branches]] != parts[system.head[branches]]
    farad = net.linear.c[branches]
    charge = np.abs(farad * volts)
    matters = loose & (charge > TRAPPED_SHARE * charge.sum(axis=0))
    hot = hot and any((group.emission > 0).any() for group in case.valves)
    if hot or matters.any() or case.regulated:
        live = case if hot else case.cold(net)
        live = replace(live, ports=_Conducting(_rectifiers(net.rectifiers, hot=hot), system.rectifier_count))
        across = np.zeros((net.first_coil, net.samples))
        across[branches] = volts
        return _stepped(system, live, names, branches, _Step(0.0, 0.0, nodes, across), until_v)
    return _exponentials(system, case.resistive(net), names, branches, volts, loose.T)


def _exponentials(
    system: System, case: Case, names: tuple[str, ...], branches: np.ndarray, volts: np.ndarray, loose: np.ndarray
) -> Decay:
    net = system.network
    ends = system.incidence[:, branches]
    rhs = np.repeat(ends[:, :, None], net.samples, axis=2)
    with np.errstate(all="ignore"):
        at = linearise(system, replace(case, ports=open_ports(net)), np.zeros((system.nodes, net.samples)))
        ohms = np.einsum("nm,nks->smk", ends, at.factors.solve(rhs))
    sound = np.isfinite(ohms).all(axis=(1, 2))
    ohms, volts = np.where(sound[:, None, None], ohms, 0.0), np.where(sound, volts, np.nan)
    root = np.sqrt(np.maximum(net.linear.c[branches].T, 1e-15))
    tau, modes = np.linalg.eigh(root[:, :, None] * (ohms + np.swapaxes(ohms, 1, 2)) / 2.0 * root[:, None, :])
    share = np.einsum("smk,sm->sk", modes, root * volts.T)
    decay = np.exp(-_GRID_S / np.maximum(tau, 1e-9)[..., None])
    found = modes @ (share[..., None] * decay) / root[..., None]
    return Decay(names, _GRID_S, found, loose)


@dataclass(frozen=True, eq=False)
class _Conducting:
    """Rectifiers by their own law, for stepping in time (same use as dc.Ports)."""

    groups: tuple[Group, ...]
    count: int

    def take(self, columns: np.ndarray) -> _Conducting:
        return _Conducting(tuple(group.take(columns) for group in self.groups), self.count)

    def at(self, volts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        amps, slope = np.zeros_like(volts), np.zeros((self.count, self.count, volts.shape[1]))
        for group in self.groups:
            here = group.members
            amps[here], slope[here, here] = DIODE_FORMS[group.form](
                volts[here], np.zeros(1), group.emission, group.constants
            )
        return amps, slope


def _rectifiers(groups: tuple[Group, ...], *, hot: bool) -> tuple[Group, ...]:
    """Silicon always conducts; a valve's half only while hot."""
    return tuple(g if hot or g.form == "silicon" else replace(g, emission=np.zeros_like(g.emission)) for g in groups)


@dataclass(frozen=True, eq=False)
class _Step:
    """Seconds since switch-off, the length of the step there, volts of nodes and across the linear branches."""

    seconds: float
    length: float
    nodes: np.ndarray
    across: np.ndarray


def _stepped(
    system: System, case: Case, names: tuple[str, ...], branches: np.ndarray, start: _Step, until_v: float
) -> Decay:
    steps, ahead = [start], FIRST_S
    while steps[-1].seconds < LONGEST_S and (np.abs(steps[-1].across[branches]) >= until_v).any():
        steps.append(_step(system, case, steps[-2:], ahead))
        ahead = _next_length(steps, branches)
    found = np.stack([step.across[branches].T for step in steps], axis=-1)
    return Decay(names, np.array([step.seconds for step in steps]), found, np.zeros(found.shape[:2], dtype=bool))


def _step(system: System, case: Case, last: list[_Step], length: float) -> _Step:
    """One step of at most `length`: shorter where Newton's method does not settle, NaN where it never does."""
    farad = system.network.linear.c
    ends = system.incidence[:, : system.network.first_coil]
    now, before = last[-1], last[0]
    alive = np.isfinite(now.across).all(axis=0)
    for _ in range(SHORTENINGS):
        ratio = length / now.length if before.length else 0.0
        lead = (1.0 + 2.0 * ratio) / (1.0 + ratio)
        held = (1.0 + ratio) * now.across - ratio**2 / (1.0 + ratio) * before.across
        held_amps = ends @ (farad / length * held)
        stepped = replace(case, linear=case.linear + lead * farad / length, injected=held_amps)
        guess = now.nodes + (ratio * (now.nodes - before.nodes) if before.length else 0.0)
        solved = solve(system, stepped, np.nan_to_num(guess), least_step=LEAST_NEWTON_STEP)
        if solved.settled[alive].all():
            break
        length /= 4.0
    nodes = np.where(solved.settled, solved.volts, np.nan)
    return _Step(now.seconds + length, length, nodes, ends.T @ nodes)


def _next_length(steps: list[_Step], branches: np.ndarray) -> float:
    """As long as the capacitors' fall allows that bent most from the line through the two steps before."""
    now, before = steps[-1], steps[-2]
    if len(steps) == 2:
        return SECOND_S
    if len(steps) == 3:
        return GROWTH * now.length
    slope = (before.across - steps[-3].across)[branches] / before.length
    bent = np.abs((now.across - before.across)[branches] - slope * now.length)
    worst = np.nanmax(bent / (BENT_SHARE * np.abs(before.across[branches]) + BENT_V), initial=1e-9)
    return now.length * float(np.clip(0.9 / np.sqrt(worst), FALL, GROWTH))
