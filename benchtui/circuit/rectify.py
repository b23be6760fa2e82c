"""The currents of all rectifiers over one mains cycle in the steady state.

Every rectifier is a port of the circuit. With u the volts across it, u_p = open_p - sum_q Z_pq * i_q, where * is the
cyclic convolution over the cycle and Z the ohms seen from the ports; Z at harmonic k comes from the AC circuit with j w
replaced by the symbol of the two-step backward difference, so this *is* implicit time stepping closed into a ring, for
any topology: full and half wave, bridge, doubler, capacitor or choke input, several of them on one transformer.

The unknown is w = u + R i, where R is the resistance the rectifier sees at once (within one time step) while the others
conduct: i is then a function of w whose slope never exceeds 1 / R, and Newton's method is tame. A time point where the
rectifier blocks has slope zero, so its step follows from the others: only conducting points enter the linear system,
gathered for each sample by itself.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from benchtui.circuit.dc import Ports, solve_each
from benchtui.circuit.devices import DIODE_FORMS
from benchtui.circuit.network import Group, Network

PASSES = 60
SOFT_PASSES, SOFT_STEPS, SOFT_TOLERANCE, SOFT_END = 12, 60, 1e-2, 0.1
"""Of a step with added resistance: passes, how many steps, how well it is met, the share of the own one that ends it."""

BOLDEST, TIMID = 0.1, 0.98
"""The share of an added resistance that may be left after a step: the least, and where a sample is given up."""

CREST = 0.2
"""Share of the crest of its open volts above which a rectifier is taken to conduct at first."""

RUNAWAY_V = 1e9
"""A step of more than this is no step towards a solution."""

BLOCKED_V = 1.0
"""A rectifier with more than this across it backwards carries nothing worth counting."""

CONDUCTING = 1e-6
"""A time point conducts when its slope times the ohms seen exceeds this."""


@dataclass(frozen=True, eq=False)
class Seen:
    """The circuit as the rectifiers see it: ohms (samples, p, p, harmonics 0 to points / 2), open mean and mains volts."""

    ohms: np.ndarray
    open_mean_v: np.ndarray
    open_mains_v: np.ndarray
    points: int


@dataclass(frozen=True, eq=False)
class Wave:
    """Currents of the rectifiers (samples, p, points), w = u + R i of the same shape, and whether each sample settled."""

    amps: np.ndarray
    w: np.ndarray
    settled: np.ndarray
    mean_volts: np.ndarray
    mean_siemens: np.ndarray
    open_mains_v: np.ndarray

    def scaled_to(self, open_mains_v: np.ndarray) -> Wave:
        """The same wave on another mains: all volts and currents in proportion to each port's open volts."""
        with np.errstate(all="ignore"):
            share = np.abs(open_mains_v) / np.abs(self.open_mains_v)
        share = np.where(np.isfinite(share), share, 1.0)
        return replace(
            self, amps=self.amps * share[..., None], w=self.w * share[..., None],
            mean_volts=self.mean_volts * share, open_mains_v=open_mains_v,
        )

    def take(self, samples: np.ndarray) -> Wave:
        """The same for some samples, which may repeat."""
        return Wave(*(getattr(self, each.name)[samples] for each in fields(self)))

    def with_samples(self, samples: np.ndarray, part: Wave) -> Wave:
        """The wave with some samples replaced."""
        whole = {each.name: getattr(self, each.name).copy() for each in fields(self)}
        for name, values in whole.items():
            values[samples] = getattr(part, name)
        return Wave(**whole)

    def ports(self) -> Ports:
        """The mean currents' law for the DC circuit."""
        return Ports(self.amps.mean(axis=-1).T, self.mean_volts.T, np.moveaxis(self.mean_siemens, 0, -1))


@dataclass(frozen=True, eq=False)
class _Ring:
    """The equations of one call: w - open + K * i(w) = 0, with K the ohms seen less the resistance seen at once."""

    groups: tuple[Group, ...]
    series_ohm: np.ndarray
    spectrum: np.ndarray
    kernel: np.ndarray
    own_ohm: np.ndarray
    open_v: np.ndarray
    charged: np.ndarray
    """Where to begin from nothing: each rectifier held back so far that only the crest of its open volts passes."""

    def at(self, w: np.ndarray, samples: np.ndarray) -> _Point:
        """Currents, slopes and misses at w (some samples, p, points)."""
        amps, slope = np.zeros_like(w), np.zeros_like(w)
        for group in self.groups:
            part = w[:, group.members]
            near = part > -BLOCKED_V
            constants = {key: _at(value[:, samples], near) for key, value in group.constants.items()}
            emission = _at(group.emission[:, samples], near)
            series = _at(self.series_ohm[samples][:, group.members].T, near)
            found = np.zeros((2, *part.shape))
            found[:, near] = DIODE_FORMS[group.form](part[near], series, emission, constants)
            amps[:, group.members], slope[:, group.members] = found
        return _Point(w, amps, slope, w - self.open_v[samples] + _convolve(self.spectrum[samples], amps))


