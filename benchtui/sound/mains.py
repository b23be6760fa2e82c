"""The mains frequency as a capture shows it: the grid is never just at 50 or 60 Hz."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.spectrum import Spectrum

#: How many multiples of the mains are counted as hum.
MULTIPLES = 10

#: Grids keep within 1 % for 99.5 % of a year (EN 50160, read in a secondary text).
SPREAD = 0.01

#: A line this many times above the noise beside it tells the frequency.
_CLEAR = 30.0


def find_mains(spectrum: Spectrum, taken: NDArray[np.bool_], nominal_hz: float) -> tuple[float, bool]:
    """The mains frequency in hertz and whether it was found; `taken` (bins,) are those of tone and harmonics.

    Each multiple that stands out tells it, the better the higher it is and the further it stands out. Where none does,
    the nominal frequency.
    """
    best, weight = nominal_hz, 0.0
    for order in range(1, MULTIPLES + 1):
        bins = spectrum.between(order * nominal_hz * (1 - SPREAD), order * nominal_hz * (1 + SPREAD))
        hertz = spectrum.peak(bins, taken)
        if hertz is None:
            continue
        peak = float(spectrum.power[round(hertz / spectrum.bin_hz)])
        noise = spectrum.noise_beside(spectrum.lobe(hertz), taken)
        clear = peak / noise if noise else float(peak > 0) * 1e30
        if clear > _CLEAR and order**2 * clear > weight:
            best, weight = hertz / order, order**2 * clear
    return best, weight > 0
