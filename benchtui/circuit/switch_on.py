"""The moments after switch-on: the circuit stepped in time from rest, for the peaks that no steady state shows.

A choke-input filter with nothing but its bleeder swings far above its steady volts, two capacitors in series first
share by capacitance and only later by their equalisers, and a discharged reservoir takes as much current as windings
and rectifiers let through.

Two-step backward difference with a fixed step (Gear's method; textbook). All that is linear is then one matrix, worked
out once: from what is remembered (capacitors, chokes, coils), the mains and the currents of the devices to the volts
across all of them. Each step solves the devices' own laws alone. Iron is taken as linear: neither the first half cycles
of a mains transformer nor a choke beyond its rated current are in it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from benchtui.circuit.branches import Group, Network
from benchtui.circuit.dc import valve_currents
from benchtui.circuit.devices import DIODE_FORMS, VALVE_FORMS
from benchtui.circuit.elements import Circuit, Value
from benchtui.circuit.elimination import solve_each
from benchtui.circuit.network import network
from benchtui.circuit.regulators import struck
from benchtui.circuit.system import System

POINTS = 64
"""Steps a mains cycle: peaks of current within 5 % of the truth, of volts within 0.5 %."""

PASSES, TOLERANCE_V = 40, 5e-3
"""Of Newton's method at each step: millivolts, far above the rounding error of a bridge that floats."""

STRAY_FARAD = 1e-9
"""From each end of a rectifier to chassis, as windings have: it keeps a bridge that blocks from hanging in the air."""

BLOCKED_V = 1.0
"""With more than this backwards across every rectifier there is nothing to solve."""


@dataclass(frozen=True, eq=False)
class SwitchOn:
    """Volts of capacitors, amperes of rectifiers and chokes by name, and of all primaries together: (times, samples).

    A sample whose equations could not be solved is NaN from there on.
    """

    times_s: np.ndarray
    volts: Mapping[str, np.ndarray]
    amps: Mapping[str, np.ndarray]
    mains_amps: np.ndarray

    def peak_v(self, capacitor: str) -> np.ndarray:
        """The largest volts (samples,) across a capacitor, either way round."""
        return np.abs(self.volts[capacitor]).max(axis=0)

    def peak_a(self, name: str) -> np.ndarray:
        """The largest current (samples,) through a rectifier or choke, either way."""
        return np.abs(self.amps[name]).max(axis=0)

    @property
    def mains_peak_a(self) -> np.ndarray:
        """The largest current (samples,) that all transformers together take from the mains."""
        return np.abs(self.mains_amps).max(axis=0)

    def square_seconds(self, name: str) -> np.ndarray:
        """Ampere squared seconds (samples,) through a rectifier or choke over the whole time."""
        return (self.amps[name] ** 2).sum(axis=0) * (self.times_s[1] - self.times_s[0])


def switch_on(
    circuit: Circuit,
    seconds: float,
    *,
    angle_rad: Value = 0.0,
    start: Mapping[str, Value] | None = None,
    points: int = POINTS,
) -> SwitchOn:
    """The first `seconds` after the mains comes on at `angle_rad` of its sine.

    Capacitors hold the volts `start` by name, 0 where missing. Several angles make several samples. Raises KeyError
    when a name of `start` is no capacitor of the circuit, ValueError when values disagree on the number of samples.
    """
    net = network(circuit)
    angles = np.atleast_1d(np.asarray(angle_rad, dtype=float))
    if angles.size > 1 and net.samples == 1:
        net = net.take(np.zeros(angles.size, dtype=int))
    if angles.size not in (1, net.samples):
        raise ValueError(f"{angles.size} angles for {net.samples} samples")
    step_s = 1.0 / (points * net.mains_hz)
    stepper = _Stepper(net, step_s)
    memory = stepper.begin(start or {})
    times = step_s * np.arange(round(seconds / step_s) + 1)
    phase = 2.0 * np.pi * net.mains_hz * times[:, None] + angles
    held = np.empty((times.size, *memory.now.shape))
    ports = np.zeros((times.size, *memory.amps.shape))
    mains = np.zeros((times.size, net.samples))
    held[0] = memory.now
    with np.errstate(all="ignore"):
        for k in range(1, times.size):
            memory = stepper.step(memory, np.sin(phase[k]))
            held[k], ports[k], mains[k] = memory.now, memory.amps, memory.mains_amps
    amps = {name: held[:, place] for name, place in stepper.chokes.items()}
    cold = np.zeros_like(mains)
    amps |= {name: ports[:, place] if place >= 0 else cold for name, place in stepper.rectifiers.items()}
    return SwitchOn(times, {name: held[:, place] for name, place in stepper.capacitors.items()}, amps, mains)


@dataclass(frozen=True, eq=False)
class _Memory:
    """Volts of capacitors and amperes of chokes and coils, now and a step before; what devices and mains carry now.

    `gas` is the devices, regulators burning or dark.
    """

    now: np.ndarray
    before: np.ndarray
    amps: np.ndarray
    mains_amps: np.ndarray
    gas: tuple[Group, ...]


