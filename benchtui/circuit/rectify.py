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
from benchtui.circuit.network import Network

PASSES = 60
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


class _Law:
    """Current and slope of every rectifier as a function of w, for some of the samples."""

    def __init__(self, network: Network, series_ohm: np.ndarray) -> None:
        self.groups = network.rectifiers
        self.series_ohm = series_ohm

    def __call__(self, w: np.ndarray, samples: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
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
        return amps, slope


def _at(values: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Values (members, samples) at the chosen points of (samples, members, points)."""
    return np.broadcast_to(values.T[..., None], near.shape)[near]


def _at_once(kernel: np.ndarray) -> np.ndarray:
    """The resistance each port sees within one step (samples, p): the second least of what it sees alone or with one
    other conducting. The least is often next to nothing (a bridge across its reservoir), its own open one without bound.
    """
    now = kernel[..., 0]
    count = now.shape[1]
    own = np.diagonal(now, axis1=1, axis2=2)
    seen = own[:, :, None] - now * np.swapaxes(now, 1, 2) / own[:, None, :]
    seen[:, np.arange(count), np.arange(count)] = own
    return np.clip(np.sort(seen, axis=2)[..., min(1, count - 1)], 1e-3, np.maximum(own, 1e-3))


def _convolve(spectrum: np.ndarray, amps: np.ndarray) -> np.ndarray:
    return np.fft.irfft(np.einsum("spqk,sqk->spk", spectrum, np.fft.rfft(amps)), amps.shape[-1])


def currents(network: Network, seen: Seen, start: np.ndarray | None, tolerance: float) -> Wave:
    """The steady currents, from a start value of w (samples, p, points) or from the open circuit.

    `tolerance` is the share of its largest current by which a sample may still move.
    """
    samples, count, points = seen.ohms.shape[0], seen.ohms.shape[1], seen.points
    series = _at_once(np.fft.irfft(seen.ohms, points))
    spectrum = seen.ohms - (series[:, :, None] * np.eye(count))[..., None]
    kernel = np.fft.irfft(spectrum, points)
    angle = 2.0 * np.pi * np.arange(points) / points
    wave = np.imag(seen.open_mains_v[..., None] * np.exp(1j * angle))
    base = seen.open_mean_v[..., None] + wave
    law = _Law(network, series)
    w = base.copy() if start is None else start.copy()
    settled = np.zeros(samples, dtype=bool)
    own = np.abs(np.diagonal(kernel[..., 0], axis1=1, axis2=2)) + series
    live = np.arange(samples)
    for _ in range(PASSES):
        amps, slope = law(w[live], live)
        miss = w[live] - base[live] + _convolve(spectrum[live], amps)
        step, change = _newton(spectrum[live], kernel[live], slope, miss, own[live])
        w[live] += step
        scale = np.abs(amps).max(axis=(1, 2)) + 1e-9
        small = np.abs(change).max(axis=(1, 2)) < tolerance * scale
        settled[live[small]] = True
        live = live[~small & np.isfinite(step).all(axis=(1, 2))]
        if not live.size:
            break
    amps, slope = law(w, np.arange(samples))
    mean_volts = w.mean(axis=-1) - series * amps.mean(axis=-1)
    return Wave(amps, w, settled, mean_volts, _mean_siemens(spectrum, series, slope, own), seen.open_mains_v)


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


def _mean_siemens(spectrum: np.ndarray, series: np.ndarray, slope: np.ndarray, own: np.ndarray) -> np.ndarray:
    """d(mean current) / d(mean volts) between the ports with the ripple free to follow (samples, p, p)."""
    count, points = slope.shape[1:]
    spectrum = spectrum.copy()
    spectrum[..., 0] = -(series[:, :, None] * np.eye(count))
    places, real = _conducting(slope, own)
    matrix = _matrix(np.fft.irfft(spectrum, points), slope, places, real)
    port = places // points
    rhs = ((port[..., None] == np.arange(count)) & real[..., None]).astype(float)
    move = solve_each(matrix, rhs) * (np.take_along_axis(slope.reshape(len(slope), -1), places, axis=1) * real)[..., None]
    return np.matmul(np.swapaxes(rhs, 1, 2), move) / points
