"""The mains frequency as a capture shows it: the grid is never just at 50 or 60 Hz."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from benchtui.sound.floor import NEAR
from benchtui.sound.shares import Shares

#: How many multiples of the mains are counted as hum.
MULTIPLES = 10

#: Grids keep within 1 % for 99.5 % of a year (EN 50160, read in a secondary text).
SPREAD = 0.01

#: A line this many times above the noise beside it tells the frequency.
_CLEAR = 30.0


@dataclass(frozen=True)
class Signs:
    """The mains frequency that clear lines speak for, and how many of them agree on it."""

    mains_hz: float
    agree: int


@dataclass(frozen=True)
class _Sign:
    """A clear line near a multiple of the mains: the frequency it speaks for, how near it tells that, its weight."""

    mains_hz: float
    within_hz: float
    weight: float


def signs_of_mains(shares: Shares, nominal_hz: float) -> Signs | None:
    """The mains frequency near `nominal_hz` by the lines that are not yet claimed; None where no line stands out.

    Each multiple that stands out speaks for one, the better the higher it is and the further it stands out. That with
    which most others agree is taken, since something else may stand near one multiple, and of several the best.
    """
    signs = list(_signs(shares, nominal_hz))
    if not signs:
        return None

    def agree(one: _Sign) -> int:
        return sum(abs(one.mains_hz - other.mains_hz) <= one.within_hz + other.within_hz for other in signs)

    best = max(signs, key=lambda one: (agree(one), one.weight))
    return Signs(best.mains_hz, agree(best))


def _signs(shares: Shares, nominal_hz: float) -> Iterator[_Sign]:
    spectrum = shares.spectrum
    for order in range(1, MULTIPLES + 1):
        bins = spectrum.between(order * nominal_hz * (1 - SPREAD), order * nominal_hz * (1 + SPREAD))
        hertz = spectrum.peak(bins, shares.taken)
        if hertz is None:
            continue
        lobe = spectrum.lobe(hertz)
        peak = float(spectrum.power[round(hertz / spectrum.bin_hz)])
        noise = spectrum.noise_beside(lobe, shares.taken)
        clear = peak / noise if noise else float(peak > 0) * 1e30
        if clear > _CLEAR and spectrum.sum(lobe) > NEAR * shares.floor(lobe):
            yield _Sign(hertz / order, spectrum.bin_hz / 2 / order, order**2 * clear)
