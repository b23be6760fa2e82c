"""The rectifiers' equations over one mains cycle closed into a ring, and Newton's step for them.

Every rectifier is a port of the circuit. With u the volts across it, u_p = open_p - sum_q Z_pq * i_q, where * is the
cyclic convolution over the cycle and Z the ohms seen from the ports; Z at harmonic k comes from the AC circuit with j w
replaced by the symbol of the two-step backward difference, so this *is* implicit time stepping closed into a ring, for
any topology: full and half wave, bridge, doubler, capacitor or choke input, several of them on one transformer.

The unknown is w = u + R i, where R is a resistance that the rectifier sees at once (within one time step): i is then a
function of w whose slope never exceeds 1 / R, and Newton's method is tame. A time point where the rectifier blocks has
slope zero, so its step follows from the others: only conducting points enter the linear system, gathered for each
sample by itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from benchtui.circuit.branches import Group, Network
from benchtui.circuit.devices import DIODE_FORMS
from benchtui.circuit.elimination import solve_each

BLOCKED_V = 1.0
"""A rectifier with more than this across it backwards carries nothing worth counting."""

CONDUCTING = 1e-6
"""A time point conducts when its slope times the ohms seen exceeds this."""

CREST = 0.2
"""Share of the crest of its open volts above which a rectifier is taken to conduct at first."""

ALIKE = 1.5
"""Samples are solved together when their numbers of conducting points differ by less than this factor."""


@dataclass(frozen=True, eq=False)
class Seen:
    """The circuit as rectifiers see it: ohms (samples, p, p, harmonics 0 to points / 2), open mean and mains volts."""

    ohms: np.ndarray
    open_mean_v: np.ndarray
    open_mains_v: np.ndarray
    points: int


@dataclass(frozen=True, eq=False)
class Point:
    """One iterate of some samples; each array (samples, p, points)."""

    w: np.ndarray
    amps: np.ndarray
    slope: np.ndarray
    miss: np.ndarray

    def take(self, samples: np.ndarray) -> Point:
        """The iterate of some samples."""
        return Point(self.w[samples], self.amps[samples], self.slope[samples], self.miss[samples])

    def put(self, samples: np.ndarray, part: Point) -> None:
        """Overwrite some samples."""
        for name in ("w", "amps", "slope", "miss"):
            getattr(self, name)[samples] = getattr(part, name)


@dataclass(frozen=True, eq=False)
class Ring:
    """w - open + K * i(w) = 0, with K the ohms seen less R; `charged` is where to begin from nothing."""

    groups: tuple[Group, ...]
    series_ohm: np.ndarray
    spectrum: np.ndarray
    kernel: np.ndarray
    own_ohm: np.ndarray
    open_v: np.ndarray
    charged: np.ndarray

    def at(self, w: np.ndarray, samples: np.ndarray) -> Point:
        """Currents, slopes and what is missed, at w (some samples, p, points)."""
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
        return Point(w, amps, slope, w - self.open_v[samples] + _convolve(self.spectrum[samples], amps))

    def step(self, now: Point, samples: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Newton's step of w and the change of current it makes, both (samples, p, points)."""
        flat = -now.miss.reshape(len(samples), -1, 1)
        change = _response(self.kernel[samples], now.slope, self.own_ohm[samples], flat)[..., 0].reshape(now.w.shape)
        return -now.miss - _convolve(self.spectrum[samples], change), change

    def mean_siemens(self, slope: np.ndarray) -> np.ndarray:
        """d(mean current) / d(mean volts) between the ports with the ripple free to follow (samples, p, p)."""
        samples, count, points = slope.shape
        spectrum = self.spectrum.copy()
        spectrum[..., 0] = -(self.series_ohm[:, :, None] * np.eye(count))
        drive = np.broadcast_to(np.repeat(np.eye(count), points, axis=0), (samples, count * points, count))
        change = _response(np.fft.irfft(spectrum, points), slope, self.own_ohm, drive)
        return change.reshape(samples, count, points, count).mean(axis=2)


