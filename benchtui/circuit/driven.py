"""The periodic steady state under a sine at a source: what distorts, clips, sags and shifts, and how hot it gets.

One cycle of the signal is solved by harmonic balance, the rectifiers following the law of their mean current; with the
mean load that comes of it their wave is solved anew, and so on until both agree. So HT sags as the load grows, bias
shifts by grid current into coupling capacitors, and so do cathodes that bias themselves. Ripple and what it makes
together with the signal are left out: hum is for the state without a signal.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from benchtui.circuit import balance
from benchtui.circuit.ac import two_step_symbol
from benchtui.circuit.balance import Balance, coefficients
from benchtui.circuit.branches import Group
from benchtui.circuit.dc import Case, linearise, open_ports, valve_currents
from benchtui.circuit.operate import AGREED, AGREED_A, FEW_SAMPLES, TIGHT
from benchtui.circuit.operating import Operating
from benchtui.circuit.rectify import Wave, currents
from benchtui.circuit.ring import Seen
from benchtui.circuit.signal import Source, audio, drive_of
from benchtui.circuit.system import between

FINE_HARMONICS, COARSE_HARMONICS = 16, 8
"""Of the signal, for few samples and for many; four points of time for each."""

ROUNDS = 8
GENTLER = (0.4, 0.6, 0.8, 0.9, 1.0)
"""Shares of a drive by which a sample that did not settle is brought up to it."""


@dataclass(frozen=True, eq=False)
class DrivenValve:
    """One valve section under drive, each (samples,): W of anode and screen, mean and largest A of the cathode, mean A
    of the grid, its largest volts to the cathode and the anode's lowest."""

    anode_w: np.ndarray
    screen_w: np.ndarray
    cathode_a: np.ndarray
    cathode_peak_a: np.ndarray
    grid_a: np.ndarray
    grid_crest_v: np.ndarray
    anode_least_v: np.ndarray


