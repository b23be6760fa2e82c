"""Samples that no figure can be taken from are refused, with what would be right."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.errors import SoundError
from benchtui.sound.tones import CYCLES

#: Samples at the ends of the range that make a capture a clipped one: a crest may touch an end once.
_TOUCHES = 3


def refuse_unusable(
    table: NDArray[np.float64], rate: float, channel: int | None, mains_hz: float, bits: int | None
) -> int:
    """The channel to tell, from 0, of `table` (frames, channels). Raises SoundError."""
    frames, channels = table.shape
    if not frames:
        raise SoundError("there is not one sample in the capture")
    if channel is not None and not 1 <= channel <= channels:
        raise SoundError(f"the capture has no channel {channel}, it has {channels}")
    if not np.isfinite(table).all():
        raise SoundError("the capture holds samples that are no numbers")
    at = channel - 1 if channel is not None else int(np.std(table, axis=0).argmax())
    told = table[:, at]
    if not np.ptp(told):
        raise SoundError(
            f"channel {at + 1} of the capture is silent, all its samples are alike: is its lead in, its input up?"
        )
    if frames / rate < CYCLES / mains_hz:
        need = CYCLES / mains_hz
        raise SoundError(f"{frames / rate:.2g} s are too short to tell hum: at least {need:.2g} s are wanted")
    refuse_clipped(told, at + 1, bits)
    return at


def refuse_clipped(samples: NDArray[np.float64], channel: int, bits: int | None) -> None:
    """Raise SoundError where `samples` (frames,) touch the ends of the converter's range."""
    top = 1.0 if bits is None else 1.0 - 1.5 * 2.0 ** (1 - bits)
    touches = int((np.abs(samples) >= top).sum())
    if touches >= _TOUCHES:
        raise SoundError(
            f"channel {channel} is clipped by the converter, {touches} samples are at full scale: "
            "turn its input down, or divide the signal further, and capture again"
        )
