"""Power by frequency, so scaled that the bins of a tone sum to its rms squared, and those of noise as well."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.window import HALF_LOBE, window

#: How many bins on each side of a lobe tell the noise there.
_BESIDE = 24


@dataclass(frozen=True)
class Spectrum:
    """`power`: (bins,) rms squared a bin, in parts of full scale (a sample of 1); bins are `bin_hz` apart from 0 Hz."""

    power: NDArray[np.float64]
    bin_hz: float

    @property
    def count(self) -> int:
        """How many bins there are."""
        return len(self.power)

    @property
    def seconds(self) -> float:
        """How long the capture lasted."""
        return 1 / self.bin_hz

    def lobe(self, hertz: float) -> range:
        """The bins of a tone at `hertz`."""
        centre = hertz / self.bin_hz
        return self.bins(ceil(centre - HALF_LOBE), floor(centre + HALF_LOBE))

    def between(self, low_hz: float, high_hz: float) -> range:
        """The bins from `low_hz` to `high_hz`."""
        return self.bins(ceil(low_hz / self.bin_hz), floor(high_hz / self.bin_hz))

    def bins(self, first: int, last: int) -> range:
        """The bins from `first` to `last`, those that there are."""
        return range(max(first, 0), min(last + 1, self.count))

    def sum(self, bins: range) -> float:
        """Rms squared in `bins`."""
        return float(self.power[bins.start : bins.stop].sum())

    def noise_beside(self, bins: range, taken: NDArray[np.bool_]) -> float:
        """Noise a bin (rms squared) around `bins`, by the free bins beside them; `taken`: (bins,) those of lines.

        A median, so that a line nearby does not count; the mean of noise is its median over ln 2, since the power of
        a bin of noise is exponentially distributed. Zero where no bin is free.
        """
        around = self.bins(bins.start - _BESIDE, bins.stop - 1 + _BESIDE)
        free = self.power[around.start : around.stop][~taken[around.start : around.stop]]
        return float(np.median(free)) / log(2) if len(free) else 0.0

    def peak(self, bins: range, taken: NDArray[np.bool_] | None = None) -> float | None:
        """Hertz of the largest line in `bins` that is not `taken`, None where all are.

        Between bins by the parabola through the logarithms of three, within 0.02 bins for this window.
        """
        free = self.power[bins.start : bins.stop].copy()
        if taken is not None:
            free[taken[bins.start : bins.stop]] = -1.0
        if not len(free) or free.max() < 0:
            return None
        at = min(max(bins.start + int(free.argmax()), 1), self.count - 2)
        below, here, above = (log(max(float(self.power[at + step]), 1e-300)) for step in (-1, 0, 1))
        bend = below - 2 * here + above
        shift = 0.5 * (below - above) / bend if bend < 0 else 0.0
        return (at + min(max(shift, -0.5), 0.5)) * self.bin_hz


def spectrum(samples: NDArray[np.float64], rate: float) -> Spectrum:
    """The spectrum of `samples` (frames,) taken `rate` times a second, without what stands still in them."""
    weights = window(len(samples))
    level = float(weights @ samples) / float(weights.sum())
    lines = np.fft.rfft(weights * (samples - level))
    power = 2 * np.abs(lines) ** 2 / (len(samples) * float(weights @ weights))
    return Spectrum(power, rate / len(samples))