class _Stepper:
    """The matrices of one network at one length of step; samples are last in columns, first in matrices.

    `capacitors` and `chokes` are places among what is remembered, `rectifiers` among the ports (-1: cold, no port).
    """

    def __init__(self, net: Network, step_s: float) -> None:
        farad = net.linear.c.copy()
        farad[list(net.leaks)] += STRAY_FARAD
        net = replace(net, linear=replace(net.linear, c=farad))
        self.net, self.step_s = net, step_s
        system = System(net)
        capacitive = np.flatnonzero((net.linear.c > 0).any(axis=1))
        chokes = np.flatnonzero(np.isfinite(net.linear.r).any(axis=1))
        coils = np.arange(net.first_coil, net.first_valve)
        self._capacitive, self._branches = capacitive, np.concatenate([capacitive, chokes, coils])
        places = {int(branch): place for place, branch in enumerate(self._branches)}
        named = {name: branch for name, branch in net.linear_names.items() if branch in places}
        self.chokes = {name: places[branch] for name, branch in named.items() if branch in chokes}
        self.capacitors = {name: places[branch] for name, branch in named.items() if branch not in chokes}
        self._live = np.array(_live_rectifiers(net), dtype=int)
        self.rectifiers = {
            name: int(np.searchsorted(self._live, k)) if k in self._live else -1
            for k, name in enumerate(net.rectifier_names)
        }
        self._devices = np.array(_live_devices(net), dtype=int)
        device_branches = net.first_valve + 3 * self._devices[:, None] + np.arange(3)
        ports = np.concatenate([net.first_rectifier + self._live, device_branches.ravel()]).astype(int)
        self._lay_out(system, ports)
        self._remember(chokes)

    def _lay_out(self, system: System, ports: np.ndarray) -> None:
        """What mains, memory and port currents make of the volts across memory, ports and primaries."""
        net = self.net
        none = np.zeros((len(net.device_names), 3, 3, net.samples))
        closed = np.zeros((system.rectifier_count, system.rectifier_count, net.samples))
        store = system.ac_store(np.array([1.5 / self.step_s], dtype=complex), net.linear, none, closed).real
        primaries = np.eye(system.nodes)[:, [emf.node for emf in net.emfs]]
        ends = np.concatenate([primaries, system.incidence[:, self._branches], system.incidence[:, ports]], axis=1)
        sides = np.repeat(ends[:, :, None], net.samples, axis=2)
        seen = system.plan.factor(np.ascontiguousarray(store)).solve(sides)
        self._seen = np.einsum("no,nis->soi", ends, seen)
        self._mains, self._held = len(net.emfs), len(net.emfs) + self._branches.size
        self._emf_volts = np.array([emf.volts for emf in net.emfs]).reshape(self._mains, net.samples)
        self._emf_ohm = np.array([emf.ohm for emf in net.emfs]).reshape(self._mains, net.samples)
        self._between = self._seen[:, self._held :, self._held :]
        live = self._live.size
        self._own = np.zeros((ports.size, net.samples))
        if live:
            shorted = np.linalg.pinv(self._between[:, :live, :live])
            self._own[:live] = 1.0 / np.diagonal(shorted, axis1=1, axis2=2).T
        self._one = np.eye(ports.size)
        self._others = self._between - self._one * self._own.T[:, :, None]
        self._groups = tuple(self._part(group) for group in net.rectifiers if np.isin(group.members, self._live).any())

    def _part(self, group: Group) -> Group:
        """The live rectifiers of a group, by their place among the ports."""
        live = np.isin(group.members, self._live)
        constants = {key: value[live] for key, value in group.constants.items()}
        places = np.searchsorted(self._live, group.members[live])
        return Group(group.form, places, constants, group.emission[live])

    def _remember(self, chokes: np.ndarray) -> None:
        """How a remembered branch's source follows from its last two values, and its next value from volts."""
        net, h, samples = self.net, self.step_s, self.net.samples
        farad, choke = net.linear.c[self._capacitive], net.linear.take(np.arange(samples)).rows(list(chokes))
        siemens = 1.0 / (choke.r + 1.5 * choke.l / h)
        count, held = self._capacitive.size, self._branches.size
        self._weight = np.concatenate(
            [-farad / (2.0 * h), siemens * choke.l / (2.0 * h), np.full((net.coil_count, samples), 1.0 / 3.0)]
        )
        self._gain = np.zeros((samples, held, held))
        self._gain[:, range(count), range(count)] = 1.0
        inner = range(count, count + chokes.size)
        self._gain[:, inner, inner] = siemens.T
        for coils in net.coils:
            here = slice(count + chokes.size + coils.first - net.first_coil, None)
            here = slice(here.start, here.start + coils.count)
            self._gain[:, here, here] = np.moveaxis(coils.inverse_henry, -1, 0) * (2.0 * h / 3.0)
        self._kept = np.concatenate([np.zeros((count, 1)), np.ones((held - count, 1))])

    def begin(self, start: Mapping[str, Value]) -> _Memory:
        """Capacitors at their volts, nothing flowing."""
        unknown = sorted(set(start) - set(self.capacitors))
        if unknown:
            known = ", ".join(self.capacitors) or "none"
            raise KeyError(f"the circuit has no capacitor {unknown[0]!r}; it has {known}")
        now, ports = np.zeros((self._branches.size, self.net.samples)), self._between.shape[1]
        for name, volts in start.items():
            now[self.capacitors[name]] = volts
        none = np.zeros((ports, self.net.samples))
        return _Memory(now, now, none, np.zeros(self.net.samples), self.net.valves)

    def step(self, memory: _Memory, sine: np.ndarray) -> _Memory:
        """The memory one step later, the mains at `sine` of its peak."""
        source = self._weight * (4.0 * memory.now - memory.before)
        given = np.concatenate([sine * self._emf_volts / self._emf_ohm, -source])
        open_v = _times(self._seen[:, :, : self._held], given)
        amps, gas = self._ports(memory, open_v[self._held :])
        volts = open_v[: self._held] - _times(self._seen[:, : self._held, self._held :], amps)
        primary_a = ((sine * self._emf_volts - volts[: self._mains]) / self._emf_ohm).sum(axis=0)
        now = _times(self._gain, volts[self._mains :]) + self._kept * source
        return _Memory(now, memory.now, amps, primary_a, gas)

    def _ports(self, memory: _Memory, open_v: np.ndarray) -> tuple[np.ndarray, tuple[Group, ...]]:
        """The currents of the ports, and the devices with what has struck by now."""
        gas, rectifiers = memory.gas, self._live.size
        if not len(open_v) or (rectifiers == len(open_v) and (open_v < -BLOCKED_V).all()):
            return np.zeros_like(open_v), gas
        across, amps = self._solved(open_v - _times(self._others, memory.amps), open_v, gas)
        if self._devices.size:
            anode_v = np.zeros((len(self.net.device_names), self.net.samples))
            anode_v[self._devices] = across[rectifiers::3]
            burning = struck(gas, anode_v)
            if burning is not None:
                gas = burning
                _, amps = self._solved(across, open_v, gas)
        return amps, gas

    def _solved(self, across: np.ndarray, open_v: np.ndarray, gas: tuple[Group, ...]) -> tuple[np.ndarray, np.ndarray]:
        """Newton's method on the ports' volts: across = open volts less what all currents take away; NaN if it fails.

        A rectifier's volts have its current times its own ohms added (the ohms seen while all others conduct): its
        current is then a function whose slope is bounded, as in `ring.py`.
        """
        left = np.ones(self.net.samples, dtype=bool)
        for _ in range(PASSES):
            amps, slope = self._laws(across, gas)
            miss = across - open_v + _times(self._others, amps)
            left = ~(np.abs(miss).max(axis=0) <= TOLERANCE_V)
            if not left.any():
                return across, amps
            step = solve_each(self._one + self._others @ slope, miss.T[:, :, None])[:, :, 0].T
            across = across - step
        amps, _ = self._laws(across, gas)
        return np.where(left, np.nan, across), np.where(left, np.nan, amps)

    def _laws(self, across: np.ndarray, gas: tuple[Group, ...]) -> tuple[np.ndarray, np.ndarray]:
        """Currents of the ports (ports, samples) and conductances (samples, ports, ports)."""
        net, rectifiers = self.net, self._live.size
        amps, slope = np.zeros_like(across), np.zeros((net.samples, len(across), len(across)))
        for group in self._groups:
            here = group.members
            law = DIODE_FORMS[group.form]
            amps[here], found = law(across[here], self._own[here], group.emission, group.constants)
            slope[:, here, here] = found.T
        if self._devices.size:
            volts = np.zeros((len(net.device_names), 3, net.samples))
            volts[self._devices] = across[rectifiers:].reshape(-1, 3, net.samples)
            flow, siemens = valve_currents(net, gas, volts)
            amps[rectifiers:] = flow[self._devices].reshape(-1, net.samples)
            for k, device in enumerate(self._devices):
                here = slice(rectifiers + 3 * k, rectifiers + 3 * k + 3)
                slope[:, here, here] = np.moveaxis(siemens[device], -1, 0)
        return amps, slope


def _times(matrix: np.ndarray, columns: np.ndarray) -> np.ndarray:
    """Each sample's matrix (samples, o, i) times its column of (i, samples)."""
    return (matrix @ columns.T[:, :, None])[:, :, 0].T


def _live_rectifiers(net: Network) -> list[int]:
    return sorted(int(m) for g in net.rectifiers for m, on in zip(g.members, g.emission, strict=True) if (on > 0).any())


def _live_devices(net: Network) -> list[int]:
    """Devices that may carry current: not a cold valve; a gas regulator may strike."""
    return sorted(
        int(member)
        for group in net.valves
        for member, on in zip(group.members, group.emission, strict=True)
        if group.form not in VALVE_FORMS or (on > 0).any()
    )
