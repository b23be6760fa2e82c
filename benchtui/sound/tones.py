"""Which line of a spectrum is the tone that was fed."""

from __future__ import annotations

import numpy as np

from benchtui.sound.errors import SoundError
from benchtui.sound.mains import SPREAD
from benchtui.sound.spectrum import Spectrum

#: How far a tone may be from where it is said to be.
NEAR = 0.05

#: A tone's lobe holds this many times the noise in it.
_CLEAR = 100.0

#: A largest line at up to so many times the mains is taken for hum.
_HUM = 4

#: Cycles of a tone that a capture must hold: its lobe is 14 bins wide, and noise is looked for beside it.
CYCLES = 20


def find_tone(
    seen: Spectrum, mains_hz: float, band: tuple[float, float], near_hz: float | None, fed: bool | None
) -> tuple[float | None, tuple[str, ...]]:
    """Hertz of the tone, None where there is none, and what is to be remarked of it. Raises SoundError."""
    if fed is False:
        return None, ()
    # a tone at the very edge of the band has its largest bin just outside
    low, high = (near_hz, near_hz) if near_hz else band
    bins = seen.between(low * (1 - NEAR), high * (1 + NEAR))
    still = seen.lobe(0.0).stop if near_hz is None else 1
    hertz = seen.peak(seen.bins(max(bins.start, still), bins.stop - 1))
    clear = hertz is not None and _stands_out(seen, hertz)
    if not clear or hertz is None:
        if fed or near_hz is not None:
            where = "in the capture" if near_hz is None else f"within 5 % of {near_hz:g} Hz"
            raise SoundError(f"no tone stands out {where}: feed a steady sine, or say that none is fed")
        return None, ("no tone stands out, so hum and noise alone are told",)
    times = round(hertz / mains_hz)
    at_mains = 1 <= times <= _HUM and abs(hertz - times * mains_hz) <= times * mains_hz * SPREAD
    if at_mains and fed is None and near_hz is None:
        return None, (
            f"the largest line, {hertz:.2f} Hz, is {times} times the mains: taken for hum, no tone; "
            f"if it is your tone, say so (--tone {hertz:.0f})",
        )
    if hertz * seen.seconds < CYCLES:
        need = CYCLES / hertz
        raise SoundError(f"{seen.seconds:.2g} s are too short for {hertz:.1f} Hz: at least {need:.2g} s are wanted")
    return hertz, ()


def _stands_out(seen: Spectrum, hertz: float) -> bool:
    lobe = seen.lobe(hertz)
    taken = np.zeros(seen.count, bool)
    taken[lobe.start : lobe.stop] = True
    return seen.sum(lobe) > _CLEAR * len(lobe) * seen.noise_beside(lobe, taken)
