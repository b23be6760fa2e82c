"""What a steady state reads: volts between nodes, currents, dissipation; samples first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from benchtui.circuit.ac import AcCircuit, exact_symbol, linearised_at
from benchtui.circuit.dc import Border, Case, valve_currents
from benchtui.circuit.elements import Circuit
from benchtui.circuit.flows import heat, mean_amps, phasor_amps
from benchtui.circuit.paths import parts_of
from benchtui.circuit.rectify import Wave
from benchtui.circuit.system import System, between

AT_STOP = 1e-5
"""Share of its track within which a trimmed pot counts as turned to its stop."""


@dataclass(frozen=True, eq=False)
class ValvePoint:
    """One valve section: currents in A, volts to the cathode, dissipation in W; each of shape (samples,)."""

    anode_a: np.ndarray
    screen_a: np.ndarray
    grid_a: np.ndarray
    anode_v: np.ndarray
    screen_v: np.ndarray
    grid_v: np.ndarray

    @property
    def anode_w(self) -> np.ndarray:
        return self.anode_a * self.anode_v

    @property
    def screen_w(self) -> np.ndarray:
        return self.screen_a * self.screen_v

    @property
    def heat_w(self) -> np.ndarray:
        """All that the section's currents turn into heat."""
        return self.anode_w + self.screen_w + self.grid_a * self.grid_v

    @property
    def cathode_a(self) -> np.ndarray:
        return self.anode_a + self.screen_a + self.grid_a


