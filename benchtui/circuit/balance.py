"""Harmonic balance: the devices' currents over one cycle of a signal, the rest of the circuit being linear.

The linear part already holds every device as it conducts at rest, so that what is unknown is the excess: a device's
current less its current at rest and less its conductance there times its volts. Without a signal there is none, and the
linear part has a path to every node also where devices alone lead there. With j the excess of all branches of devices,
u = open - Z j at each harmonic, j = excess(u) at each point of time: Newton's method on j, the points of time twice as
many as what is unknown so that harmonics left out do not fold back (textbook).

Inside, samples come first. Coefficients are mean, cosine and sine of 1, cosine and sine of 2, and so on.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from benchtui.circuit.elimination import solve_each

PASSES, HALVINGS = 40, 6
TOLERANCE = 1e-5
"""Share of the largest open volts by which a sample's volts may still move."""

FLOOR_V = 1e-4
"""Volts at the least that this share is of, as for signals of no size."""

IDLE = 1e-3
"""A branch whose conductance times the ohms seen stays under this has no current of its own: most grids."""

Laws = Callable[[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]
"""Excess amperes and siemens of devices (devices, 3, ...) at volts (devices, 3, samples, points), by sample number."""


def to_time(harmonics: int, points: int) -> np.ndarray:
    """From coefficients to points of one cycle: (points, coefficients)."""
    angle = 2.0 * np.pi * np.arange(points)[:, None] / points * np.arange(1, harmonics + 1)
    found = np.ones((points, 2 * harmonics + 1))
    found[:, 1::2], found[:, 2::2] = np.cos(angle), np.sin(angle)
    return found


def to_coefficients(harmonics: int, points: int) -> np.ndarray:
    """From points of one cycle to coefficients: (coefficients, points)."""
    found = to_time(harmonics, points).T * (2.0 / points)
    found[0] /= 2.0
    return found


def coefficients(mean: np.ndarray, phasors: np.ndarray) -> np.ndarray:
    """Coefficients (..., 1 + 2 harmonics) of a mean (...) and peak phasors of cosine (..., harmonics)."""
    found = np.empty((*mean.shape, 1 + 2 * phasors.shape[-1]))
    found[..., 0], found[..., 1::2], found[..., 2::2] = mean, phasors.real, -phasors.imag
    return found


def phasors(coefficients: np.ndarray) -> np.ndarray:
    """Peak phasors of cosine (..., harmonics) from coefficients."""
    return coefficients[..., 1::2] - 1j * coefficients[..., 2::2]


@dataclass(frozen=True, eq=False)
class Balance:
    """Ohms between the branches: at DC (samples, p, p), at the harmonics (samples, p, p, harmonics); the devices' laws.

    `places` (p, 2) are the device, of so many, and which of its three branches each branch is.
    """

    dc_ohms: np.ndarray
    ohms: np.ndarray
    places: np.ndarray
    devices: int
    laws: Laws
    points: int

    @property
    def harmonics(self) -> int:
        return self.ohms.shape[-1]

    def volts(self, open_v: np.ndarray, amps: np.ndarray) -> np.ndarray:
        """Coefficients of the branches' volts, both (samples, p, coefficients)."""
        drop = np.einsum("spqk,sqk->spk", self.ohms, phasors(amps))
        mean = np.einsum("spq,sq->sp", self.dc_ohms, amps[..., 0])
        return open_v - coefficients(mean, drop)

    def take(self, samples: np.ndarray) -> Balance:
        """The same for some samples; the laws are asked by sample number still."""
        return Balance(self.dc_ohms[samples], self.ohms[samples], self.places, self.devices, self.laws, self.points)

    def at(self, volts: np.ndarray, samples: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Excess amperes (samples, points, p) and siemens (samples, points, p, 3) at the branches' volts.

        The siemens' last axis are the three branches of the same device.
        """
        wave = volts @ to_time(self.harmonics, self.points).T
        across = np.zeros((self.devices, 3, len(samples), self.points))
        across[self.places[:, 0], self.places[:, 1]] = np.moveaxis(wave, 1, 0)
        amps, siemens = self.laws(across, samples)
        device, branch = self.places.T
        return np.moveaxis(amps[device, branch], 0, -1), np.moveaxis(siemens[device, branch], (0, 1), (-2, -1))


def solve(balance: Balance, open_v: np.ndarray, start: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Excess currents (samples, p, coefficients) from a start, and which samples settled (samples,)."""
    amps, live = start.copy(), np.arange(len(start))
    settled = np.zeros(len(start), dtype=bool)
    scale = TOLERANCE * (np.abs(open_v[..., 1:]).max(axis=(1, 2)) + FLOOR_V)
    back = to_coefficients(balance.harmonics, balance.points)
    part, here, now = balance, open_v, amps
    for _ in range(PASSES):
        found, siemens = part.at(part.volts(here, now), live)
        drawing = _drawing(part, siemens)
        miss = np.swapaxes(back @ found, 1, 2) - now
        step = np.zeros_like(now)
        step[:, drawing] = _step(part, siemens, miss, drawing, back)
        step[:, ~drawing] = -now[:, ~drawing]
        moved = np.abs(part.volts(np.zeros_like(here), step)).max(axis=(1, 2))
        now = _shortened(part, here, now, step, miss, live, back)
        amps[live] = now
        alive, small = np.isfinite(moved), moved < scale[live]
        settled[live[alive & small]] = True
        going = alive & ~small
        if not going.any():
            break
        if not going.all():
            live, part, here, now = live[going], part.take(going), here[going], now[going]
    return amps, settled


def _drawing(balance: Balance, siemens: np.ndarray) -> np.ndarray:
    """Which branches (p,) carry a current of their own in some sample at some time."""
    seen = np.abs(np.diagonal(balance.dc_ohms, axis1=1, axis2=2))
    for k in range(balance.harmonics):
        seen = np.maximum(seen, np.abs(np.diagonal(balance.ohms[..., k], axis1=1, axis2=2)))
    return (np.abs(siemens).max(axis=(1, 3)) * seen).max(axis=0) > IDLE


def _shortened(
    balance: Balance,
    open_v: np.ndarray,
    now: np.ndarray,
    step: np.ndarray,
    miss: np.ndarray,
    live: np.ndarray,
    back: np.ndarray,
) -> np.ndarray:
    """The step's end, or that of a step halved until what is missed there, in volts, has not grown."""

    def size(missed: np.ndarray) -> np.ndarray:
        return np.sqrt((balance.volts(np.zeros_like(open_v), missed) ** 2).sum(axis=(1, 2)))

    before, share = size(miss), np.ones(len(now))
    for _ in range(HALVINGS):
        end = now + share[:, None, None] * step
        missed = np.swapaxes(back @ balance.at(balance.volts(open_v, end), live)[0], 1, 2) - end
        worse = ~(size(missed) <= (1.0 - 0.1 * share) * before + FLOOR_V * TOLERANCE)
        if not worse.any():
            break
        share = np.where(worse, 0.5 * share, share)
    return now + share[:, None, None] * step


def _step(balance: Balance, siemens: np.ndarray, miss: np.ndarray, drawing: np.ndarray, back: np.ndarray) -> np.ndarray:
    """Newton's step of the currents that are drawn: (1 + F G Z) step = miss, with F and Z from and to time."""
    drawn = np.flatnonzero(drawing)
    samples, count, size = len(miss), drawn.size, len(back)
    kernel = _kernel(balance, drawn)
    matrix = np.empty((samples, count, size, count * size))
    for device in np.unique(balance.places[drawn, 0]):
        own = np.flatnonzero(balance.places[:, 0] == device)
        rows = np.flatnonzero(balance.places[drawn, 0] == device)
        slope = siemens[:, :, drawn[rows]][..., balance.places[own, 1]]
        change = slope @ kernel[:, :, own]
        folded = back @ change.reshape(samples, balance.points, -1)
        matrix[:, rows] = np.swapaxes(folded.reshape(samples, size, rows.size, count * size), 1, 2)
    matrix = matrix.reshape(samples, count * size, count * size)
    matrix[:, np.arange(count * size), np.arange(count * size)] += 1.0
    wanted = miss[:, drawn].reshape(samples, -1, 1)
    return solve_each(matrix, wanted).reshape(samples, count, size)


def _kernel(balance: Balance, drawn: np.ndarray) -> np.ndarray:
    """Volts of every branch over time for each coefficient of each drawn current (samples, points, p, drawn * size)."""
    ohms = balance.ohms[:, :, drawn]
    samples, count, drawing, harmonics = ohms.shape
    angle = 2.0 * np.pi * np.arange(balance.points)[:, None] / balance.points * np.arange(1, harmonics + 1)
    turned = ohms[:, None] * np.exp(1j * angle)[None, :, None, None, :]
    found = np.empty((samples, balance.points, count, drawing, 1 + 2 * harmonics))
    found[..., 0] = balance.dc_ohms[:, None][..., drawn]
    found[..., 1::2], found[..., 2::2] = turned.real, turned.imag
    return found.reshape(samples, balance.points, count, -1)
