"""Windows for a whole stage: drawn so that 98 % of healthy builds have no reading outside any of them."""

from __future__ import annotations

import numpy as np

JOINT_SHARE = 0.98
TAIL_SHARE = 0.2
"""The builds that lie furthest out, from which the edge of all is told: more of them than lie beyond it."""

FLOOR_SHARE = 0.01
"""No window is narrower than 1 % each way: warm-up and drifting mains move a bench reading by that much."""


_LEAST_SHARE, _BY_CHANCE = 0.05, 12.0
"""A draw is told from this share of the variance on, and from this many times the share of one sample: with a hundred
draws that have nothing to do with a reading, the best reaches about 9 (the largest of a hundred squared normals).
"""


def joint_windows(
    readings: np.ndarray,
    nominal: np.ndarray,
    last_digit: np.ndarray,
    *,
    floor_share: np.ndarray | float = FLOOR_SHARE,
) -> np.ndarray:
    """(points, 2) low and high from `readings` (samples, points); NaN where no sample gave a reading.

    Each point's own spread below and above its median gives the shape; one common factor widens all so that
    `JOINT_SHARE` of builds lie inside everywhere. Samples that did not settle (NaN) are left out.
    `last_digit` (points,) is what the meter cannot resolve, `floor_share` (points,) the least width each way.
    """
    floor_share = np.broadcast_to(floor_share, nominal.shape)
    sound = np.isfinite(readings).any(axis=0)
    kept = readings[np.isfinite(readings[:, sound]).all(axis=1)][:, sound]
    windows = np.full((readings.shape[1], 2), np.nan)
    if not len(kept):
        return windows
    middle = np.median(kept, axis=0)
    floor = np.maximum(floor_share[sound] * np.abs(middle), 2.0 * last_digit[sound])
    below = np.maximum(_two_deviations(np.minimum(kept - middle, 0.0)), floor)
    above = np.maximum(_two_deviations(np.maximum(kept - middle, 0.0)), floor)
    off = np.where(kept < middle, (middle - kept) / below, (kept - middle) / above)
    factor = max(1.0, _edge(off.max(axis=1))) * widened(len(kept))
    windows[sound, 0] = np.minimum(middle - factor * below, nominal[sound])
    windows[sound, 1] = np.maximum(middle + factor * above, nominal[sound])
    return windows


def widened(builds: int) -> float:
    """The factor for what an ensemble of so many builds does not know of its own edge: two standard errors."""
    return 1.0 + 2.0 / np.sqrt(builds)


def _two_deviations(half: np.ndarray) -> np.ndarray:
    """Twice the standard deviation of a spread of which one half is given, the other being zero: (points,)."""
    return 2.0 * np.sqrt(2.0 * (half**2).mean(axis=0))


def _edge(off: np.ndarray) -> float:
    """What `JOINT_SHARE` of all builds stay under, told from the mean of the furthest `TAIL_SHARE` (samples,).

    Peaks over a threshold with an exponential tail (textbook): steadier than the few samples beyond the edge itself,
    and on the wide side, since parts within tolerance make no tail as long as that.
    """
    start = float(np.quantile(off, 1.0 - TAIL_SHARE))
    beyond = off[off > start]
    return start + float((beyond - start).sum()) / max(len(beyond), 1) * np.log(TAIL_SHARE / (1.0 - JOINT_SHARE))


def dominant(readings: np.ndarray, drawn: dict[tuple[str, str], np.ndarray], *, most: int = 3) -> tuple[str, ...]:
    """Which draws explain most of the spread of one reading (samples,): sentences with their share of the variance.

    One after the other, each by what the ones before it leave: of many draws a few would seem to explain something by
    chance, so what is left must follow a draw more closely than that.
    """
    ok = np.isfinite(readings)
    if ok.sum() < 20 or np.ptp(readings[ok]) == 0.0:
        return ()
    names = [key for key, factor in drawn.items() if np.ptp(factor) > 0]
    factors = np.stack([drawn[key][ok] for key in names])
    factors = factors - factors.mean(axis=1, keepdims=True)
    left = readings[ok] - readings[ok].mean()
    whole, by_chance = left @ left, _BY_CHANCE / ok.sum()
    told = []
    for _ in range(most):
        size = (factors**2).sum(axis=1)
        explained = np.divide((factors @ left) ** 2, size, out=np.zeros_like(size), where=size > 0.0)
        k = int(explained.argmax())
        if explained[k] < max(_LEAST_SHARE * whole, by_chance * (left @ left)):
            break
        told.append(f"{names[k][0]}, {names[k][1]}: {100 * explained[k] / whole:.0f} % of the spread")
        along = factors[k] / np.sqrt(size[k])
        left = left - (along @ left) * along
        factors = factors - np.outer(factors @ along, along)
        factors[k] = 0.0
    return tuple(told)