def ring_of(network: Network, seen: Seen, *, rank: int) -> Ring:
    """The ring of a network; `rank` chooses R among the resistances seen at once (see `_at_once`)."""
    count, points = seen.ohms.shape[1], seen.points
    series = _at_once(np.fft.irfft(seen.ohms, points), rank)
    spectrum = seen.ohms - (series[:, :, None] * np.eye(count))[..., None]
    kernel = np.fft.irfft(spectrum, points)
    angle = 2.0 * np.pi * np.arange(points) / points
    mains = np.imag(seen.open_mains_v[..., None] * np.exp(1j * angle))
    crest, mean = np.abs(seen.open_mains_v)[..., None], seen.open_mean_v[..., None]
    own = np.abs(np.diagonal(kernel[..., 0], axis1=1, axis2=2)) + series
    charged = mains + np.where(crest > 0, -(1.0 - CREST) * crest, mean)
    return Ring(network.rectifiers, series, spectrum, kernel, own, mean + mains, charged)


def _at_once(kernel: np.ndarray, rank: int) -> np.ndarray:
    """The resistance each port sees within one step (samples, p): of what it sees alone and with each other conducting,
    the least (rank 0) or the next (rank 1). The least can be next to nothing, in a bridge across its reservoir.
    """
    now = kernel[..., 0] - kernel.mean(axis=-1)
    count = now.shape[1]
    own = np.diagonal(now, axis1=1, axis2=2)
    seen = own[:, :, None] - now * np.swapaxes(now, 1, 2) / np.where(own > 0, own, np.inf)[:, None, :]
    seen[:, np.arange(count), np.arange(count)] = own
    return np.clip(np.sort(seen, axis=2)[..., min(rank, count - 1)], 1e-3, np.maximum(own, 1e-3))


def _at(values: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Values (members, samples) at the chosen points of (samples, members, points)."""
    return np.broadcast_to(values.T[..., None], near.shape)[near]


def _convolve(spectrum: np.ndarray, amps: np.ndarray) -> np.ndarray:
    drive = np.fft.rfft(amps)
    volts = sum(spectrum[:, :, port] * drive[:, None, port] for port in range(drive.shape[1]))
    return np.fft.irfft(volts, amps.shape[-1])


def _response(kernel: np.ndarray, slope: np.ndarray, own: np.ndarray, drive: np.ndarray) -> np.ndarray:
    """Change of current that a drive of w makes (samples, p * points, drives), through 1 + K G of conducting points."""
    slope = slope.reshape(len(slope), -1)
    conducts = slope * np.repeat(own, slope.shape[1] // own.shape[1], axis=1) > CONDUCTING
    counts = conducts.sum(axis=1)
    change = np.zeros(drive.shape)
    kinds = np.ceil(np.log(np.maximum(counts, 1)) / np.log(ALIKE))
    for kind in np.unique(kinds[counts > 0]):
        alike = np.flatnonzero((kinds == kind) & (counts > 0))
        most = int(counts[alike].max())
        places = np.argsort(~conducts[alike], axis=1, kind="stable")[:, :most]
        siemens = np.take_along_axis(slope[alike] * conducts[alike], places, axis=1)
        matrix = _gathered(kernel[alike], places) * siemens[:, None, :]
        matrix[:, np.arange(most), np.arange(most)] += 1.0
        wanted = np.take_along_axis(drive[alike], places[..., None], axis=1)
        part = np.zeros((len(alike), *drive.shape[1:]))
        np.put_along_axis(part, places[..., None], siemens[..., None] * solve_each(matrix, wanted), axis=1)
        change[alike] = part
    return change


def _gathered(kernel: np.ndarray, places: np.ndarray) -> np.ndarray:
    """K between the places (samples, most) in (p, points) laid flat: (samples, most, most)."""
    samples, count, _, points = kernel.shape
    lags = np.concatenate([kernel[..., 1:], kernel], axis=-1)
    width = 2 * points - 1
    port, time = places // points, places % points
    row = port * count * width + time + np.arange(samples)[:, None] * (count * count * width)
    column = port * width + points - 1 - time
    return lags.reshape(-1).take(row[:, :, None] + column[:, None, :])
