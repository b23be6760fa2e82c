"""The currents of all rectifiers in the steady state: Newton's method on the ring of one mains cycle.

Where plain Newton fails, the sample begins again with a large resistance added to each rectifier, which then falls to
nothing at the pace that the sample can bear.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from benchtui.circuit.branches import Network
from benchtui.circuit.dc import Ports
from benchtui.circuit.ring import Point, Ring, Seen, ring_of

PASSES = 40
RUNAWAY_V = 1e9
"""A step of more than this is no step towards a solution."""

SOFT_PASSES, SOFT_STEPS, SOFT_TOLERANCE, SOFT_END = 12, 60, 1e-2, 0.1
"""Of a step with added resistance: passes, how many steps, how well it is met, the share of R at which it ends."""

BOLDEST, TIMID = 0.1, 0.98
"""The share of an added resistance that may be left after a step: the least, and where a sample is given up."""


@dataclass(frozen=True, eq=False)
class Wave:
    """Currents of the rectifiers (samples, p, points), w = u + R i of the same shape, and whether each sample settled.

    `mean_volts` and `mean_siemens` are the volts and conductances of the mean currents, `open_mains_v` the open volts.
    """

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
            self,
            amps=self.amps * share[..., None],
            w=self.w * share[..., None],
            mean_volts=self.mean_volts * share,
            open_mains_v=open_mains_v,
        )

    def resampled(self, points: int) -> Wave:
        """The same wave at another number of time points, by straight lines."""
        have = self.amps.shape[-1]
        if points == have:
            return self
        at = np.arange(points) * have / points
        before = at.astype(int)
        share = at - before

        def between(values: np.ndarray) -> np.ndarray:
            return (1.0 - share) * values[..., before] + share * values[..., (before + 1) % have]

        return replace(self, amps=between(self.amps), w=between(self.w))

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


def currents(network: Network, seen: Seen, start: np.ndarray | None, tolerance: float) -> Wave:
    """The steady currents, from a start value of w (samples, p, points) or from nothing.

    `tolerance` is the share of its largest current, and of the open volts, by which a sample may still move. A sample
    that does not settle is given back as it began.
    """
    ring, samples = ring_of(network, seen, rank=1), np.arange(seen.ohms.shape[0])
    whole = ring.at(ring.charged.copy() if start is None else start.copy(), samples)
    settled = _iterate(ring, whole, samples, tolerance)
    lost = samples[~settled]
    if lost.size:
        firm = ring_of(network, seen, rank=0)
        settled[lost] = _softened(firm, whole, lost, tolerance)
        part = whole.take(lost)
        w = part.w + (ring.series_ohm - firm.series_ohm)[lost, :, None] * part.amps
        whole.put(lost, ring.at(np.where(settled[lost, None, None], w, ring.charged[lost]), lost))
    mean_volts = whole.w.mean(axis=-1) - ring.series_ohm * whole.amps.mean(axis=-1)
    return Wave(whole.amps, whole.w, settled, mean_volts, ring.mean_siemens(whole.slope), seen.open_mains_v)


def _iterate(ring: Ring, whole: Point, samples: np.ndarray, tolerance: float, passes: int = PASSES) -> np.ndarray:
    """Newton on some samples of `whole`, each leaving when it settles or runs away; which of them settled."""
    settled = np.zeros(len(whole.w), dtype=bool)
    live = samples
    for _ in range(passes):
        now = whole.take(live)
        step, change = ring.step(now, live)
        moved_v = np.abs(step).max(axis=(1, 2))
        sane = moved_v < RUNAWAY_V
        small = np.abs(change).max(axis=(1, 2)) < tolerance * (np.abs(now.amps).max(axis=(1, 2)) + 1e-9)
        small &= moved_v < tolerance * (np.abs(ring.open_v[live]).max(axis=(1, 2)) + 1e-3)
        live, small, w = live[sane], small[sane], (now.w + step)[sane]
        whole.put(live, ring.at(w, live))
        settled[live[small]] = True
        live = live[~small]
        if not live.size:
            break
    return settled[samples]


def _softened(ring: Ring, whole: Point, samples: np.ndarray, tolerance: float) -> np.ndarray:
    """Newton with a resistance added to each rectifier, first the largest seen and from nothing, then ever less.

    Added inside the law and outside alike, it leaves K as it is: only the law's own resistance changes. Each sample
    goes at its own pace: less boldly after a failure, more so after a success.
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


def _with_added(ring: Ring, ohm: np.ndarray) -> Ring:
    return replace(ring, series_ohm=ring.series_ohm + ohm[:, None])
