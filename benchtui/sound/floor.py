"""The converter's own floor: what no capture can be better than."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.errors import SoundError
from benchtui.sound.levels import dbfs
from benchtui.sound.spectrum import Spectrum, spectrum

#: A figure below this many times the floor's power (6 dB) is told as the floor's. Common practice, no source.
NEAR = 10**0.6

#: Rms of a capture with the input shorted, in parts of full scale, above which it is no such capture.
_QUIET = 0.01


@dataclass(frozen=True)
class Floor:
    """What is known of the floor: the `bits` of a sample, and a spectrum a channel taken with the input shorted."""

    bits: int | None = None
    quiet: tuple[Spectrum, ...] = ()

    def of_channel(self, at: int) -> Floor:
        """That of channel `at`, from 0; a capture with less channels stands for all by its last."""
        return Floor(self.bits, self.quiet[min(at, len(self.quiet) - 1) :][:1])

    def power(self, low_hz: float, high_hz: float, rate: float) -> float:
        """Rms squared of the first channel's floor from `low_hz` to `high_hz`: the larger of those known."""
        return max(self._of_bits(low_hz, high_hz, rate), self._of_quiet(low_hz, high_hz))

    def told_by(self, low_hz: float, high_hz: float, rate: float) -> Literal["", "bits", "capture"]:
        """Which of the two that is."""
        of_quiet, of_bits = self._of_quiet(low_hz, high_hz), self._of_bits(low_hz, high_hz, rate)
        if of_quiet > of_bits:
            return "capture"
        return "bits" if of_bits else ""

    def _of_bits(self, low_hz: float, high_hz: float, rate: float) -> float:
        """An ideal converter rounds: a step squared over 12, spread evenly up to half the rate (W. R. Bennett,
        "Spectra of quantized signals", Bell System Technical Journal 27, 1948, p. 446-472)."""
        if self.bits is None:
            return 0.0
        step = 2.0 ** (1 - self.bits)
        return step**2 / 12 * (high_hz - low_hz) / (rate / 2)

    def _of_quiet(self, low_hz: float, high_hz: float) -> float:
        return self.quiet[0].sum(self.quiet[0].between(low_hz, high_hz)) if self.quiet else 0.0


def quiet_floor(samples: NDArray[np.float64], rate: float, bits: int | None = None) -> Floor:
    """The floor by a capture (frames, channels) with the input shorted.

    Raises SoundError where it is no quiet one, or less than half a second.
    """
    if len(samples) < rate / 2 or not np.isfinite(samples).all():
        raise SoundError("the capture of the floor is too short: at least half a second is wanted, better ten")
    rms = float(np.std(samples, axis=0).max())
    if rms > _QUIET:
        raise SoundError(f"the capture of the floor has {dbfs(rms**2):.0f} dBFS in it: short the input for it")
    return Floor(bits, tuple(spectrum(channel, rate) for channel in samples.T))