@dataclass(frozen=True, eq=False)
class Operating:
    """A circuit in its periodic steady state. Readings of a sample that did not settle are NaN."""

    circuit: Circuit
    system: System
    case: Case
    dc_volts: np.ndarray
    wave: Wave | None
    settled: np.ndarray
    last_step: np.ndarray
    border: Border | None
    positions: np.ndarray

    @property
    def samples(self) -> int:
        return self.system.network.samples

    def take(self, samples: np.ndarray) -> Operating:
        """The same for some samples; the circuit stays that of all."""
        return replace(
            self,
            system=self.system.take(samples),
            case=self.case.take(samples),
            dc_volts=self.dc_volts[:, samples],
            wave=None if self.wave is None else self.wave.take(samples),
            settled=self.settled[samples],
            last_step=self.last_step[:, samples],
            border=None if self.border is None else self.border.take(samples),
            positions=self.positions[:, samples],
        )

    @cached_property
    def floating(self) -> frozenset[str]:
        """Nodes without a DC path to chassis in every sample: their DC readings to chassis are NaN."""
        net = self.system.network
        loose = (self._dc_parts[:-1] != self._dc_parts[-1]).all(axis=1)
        return frozenset(name for name, k in net.nodes.items() if loose[k] and k not in net.hidden)

    @property
    def blame(self) -> tuple[str | None, ...]:
        """For each sample None when it settled, else the node whose volts moved most at the last step."""
        net = self.system.network
        nodes = [(name, number) for name, number in net.nodes.items() if number not in net.hidden]
        moved = np.abs(np.nan_to_num(self.last_step[[k for _, k in nodes]], nan=np.inf, posinf=np.inf))
        return tuple(None if ok else nodes[int(moved[:, k].argmax())][0] for k, ok in enumerate(self.settled))

    @property
    def pots(self) -> dict[str, np.ndarray]:
        """Position of every pot (samples,): trimmed where asked, else as the circuit has it."""
        found = {name: np.array(track.position) for name, track in self.system.network.tracks.items()}
        trimmed = () if self.border is None else self.border.names
        return found | dict(zip(trimmed, self.positions, strict=True))

    @cached_property
    def untrimmed(self) -> dict[str, np.ndarray]:
        """For each trimmed pot, the samples (samples,) in which it stands at a stop short of its target."""
        if self.border is None:
            return {}
        at_stop = (self.positions < AT_STOP) | (self.positions > 1.0 - AT_STOP)
        return dict(zip(self.border.names, at_stop, strict=True))

    def dc(self, pos: str, neg: str) -> np.ndarray:
        """Mean volts (samples,) from `pos` to `neg`; NaN where no DC path joins them."""
        return self._shown(self.between(self.dc_volts, pos, neg), self._dc_parts, pos, neg)

    def ac_rms(self, pos: str, neg: str) -> np.ndarray:
        """Volts rms (samples,) of all that is not DC from `pos` to `neg`: mains frequency and harmonics."""
        power = (np.abs(self.between(self.phasors, pos, neg)) ** 2).sum(axis=0) / 2.0
        return self._shown(np.sqrt(power), self._ac_parts, pos, neg)

    def ac_pp(self, pos: str, neg: str) -> np.ndarray:
        """Volts peak to peak (samples,) of the same."""
        wave = waveform(self.between(self.phasors, pos, neg))
        return self._shown(np.ptp(wave, axis=0), self._ac_parts, pos, neg)

    def harmonic(self, pos: str, neg: str, number: int) -> np.ndarray:
        """Volts rms (samples,) at `number` times the mains frequency from `pos` to `neg`."""
        between = self.between(self.phasors, pos, neg)
        found = np.abs(between[number - 1]) / np.sqrt(2.0) if number <= len(between) else np.zeros(self.samples)
        return self._shown(found, self._ac_parts, pos, neg)

    def ripple_hz(self, pos: str, neg: str) -> np.ndarray:
        """Hz (samples,) of the strongest harmonic from `pos` to `neg`; NaN where there is none.

        The mains' own where one rectifier works alone or the halves differ much, twice the mains' from full wave.
        """
        strength = np.abs(self.between(self.phasors, pos, neg))
        hz = (1.0 + strength.argmax(axis=0)) * self.system.network.mains_hz
        return self._shown(np.where(strength.any(axis=0), hz, np.nan), self._ac_parts, pos, neg)

    def current(self, name: str) -> np.ndarray:
        """Mean A (samples,) through a part of two ends, first node to second (a winding: out of its first).

        Of a valve or regulator it is the anode's.
        """
        if name in self._rectifiers:
            return self._checked(self._rectifiers[name].mean(axis=0))
        if name in self.system.network.device_names:
            return self.valve(name).anode_a
        branch = self._branch(name)
        return self._checked(self._sign(branch) * mean_amps(self.system, self.case, self.dc_volts, branch))

    def rms(self, name: str) -> np.ndarray:
        """A rms (samples,) through a part, DC included: windings, rectifiers, fuses, chokes, capacitors."""
        if name in self._rectifiers:
            return self._checked(np.sqrt((self._rectifiers[name] ** 2).mean(axis=0)))
        alternating = (np.abs(self._phasor(self._branch(name))) ** 2).sum(axis=0) / 2.0
        return self._checked(np.sqrt(self.current(name) ** 2 + alternating))

    def peak(self, name: str) -> np.ndarray:
        """Largest A (samples,) through a part in either direction over the cycle."""
        if name in self._rectifiers:
            return self._checked(np.abs(self._rectifiers[name]).max(axis=0))
        branch = self._branch(name)
        return self._checked(
            np.abs(self.current(name) + self._sign(branch) * waveform(self._phasor(branch))).max(axis=0)
        )

    @property
    def mains_amps(self) -> np.ndarray:
        """A rms (samples,) that all transformers together take from the mains."""
        taken = sum((self._phasor(emf.branch) for emf in self.system.network.emfs), np.zeros((1, self.samples)))
        return self._checked(np.sqrt((np.abs(taken) ** 2).sum(axis=0) / 2.0))

    def power(self, name: str) -> np.ndarray:
        """Mean W (samples,) turned into heat in a resistor, choke, winding, rectifier, regulator or a pot's track."""
        net = self.system.network
        if name in net.device_names:
            return self.valve(name).heat_w
        if name in self._rectifiers:
            branch = net.first_rectifier + net.rectifier_names.index(name)
            amps = self._rectifiers[name]
            across = self.system.between_ends(self.phasors, branch)
            volts = self.system.between_ends(self.dc_volts, branch) + waveform(across, len(amps))
            return self._checked((volts * amps).mean(axis=0))
        track = net.tracks.get(name)
        branches = [self._branch(name)] if track is None else [track.to_wiper, track.from_wiper]
        if track is None and net.linear.c[branches[0]].any():
            return self._checked(np.zeros(self.samples))
        heats = [heat(self.system, self.case, self.dc_volts, self.phasors, branch) for branch in branches]
        return self._checked(sum(heats))

    def valve(self, name: str) -> ValvePoint:
        """Currents, volts and dissipation of a valve section or regulator; raises KeyError for an unknown name."""
        names = self.system.network.device_names
        if name not in names:
            raise KeyError(f"the circuit has no valve {name!r}; it has {', '.join(names) or 'none'}")
        volts, amps = self._valve_points
        number = names.index(name)
        checked = [self._checked(each) for each in (*amps[number], *volts[number])]
        return ValvePoint(*checked)

    def capacitor_volts(self) -> dict[str, np.ndarray]:
        """Mean volts (samples,) on every capacitor by name."""
        net = self.system.network
        return {
            name: self._checked(self.system.between_ends(self.dc_volts, branch))
            for name, branch in net.linear_names.items()
            if (net.linear.c[branch] > 0).any()
        }

    @cached_property
    def phasors(self) -> np.ndarray:
        """Node volts at the harmonics of the mains, peak, sine convention: (harmonics, nodes, samples)."""
        net = self.system.network
        if self.wave is None:
            amps, harmonics = np.zeros((0, 1, self.samples), dtype=complex), 1
        else:
            harmonics = self.wave.amps.shape[-1] // 2
            amps = np.moveaxis(np.fft.rfft(self.wave.amps)[..., 1:], 0, -1) * 2j / self.wave.amps.shape[-1]
            amps[:, -1] /= 2.0
        with np.errstate(all="ignore"):
            return np.moveaxis(self.ac.volts(exact_symbol(harmonics, net.mains_hz), amps), 1, 0)

    @cached_property
    def ac(self) -> AcCircuit:
        """The circuit linearised at the operating point, rectifiers open."""
        return linearised_at(self.system, self.case, self.dc_volts)

    @property
    def valve_volts(self) -> np.ndarray:
        """Mean volts of anode, screen and grid to the cathode (devices, 3, samples)."""
        return self.system.device_volts(self.dc_volts)

    @cached_property
    def _valve_points(self) -> tuple[np.ndarray, np.ndarray]:
        volts = self.valve_volts
        return volts, valve_currents(self.system.network, self.case.valves, volts)[0]

    @cached_property
    def _dc_parts(self) -> np.ndarray:
        return parts_of(self.system, self.case.linear)

    @cached_property
    def _ac_parts(self) -> np.ndarray:
        return parts_of(self.system, self.case.linear, capacitors=True)

    def _checked(self, values: np.ndarray) -> np.ndarray:
        return np.where(self.settled, values, np.nan)

    def _shown(self, values: np.ndarray, parts: np.ndarray, pos: str, neg: str) -> np.ndarray:
        net = self.system.network
        return self._checked(np.where(parts[net.index(pos)] == parts[net.index(neg)], values, np.nan))

    def between(self, volts: np.ndarray, pos: str, neg: str) -> np.ndarray:
        """Difference of node volts (..., nodes, samples) between two nodes by name."""
        net = self.system.network
        return between(volts, net.index(pos), net.index(neg))

    def _branch(self, name: str) -> int:
        names = self.system.network.linear_names
        if name not in names:
            raise KeyError(f"the circuit has no part {name!r} of two ends; it has {', '.join(sorted(names))}")
        return names[name]

    def _sign(self, branch: int) -> float:
        """A winding's current counts out of its first node, any other part's into it."""
        return -1.0 if any(turns.branch == branch for turns in self.system.network.turns) else 1.0

    def _phasor(self, branch: int) -> np.ndarray:
        return phasor_amps(self.system, self.case, self.phasors, branch)

    @cached_property
    def _rectifiers(self) -> dict[str, np.ndarray]:
        """Current of every rectifier over the cycle (points, samples)."""
        names = self.system.network.rectifier_names
        return {name: self.wave.amps[:, number].T for number, name in enumerate(names)} if names else {}


def waveform(phasors: np.ndarray, points: int = 192) -> np.ndarray:
    """The AC part over one mains cycle (points, ...) from peak phasors of sine (harmonics, ...)."""
    count = min(len(phasors), points // 2)
    spectrum = np.zeros((points // 2 + 1, *phasors.shape[1:]), dtype=complex)
    spectrum[1 : count + 1] = phasors[:count] * points / 2j
    return np.fft.irfft(spectrum, points, axis=0)
