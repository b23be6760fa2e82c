"""Which line each bin of a spectrum belongs to, and what is left for the noise."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.figures import Bound
from benchtui.sound.floor import NEAR, Floor
from benchtui.sound.spectrum import Spectrum

#: A lobe that holds less than this many times the noise in it is no line: its power scatters by about half its mean.
_CLEAR = 4.0

_FREE, _STILL = -1, -2


class Shares:
    """The bins of a spectrum dealt out to lines, first come first served."""

    def __init__(self, spectrum: Spectrum, floor: Floor) -> None:
        self.spectrum = spectrum
        self._floor = floor
        self._owner = np.full(spectrum.count, _FREE)
        still = spectrum.lobe(0.0)
        self._owner[still.start : still.stop] = _STILL
        self.taken: NDArray[np.bool_] = self._owner != _FREE
        """(bins,) whether a bin belongs to a line, or to what stands still."""
        self._lines: list[Share] = []

    def claim(self, hertz: float) -> Share:
        """The share of the line at `hertz`. One that overlaps an earlier line goes into that one, and is hidden."""
        lobe = self.spectrum.lobe(hertz)
        owners = self._owner[lobe.start : lobe.stop]
        share = Share(self, len(self._lines), lobe)
        self._lines.append(share)
        earlier = owners[owners != _FREE]
        owner = int(earlier[0]) if len(earlier) else share.number
        share.hidden = bool(len(earlier))
        if share.hidden and owner >= 0:
            self._lines[owner].take_in(lobe)
        owners[owners == _FREE] = owner
        self.taken[lobe.start : lobe.stop] = True
        return share

    def own(self, number: int, within: range) -> NDArray[np.float64]:
        """The power of the bins of line `number`, all of which are `within`."""
        piece = slice(within.start, within.stop)
        return self.spectrum.power[piece][self._owner[piece] == number]

    def rest(self, low_hz: float, high_hz: float) -> float:
        """Rms squared from `low_hz` to `high_hz` without the lines; where lines stand, as much noise as beside them."""
        band = self.spectrum.between(low_hz, high_hz)
        power = self.spectrum.power[band.start : band.stop]
        free = float(power[self._owner[band.start : band.stop] == _FREE].sum())
        return free + sum(line.noise for line in self._lines if not line.hidden and line.within(low_hz, high_hz))

    def floor(self, bins: range) -> float:
        """Rms squared of the converter's floor over `bins`."""
        each = self.spectrum.bin_hz
        low, high = (bins.start - 0.5) * each, (bins.stop - 0.5) * each
        return self._floor.power(low, high, 2 * (self.spectrum.count - 1) * each)


class Share:
    """A line's bins in a spectrum. `hidden`: another line had them first; `shared`: another's went into them."""

    def __init__(self, shares: Shares, number: int, lobe: range) -> None:
        self._shares = shares
        self._lobe = lobe
        self._reach = lobe
        self.number = number
        self.hidden = False
        self.shared = False

    def take_in(self, lobe: range) -> None:
        """Another line goes into this one."""
        self.shared = True
        self._reach = range(min(self._reach.start, lobe.start), max(self._reach.stop, lobe.stop))

    def within(self, low_hz: float, high_hz: float) -> bool:
        """Whether its middle lies in the band."""
        middle = (self._lobe.start + self._lobe.stop - 1) / 2 * self._shares.spectrum.bin_hz
        return low_hz <= middle <= high_hz

    @property
    def noise(self) -> float:
        """Noise in its bins (rms squared), by the bins beside them."""
        beside = self._shares.spectrum.noise_beside(self._lobe, self._shares.taken)
        return beside * len(self._shares.own(self.number, self._reach))

    @property
    def whole(self) -> float:
        """All that is in its bins, rms squared."""
        return float(self._shares.own(self.number, self._reach).sum())

    @property
    def power(self) -> float:
        """The line alone, rms squared: what is in its bins without the noise."""
        return 0.0 if self.hidden else max(self.whole - self.noise, 0.0)

    def judged(self) -> tuple[float, Bound]:
        """The figure to tell, rms squared, and how far it may be trusted."""
        if self.hidden:
            return 0.0, "hidden"
        whole = self.whole
        floor = self._shares.floor(self._reach)
        if whole < NEAR * floor:
            return max(whole, floor), "floor"
        if whole < _CLEAR * self.noise:
            return whole, "noise"
        return self.power, "hum" if self.shared else ""


def joined(shares: Sequence[Share]) -> tuple[float, Bound]:
    """Several lines together: the clear ones, or where none is clear what they are at most."""
    judged = [share.judged() for share in shares]
    clear = [power for power, bound in judged if bound in ("", "hum")]
    if clear:
        return sum(clear), "hum" if any(bound == "hum" for _, bound in judged) else ""
    bounds = {bound for _, bound in judged}
    told: Bound = "floor" if "floor" in bounds else "noise" if "noise" in bounds else "hidden"
    return sum(power for power, _ in judged), told
