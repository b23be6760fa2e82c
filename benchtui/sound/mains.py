"""The mains frequency as a capture shows it: the grid is never just at 50 or 60 Hz."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.spectrum import Spectrum

#: How many multiples of the mains are counted as hum.
MULTIPLES = 10

#: Grids keep within 1 % for 99.5 % of a year (EN 50160, read in a secondary text).
SPREAD = 0.01

#: A line this many times above the noise beside it tells the frequency.
_CLEAR = 30.0


@dataclass(frozen=True)
class _Sign:
    """A clear line near a multiple of the mains: the frequency it speaks for, how near it tells that, its weight."""

    mains_hz: float
    within_hz: float
    weight: float


def find_mains(spectrum: Spectrum, taken: NDArray[np.bool_], nominal_hz: float) -> tuple[float, bool]:
    """The mains frequency in hertz and whether it was found; `taken` (bins,) are those of tone and harmonics.

    Each multiple that stands out speaks for one, the better the higher it is and the further it stands out. That with
    which most others agree is taken, since something else may stand near one multiple, and of several the best. Where
    no line stands out it is the nominal frequency.
    """
    signs = list(_signs(spectrum, taken, nominal_hz))
    if not signs:
        return nominal_hz, False

    def worth(one: _Sign) -> tuple[int, float]:
        agree = sum(abs(one.mains_hz - other.mains_hz) <= one.within_hz + other.within_hz for other in signs)
        return agree, one.weight

    return max(signs, key=worth).mains_hz, True


def _signs(spectrum: Spectrum, taken: NDArray[np.bool_], nominal_hz: float) -> Iterator[_Sign]:
    for order in range(1, MULTIPLES + 1):
        bins = spectrum.between(order * nominal_hz * (1 - SPREAD), order * nominal_hz * (1 + SPREAD))
        hertz = spectrum.peak(bins, taken)
        if hertz is None:
            continue
        peak = float(spectrum.power[round(hertz / spectrum.bin_hz)])
        noise = spectrum.noise_beside(spectrum.lobe(hertz), taken)
        clear = peak / noise if noise else float(peak > 0) * 1e30
        if clear > _CLEAR:
            yield _Sign(hertz / order, spectrum.bin_hz / 2 / order, order**2 * clear)
