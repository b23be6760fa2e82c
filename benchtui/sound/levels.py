"""From power in parts of full scale to the levels that are told."""

from __future__ import annotations

from dataclasses import dataclass
from math import log10, sqrt

from benchtui.sound.figures import Bound, Level


def dbfs(power: float) -> float | None:
    """`power` (rms squared, parts of full scale) in dB of a sine that fills the range; None for nothing at all.

    That 0 dBFS is the rms of a full-scale sine is AES17's definition (from memory).
    """
    return 10 * log10(2 * power) if power > 0 else None


@dataclass(frozen=True)
class Scale:
    """How levels are told: `volts_full_scale` is rms of a sine that fills the range, `tone` the tone's power."""

    volts_full_scale: float | None
    tone: float | None

    def level(self, power: float, bound: Bound = "") -> Level:
        """The level of `power`; of a line that another one hides there is none."""
        if bound == "hidden":
            return Level(None, bound=bound)
        volts = None if self.volts_full_scale is None else self.volts_full_scale * sqrt(2 * power)
        ratio = power / self.tone if self.tone else None
        return Level(
            dbfs=dbfs(power),
            volts=volts,
            dbc=10 * log10(ratio) if ratio else None,
            percent=None if ratio is None else 100 * sqrt(ratio),
            bound=bound,
        )
