"""A square wave: how far its corners overshoot, how far its tops sag, and how fast its edges rise."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, pi

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.errors import SoundError
from benchtui.sound.usable import refuse_clipped

#: Half periods that a capture must hold, and samples that each must have.
_HALVES, _SAMPLES = 20, 16

#: The part of a half period over which its top is fitted: after the ringing, and before that which the converter's
#: filter puts ahead of the next edge.
_TOP = (0.3, 0.85)

#: Samples that a rise must take to be the amplifier's: a converter's own filter makes one of about two.
_LEAST_RISE = 3.0

#: A droop that can be told, as a part.
_LEAST_DROOP = 0.002


@dataclass(frozen=True)
class Square:
    """Figures of a square wave, medians of all its half periods.

    `overshoot_percent` is of the whole step from one top to the other (IEEE Std 181, from memory); `droop_percent` of
    what a top begins with. `low_hz`: the corner of one high-pass that droops so; `high_hz`: of one low-pass that
    rises so (0.35 over the rise time from 10 to 90 %). `rise_limited`: the rise is no slower than the converter's
    sampling lets it be, so the amplifier's own is at most this.
    """

    hertz: float
    step: float
    """Parts of full scale, from one top to the other."""

    overshoot_percent: float
    droop_percent: float
    low_hz: float | None
    rise_s: float
    rise_limited: bool
    high_hz: float


def square_wave(samples: NDArray[np.float64], rate: float, bits: int | None = None) -> Square:
    """The figures of a capture (frames,) of a square wave, whose frequency is a twentieth of the upper corner or less.

    Raises SoundError where it is clipped, too short or too fast to be told, or no square wave.
    """
    if not np.isfinite(samples).all():
        raise SoundError("the capture holds samples that are no numbers")
    refuse_clipped(samples, 1, bits)
    wave = samples - (np.percentile(samples, 90) + np.percentile(samples, 10)) / 2
    edges = _edges(wave)
    if len(edges) < _HALVES + 1:
        raise SoundError(f"no square wave of {_HALVES // 2} periods or more is in the capture")
    half = _spacing(edges)
    if half < _SAMPLES:
        raise SoundError(f"the square wave has {2 * half:.0f} samples a period, at least {2 * _SAMPLES} are wanted")
    told = [each for each in (_half(wave, first, half) for first in edges[1:-2]) if each is not None]
    if len(told) < _HALVES / 2:
        raise SoundError("the tops of the wave are not flat enough for a square wave")
    begin, end, peak, rise = (float(each) for each in np.median(np.array(told), axis=0))
    # at the next edge the wave steps from this top's end to the beginning of the other one
    step = begin + end
    droop = max(1 - end / begin, 0.0)
    hertz = rate / (2 * half)
    rise_s = rise / rate
    return Square(
        hertz=hertz,
        step=step,
        overshoot_percent=100 * max(peak, 0.0) / step,
        droop_percent=100 * droop,
        low_hz=corner_of_droop(droop, hertz) if droop > _LEAST_DROOP else None,
        rise_s=rise_s,
        rise_limited=rise < _LEAST_RISE,
        high_hz=0.35 / rise_s,
    )


def droop_of(corner_hz: float, hertz: float) -> float:
    """The part by which tops at `hertz` sag behind one high-pass at `corner_hz`: 1 - exp(-pi corner / hertz)."""
    return 1 - exp(-pi * corner_hz / hertz)


def corner_of_droop(droop: float, hertz: float) -> float | None:
    """The corner of one high-pass by the droop (a part) at `hertz`; None where tops do not sag."""
    return -hertz * log(1 - droop) / pi if 0 < droop < 1 else None


def _edges(wave: NDArray[np.float64]) -> NDArray[np.float64]:
    """Where the wave crosses zero, in samples and parts of one; crossings of mere noise are left out by hysteresis."""
    least = 0.25 * float(np.abs(wave).max())
    sure = np.flatnonzero(np.abs(wave) > least)
    turns = np.flatnonzero(np.sign(wave[sure[1:]]) != np.sign(wave[sure[:-1]])) if len(sure) else sure
    found = []
    for first, last in zip(sure[turns], sure[turns + 1], strict=True):
        piece = wave[first : last + 1]
        at = int(np.flatnonzero(np.sign(piece[1:]) != np.sign(piece[0]))[0])
        found.append(first + at + piece[at] / (piece[at] - piece[at + 1]))
    return np.array(found)


def _spacing(edges: NDArray[np.float64]) -> float:
    """Samples from edge to edge, over all of them."""
    usual = float(np.median(np.diff(edges)))
    return float(edges[-1] - edges[0]) / round((edges[-1] - edges[0]) / usual)


def _half(wave: NDArray[np.float64], edge: float, half: float) -> tuple[float, float, float, float] | None:
    """Of the half period that begins at `edge`: its top's begin and end, overshoot above it, rise in samples."""
    first, last = int(np.ceil(edge)), int(edge + half * _TOP[1])
    piece = wave[first : last + 1]
    sign = np.sign(piece[len(piece) // 2])
    time, height = np.arange(first, last + 1) - edge, piece * sign
    flat = time > _TOP[0] * half
    if not (height[flat] > 0).all() or flat.sum() < 4:
        return None
    # a top that sags does so exponentially
    slope, start = np.polyfit(time[flat], np.log(height[flat]), 1)
    begin, end = float(np.exp(start)), float(np.exp(start + slope * half))
    early = time < 0.5 * half
    overshoot = _crest(height[early] - np.exp(start + slope * time[early]))
    rise = _rise(wave * sign, edge, begin, -end, half)
    return None if rise is None else (begin, end, overshoot, rise)


def _crest(heights: NDArray[np.float64]) -> float:
    """The largest of `heights`, between samples by a parabola."""
    at = int(heights.argmax())
    if not 0 < at < len(heights) - 1:
        return float(heights[at])
    below, here, above = (float(each) for each in heights[at - 1 : at + 2])
    bend = below - 2 * here + above
    return here - (above - below) ** 2 / (8 * bend) if bend < 0 else here


def _rise(wave: NDArray[np.float64], edge: float, top: float, bottom: float, half: float) -> float | None:
    """Samples from 10 to 90 % of the step from `bottom` to `top` around `edge`."""
    low, high = bottom + 0.1 * (top - bottom), bottom + 0.9 * (top - bottom)
    before = max(int(edge - half / 2), 0)
    piece = wave[before : int(edge + half / 2) + 1]
    middle = int(edge) - before + 1
    under = np.flatnonzero(piece[:middle] <= low)
    over = np.flatnonzero(piece[middle:] >= high)
    if not len(under) or not len(over):
        return None
    start, stop = int(under[-1]), middle + int(over[0])
    left = start + (low - piece[start]) / (piece[start + 1] - piece[start])
    right = stop - (piece[stop] - high) / (piece[stop] - piece[stop - 1])
    return float(right - left)