class Drive:
    """What a sine of `hz` at a source meets in a solved circuit; `at` drives it."""

    def __init__(
        self, operating: Operating, source: Source, hz: float = 1000.0, *, harmonics: int | None = None
    ) -> None:
        """Raises KeyError where the circuit was solved without the source."""
        few = operating.samples <= FEW_SAMPLES
        self.operating, self.source, self.hz = operating, source, hz
        self.harmonics = harmonics or (FINE_HARMONICS if few else COARSE_HARMONICS)
        system, net = operating.system, operating.system.network
        ends, self._siemens = drive_of(operating, source)
        branches = np.arange(net.first_valve, net.first_rectifier)
        branches = branches[system.tail[branches] != system.head[branches]]
        self.places = np.stack(np.divmod(branches - net.first_valve, 3), axis=1)
        self.ends = system.incidence[:, branches]
        s = 2j * np.pi * hz * np.arange(1, self.harmonics + 1)
        with np.errstate(all="ignore"):
            self._answers = audio(operating).answers(s, np.concatenate([self.ends, ends], axis=1))
        self._rest_v = system.device_volts(operating.dc_volts)
        self._rest_a, self._rest_siemens = valve_currents(net, operating.case.valves, self._rest_v)

    def at(self, emf_v: np.ndarray | float, start: Driven | None = None) -> Driven:
        """The steady state with `emf_v` volts rms of the source's EMF, a float or (samples,); `start` is a neighbour.

        Samples that do not settle are tried again from less drive; what still fails is NaN in all that is read.
        """
        emf_v = np.broadcast_to(np.asarray(emf_v, dtype=float), (self.operating.samples,))
        with np.errstate(all="ignore"):
            found = self._settle(emf_v, self._silent() if start is None else start)
            if found.lost.any():
                found = self._gently(emf_v, found)
        return found

    def linear_volts(self) -> np.ndarray:
        """Complex peak volts of the devices' branches for 1 V peak of the EMF, were all linear (samples, p)."""
        return self._seen[:, :, -1, 0] * self._siemens[:, None]

    def rest_volts(self) -> np.ndarray:
        """Mean volts of the devices' branches without a signal (samples, p)."""
        return self._rest_v[self.places[:, 0], self.places[:, 1]].T

    def _silent(self) -> Driven:
        operating = self.operating
        none = np.zeros((operating.samples, len(self.places), 1 + 2 * self.harmonics))
        rest = operating.dc_volts
        return Driven(self, np.zeros(operating.samples), none, rest, operating.case, operating.wave, operating.settled)

    def _gently(self, emf_v: np.ndarray, found: Driven) -> Driven:
        """Once more from silence, all samples in steps; those that had settled stay as they were."""
        again = self._silent()
        for share in GENTLER:
            again = self._settle(share * emf_v, again)
        return found.with_samples(found.lost & ~again.lost, again)

    def _settle(self, emf_v: np.ndarray, state: Driven) -> Driven:
        """Rounds of balance and rectifiers until both agree."""
        for _ in range(ROUNDS):
            state = self._balanced(emf_v, state)
            if not self.operating.system.rectifier_count:
                return state
            state, agreed = self._supplied(state)
            if (agreed | ~state.settled).all():
                break
        return replace(state, settled=state.settled & agreed)

    def _balanced(self, emf_v: np.ndarray, state: Driven) -> Driven:
        """The signal's cycle with the rectifiers' last law."""
        operating, samples = self.operating, self.operating.samples
        at = linearise(operating.system, state.case, operating.dc_volts)
        rhs = np.concatenate([-at.residual[:, None], np.repeat(self.ends[..., None], samples, axis=2)], axis=1)
        at.factors.solve(rhs)
        mean = np.einsum("np,ncs->spc", self.ends, rhs)
        whole = self._whole()
        open_v = coefficients(
            (self.ends.T @ operating.dc_volts).T + mean[..., 0], self._seen[:, :, -1] * self._amps(emf_v)[:, None]
        )
        part = replace(whole, dc_ohms=mean[..., 1:])
        amps, settled = balance.solve(part, open_v, state.amps)
        mean_v = operating.dc_volts + rhs[:, 0] - np.einsum("nps,sp->ns", rhs[:, 1:], amps[..., 0])
        return replace(state, emf_v=emf_v, amps=amps, mean_v=mean_v, settled=operating.settled & settled)

    def _amps(self, emf_v: np.ndarray) -> np.ndarray:
        """What the source alone drives at each harmonic (samples, harmonics): a sine has one."""
        found = np.zeros((emf_v.size, self.harmonics))
        found[:, 0] = np.sqrt(2.0) * emf_v * self._siemens
        return found

    @cached_property
    def _seen(self) -> np.ndarray:
        """Volts of the devices' branches for 1 A at each of them and at the source (samples, p, p + 1, harmonics)."""
        return np.einsum("np,nqks->spqk", self.ends, self._answers)

    def _whole(self) -> Balance:
        ohms = self._seen[:, :, :-1]
        none = np.zeros(ohms.shape[:3])
        devices = len(self.operating.system.network.device_names)
        return Balance(none, ohms, self.places, devices, self._excess, 4 * self.harmonics)

    def _excess(self, volts: np.ndarray, samples: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The devices' currents and conductances less those of rest."""
        amps, siemens = self.laws(volts, samples)
        rest, slope = self._rest_v[..., samples, None], self._rest_siemens[..., samples, None]
        away = volts - rest
        amps -= self._rest_a[..., samples, None] + np.einsum("dijsn,djsn->disn", slope + np.zeros_like(siemens), away)
        return amps, siemens - slope

    def laws(self, volts: np.ndarray, samples: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Currents and conductances of the devices at volts (devices, 3, some samples, points)."""
        shape = volts.shape
        columns = np.repeat(samples, shape[-1])
        groups = self._groups(columns)
        amps, siemens = valve_currents(self.operating.system.network, groups, volts.reshape(*shape[:2], -1))
        return amps.reshape(shape), siemens.reshape(shape[0], 3, *shape[1:])

    def _groups(self, columns: np.ndarray) -> tuple[Group, ...]:
        return tuple(group.take(columns) for group in self.operating.case.valves)

    def _supplied(self, state: Driven) -> tuple[Driven, np.ndarray]:
        """The rectifiers' wave with the mean load of the signal, and whether it is the one that the signal met."""
        operating, net = self.operating, self.operating.system.network
        open_v, ohms, ends, seen, mains_v = self._supply
        load = np.einsum("spq,sq->sp", ohms[:, :, : len(self.places)], state.amps[..., 0])
        dc = ohms[:, :, len(self.places) :, None].astype(complex)
        points = operating.wave.amps.shape[-1]
        meets = Seen(np.concatenate([dc, seen], axis=-1), open_v - load, mains_v, points)
        wave = currents(net, meets, state.wave.w, TIGHT)
        ports = wave.ports()
        before, _ = state.case.ports.at(ends.T @ state.mean_v)
        agreed = (np.abs(ports.amps - before) <= AGREED * np.abs(ports.amps) + AGREED_A).all(axis=0)
        state = replace(state, settled=state.settled & wave.settled)
        return replace(state, wave=wave, case=replace(state.case, ports=ports)), agreed & wave.settled

    @cached_property
    def _supply(self) -> tuple[np.ndarray, ...]:
        """What rectifiers meet: open mean volts, ohms of devices' branches and of their own, ends; at the mains."""
        operating, system, net = self.operating, self.operating.system, self.operating.system.network
        ends = system.incidence[:, net.first_rectifier : net.first_rectifier + system.rectifier_count]
        at = linearise(system, replace(operating.case, ports=open_ports(net)), operating.dc_volts)
        sides = np.concatenate([self.ends, ends], axis=1)
        rhs = np.concatenate([-at.residual[:, None], np.repeat(sides[..., None], operating.samples, axis=2)], axis=1)
        at.factors.solve(rhs)
        across = np.einsum("np,nqs->spq", ends, rhs)
        symbol = two_step_symbol(operating.wave.amps.shape[-1], net.mains_hz)
        seen, mains_v = operating.ac.seen_from_rectifiers(symbol)
        return (ends.T @ operating.dc_volts).T + across[:, :, 0], across[:, :, 1:], ends, seen, mains_v


@dataclass(frozen=True, eq=False)
class Driven:
    """A circuit under a sine of `emf_v` volts rms (samples,) at its source. What did not settle reads NaN.

    `amps` are the excess currents of the devices' branches, `mean_v` the mean node volts (nodes, samples).
    """

    drive: Drive
    emf_v: np.ndarray
    amps: np.ndarray
    mean_v: np.ndarray
    case: Case
    wave: Wave | None
    settled: np.ndarray

    @property
    def lost(self) -> np.ndarray:
        """Samples that have a state without a signal and none under this one."""
        return self.drive.operating.settled & ~self.settled

    def with_samples(self, which: np.ndarray, part: Driven) -> Driven:
        """The same with the chosen samples (samples,) of another."""
        chosen = np.flatnonzero(which)
        if not chosen.size:
            return self

        def mixed(ours: np.ndarray, theirs: np.ndarray, *, last: bool) -> np.ndarray:
            return np.where(which if last else which.reshape(-1, *[1] * (ours.ndim - 1)), theirs, ours)

        ports = self.case.ports.with_columns(chosen, part.case.ports.take(chosen))
        return Driven(
            self.drive,
            mixed(self.emf_v, part.emf_v, last=True),
            mixed(self.amps, part.amps, last=False),
            mixed(self.mean_v, part.mean_v, last=True),
            replace(self.case, ports=ports),
            None if self.wave is None else self.wave.with_samples(chosen, part.wave.take(chosen)),
            mixed(self.settled, part.settled, last=True),
        )

    def dc(self, pos: str, neg: str) -> np.ndarray:
        """Mean volts (samples,) between two nodes."""
        return self._checked(self.drive.operating.between(self.mean_v, pos, neg))

    def phasors(self, pos: str, neg: str) -> np.ndarray:
        """Peak phasors (samples, harmonics) of the signal between two nodes, the EMF a cosine of angle 0."""
        net = self.drive.operating.system.network
        answers = between(np.moveaxis(self.drive._answers, 0, -2), net.index(pos), net.index(neg))
        pushed = np.einsum("qks,sqk->sk", answers[:-1], balance.phasors(self.amps))
        found = answers[-1].T * self.drive._amps(self.emf_v) - pushed
        return np.where(self.settled[:, None], found, np.nan)

    def rms(self, pos: str, neg: str) -> np.ndarray:
        """Volts rms (samples,) of the signal with its harmonics, without the mean."""
        return np.sqrt((np.abs(self.phasors(pos, neg)) ** 2).sum(axis=1) / 2.0)

    def harmonics(self, pos: str, neg: str) -> np.ndarray:
        """Each harmonic as a share of the first (samples, harmonics)."""
        size = np.abs(self.phasors(pos, neg))
        with np.errstate(all="ignore"):
            return size / size[:, :1]

    def thd(self, pos: str, neg: str) -> np.ndarray:
        """Harmonics 2 and up together, rms, as a share of the first (samples,)."""
        return np.sqrt((self.harmonics(pos, neg)[:, 1:] ** 2).sum(axis=1))

    def wave_of(self, pos: str, neg: str, points: int = 128) -> np.ndarray:
        """One cycle of the signal between two nodes (samples, points), without the mean."""
        found = self.phasors(pos, neg)
        return coefficients(np.zeros(len(found)), found) @ balance.to_time(found.shape[1], points).T

    def valve(self, name: str) -> DrivenValve:
        """Dissipation and currents of a valve section; raises KeyError for an unknown name."""
        names = self.drive.operating.system.network.device_names
        if name not in names:
            raise KeyError(f"the circuit has no valve {name!r}; it has {', '.join(names) or 'none'}")
        volts, amps = (each[names.index(name)] for each in self._valve_waves)
        cathode = amps.sum(axis=0)
        heat = (volts * amps).mean(axis=-1)
        found = heat[0], heat[1], cathode.mean(axis=-1), cathode.max(axis=-1), amps[2].mean(axis=-1)
        crests = volts[2].max(axis=-1), volts[0].min(axis=-1)
        return DrivenValve(*(self._checked(each) for each in (*found, *crests)))

    @property
    def supply(self) -> Operating:
        """The mains' side under this load: rms of windings, rectifiers and fuses; not its valves or volts of signal."""
        return replace(self.drive.operating, case=self.case, dc_volts=self.mean_v, wave=self.wave, settled=self.settled)

    @cached_property
    def _valve_waves(self) -> tuple[np.ndarray, np.ndarray]:
        """Volts and amperes of all devices over the cycle (devices, 3, samples, points)."""
        drive = self.drive
        points, samples = 4 * drive.harmonics, np.arange(len(self.emf_v))
        drop = np.einsum("spqk,sqk->spk", drive._seen[:, :, :-1], balance.phasors(self.amps))
        across = drive._seen[:, :, -1] * drive._amps(self.emf_v)[:, None] - drop
        wave = coefficients((drive.ends.T @ self.mean_v).T, across) @ balance.to_time(drive.harmonics, points).T
        volts = np.zeros((drive._rest_v.shape[0], 3, samples.size, points))
        volts[drive.places[:, 0], drive.places[:, 1]] = np.moveaxis(wave, 1, 0)
        return volts, drive.laws(volts, samples)[0]

    def _checked(self, values: np.ndarray) -> np.ndarray:
        return np.where(self.settled, values, np.nan)