@dataclass(frozen=True, eq=False)
class _Point:
    """One iterate of some samples; each array (samples, p, points)."""

    w: np.ndarray
    amps: np.ndarray
    slope: np.ndarray
    miss: np.ndarray

    def take(self, samples: np.ndarray) -> _Point:
        """The iterate of some samples."""
        return _Point(self.w[samples], self.amps[samples], self.slope[samples], self.miss[samples])

    def put(self, samples: np.ndarray, part: _Point) -> None:
        """Overwrite some samples."""
        for name in ("w", "amps", "slope", "miss"):
            getattr(self, name)[samples] = getattr(part, name)


def _at(values: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Values (members, samples) at the chosen points of (samples, members, points)."""
    return np.broadcast_to(values.T[..., None], near.shape)[near]


def _at_once(kernel: np.ndarray, rank: int) -> np.ndarray:
    """The resistance each port sees within one step (samples, p): what it sees alone, and with each other conducting,
    in order of size; `rank` says which.

    The least can be next to nothing (a bridge across its reservoir), but keeps Newton honest behind a choke.
    """
    now = kernel[..., 0] - kernel.mean(axis=-1)
    count = now.shape[1]
    own = np.diagonal(now, axis1=1, axis2=2)
    seen = own[:, :, None] - now * np.swapaxes(now, 1, 2) / own[:, None, :]
    seen[:, np.arange(count), np.arange(count)] = own
    return np.clip(np.sort(seen, axis=2)[..., min(rank, count - 1)], 1e-3, np.maximum(own, 1e-3))


def _convolve(spectrum: np.ndarray, amps: np.ndarray) -> np.ndarray:
    return np.fft.irfft(np.einsum("spqk,sqk->spk", spectrum, np.fft.rfft(amps)), amps.shape[-1])


def currents(network: Network, seen: Seen, start: np.ndarray | None, tolerance: float) -> Wave:
    """The steady currents, from a start value of w (samples, p, points) or from the open circuit.

    `tolerance` is the share of its largest current by which a sample may still move.
    """
    ring, samples = _ring(network, seen, rank=1), np.arange(seen.ohms.shape[0])
    whole = ring.at(ring.charged.copy() if start is None else start.copy(), samples)
    settled = _iterate(ring, whole, samples, tolerance)
    lost = samples[~settled]
    if lost.size:
        firm = _ring(network, seen, rank=0)
        settled[lost] = _softened(firm, whole, lost, tolerance)
        part = whole.take(lost)
        whole.put(lost, ring.at(part.w + (ring.series_ohm - firm.series_ohm)[lost, :, None] * part.amps, lost))
    if not settled.all():
        failed = samples[~settled]
        whole.put(failed, ring.at(ring.charged[failed], failed))
    mean_volts = whole.w.mean(axis=-1) - ring.series_ohm * whole.amps.mean(axis=-1)
    siemens = _mean_siemens(ring, whole.slope)
    return Wave(whole.amps, whole.w, settled, mean_volts, siemens, seen.open_mains_v)


def _iterate(ring: _Ring, whole: _Point, samples: np.ndarray, tolerance: float, passes: int = PASSES) -> np.ndarray:
    """Newton on some samples of `whole`, each leaving when it settles or runs away; which of them settled."""
    settled = np.zeros(len(whole.w), dtype=bool)
    live = samples
    for _ in range(passes):
        now = whole.take(live)
        step, change = _newton(ring.spectrum[live], ring.kernel[live], now.slope, now.miss, ring.own_ohm[live])
        moved_v = np.abs(step).max(axis=(1, 2))
        sane = moved_v < RUNAWAY_V
        small = np.abs(change).max(axis=(1, 2)) < tolerance * (np.abs(now.amps).max(axis=(1, 2)) + 1e-9)
        small &= moved_v < tolerance * (np.abs(ring.open_v[live]).max(axis=(1, 2)) + 1e-3)
        live, now, step, small = live[sane], now.take(sane), step[sane], small[sane]
        whole.put(live, ring.at(now.w + step, live))
        settled[live[small]] = True
        live = live[~small]
        if not live.size:
            break
    return settled[samples]


def _softened(ring: _Ring, whole: _Point, samples: np.ndarray, tolerance: float) -> np.ndarray:
    """Newton with a resistance added to each rectifier, first the largest seen and from nothing, then ever less.

    Added inside the law and outside alike, it leaves K as it is: only the law's own resistance changes. Each sample goes
    by its own pace: less boldly after a failure, more so after a success.
    """
    added = ring.own_ohm.max(axis=1)
    share = np.full(added.shape, BOLDEST)
    least = SOFT_END * ring.series_ohm.min(axis=1)
    solid = _with_added(ring, added)
    whole.put(samples, solid.at(ring.charged[samples], samples))
    _iterate(solid, whole, samples, SOFT_TOLERANCE, SOFT_PASSES)
    left = samples
    for _ in range(SOFT_STEPS):
        before = whole.take(left)
        less = np.where(added > least, added * share, 0.0)
        softer = _with_added(ring, less)
        whole.put(left, softer.at(before.w + (less - added)[left, None, None] * before.amps, left))
        met = _iterate(softer, whole, left, SOFT_TOLERANCE, SOFT_PASSES)
        whole.put(left[~met], before.take(~met))
        share[left] = np.where(met, np.maximum(share[left] ** 2, BOLDEST), np.sqrt(share[left]))
        added[left[met]] = less[left[met]]
        left = left[(added[left] > 0) & (share[left] < TIMID)]
        if not left.size:
            break
    whole.put(samples, ring.at(whole.w[samples], samples))
    return _iterate(ring, whole, samples, tolerance) & (added[samples] == 0)


def _with_added(ring: _Ring, ohm: np.ndarray) -> _Ring:
    return replace(ring, series_ohm=ring.series_ohm + ohm[:, None])


def _ring(network: Network, seen: Seen, *, rank: int) -> _Ring:
    count, points = seen.ohms.shape[1], seen.points
    series = _at_once(np.fft.irfft(seen.ohms, points), rank)
    spectrum = seen.ohms - (series[:, :, None] * np.eye(count))[..., None]
    kernel = np.fft.irfft(spectrum, points)
    angle = 2.0 * np.pi * np.arange(points) / points
    crest = np.abs(seen.open_mains_v)[..., None]
    mains = np.imag(seen.open_mains_v[..., None] * np.exp(1j * angle))
    own = np.abs(np.diagonal(kernel[..., 0], axis1=1, axis2=2)) + series
    charged = mains + np.where(crest > 0, -(1.0 - CREST) * crest, seen.open_mean_v[..., None])
    return _Ring(network.rectifiers, series, spectrum, kernel, own, seen.open_mean_v[..., None] + mains, charged)


def _conducting(slope: np.ndarray, own: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places (samples, most) of conducting points in (p, points) laid flat, and which of them are real."""
    samples = slope.shape[0]
    flat = (slope * own[..., None] > CONDUCTING).reshape(samples, -1)
    most = max(int(flat.sum(axis=1).max()), 1)
    places = np.argsort(~flat, axis=1, kind="stable")[:, :most]
    return places, np.take_along_axis(flat, places, axis=1)


def _matrix(kernel: np.ndarray, slope: np.ndarray, places: np.ndarray, real: np.ndarray) -> np.ndarray:
    """1 + K G among the conducting points (samples, most, most)."""
    samples, count, _, points = kernel.shape
    lags = np.concatenate([kernel[..., 1:], kernel], axis=-1)
    width = 2 * points - 1
    port, time = places // points, places % points
    row = port * count * width + time + np.arange(samples)[:, None] * (count * count * width)
    column = port * width + points - 1 - time
    gathered = lags.reshape(-1).take(row[:, :, None] + column[:, None, :])
    conductance = np.take_along_axis(slope.reshape(samples, -1), places, axis=1) * real
    gathered *= conductance[:, None, :]
    diagonal = np.arange(places.shape[1])
    gathered[:, diagonal, diagonal] += 1.0
    return gathered


def _newton(
    spectrum: np.ndarray, kernel: np.ndarray, slope: np.ndarray, miss: np.ndarray, own: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Newton's step of w and the change of current it makes, both (samples, p, points)."""
    places, real = _conducting(slope, own)
    flat_miss = miss.reshape(miss.shape[0], -1)
    here = -np.take_along_axis(flat_miss, places, axis=1)
    matrix = _matrix(kernel, slope, places, real)
    move = solve_each(matrix, here[..., None])[..., 0]
    change = np.zeros_like(flat_miss)
    np.put_along_axis(change, places, np.take_along_axis(slope.reshape(change.shape), places, axis=1) * move * real, axis=1)
    change = change.reshape(miss.shape)
    return -miss - _convolve(spectrum, change), change


def _mean_siemens(ring: _Ring, slope: np.ndarray) -> np.ndarray:
    """d(mean current) / d(mean volts) between the ports with the ripple free to follow (samples, p, p)."""
    count, points = slope.shape[1:]
    spectrum = ring.spectrum.copy()
    spectrum[..., 0] = -(ring.series_ohm[:, :, None] * np.eye(count))
    places, real = _conducting(slope, ring.own_ohm)
    matrix = _matrix(np.fft.irfft(spectrum, points), slope, places, real)
    port = places // points
    rhs = ((port[..., None] == np.arange(count)) & real[..., None]).astype(float)
    conductance = np.take_along_axis(slope.reshape(len(slope), -1), places, axis=1) * real
    move = solve_each(matrix, rhs) * conductance[..., None]
    return np.matmul(np.swapaxes(rhs, 1, 2), move) / points
