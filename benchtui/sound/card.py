"""Recording from a sound card."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.capture import INSTALL
from benchtui.sound.errors import CardError, SoundError

#: Seconds that can be recorded.
SHORTEST_S, LONGEST_S = 0.5, 600.0


@dataclass(frozen=True)
class Recording:
    """`samples`: (frames, channels), full scale from -1 to 1; `device`: the card's name."""

    samples: NDArray[np.float64]
    rate: float
    device: str


def refuse_seconds(seconds: float) -> None:
    """Raise SoundError where `seconds` cannot be recorded."""
    if not (isfinite(seconds) and SHORTEST_S <= seconds <= LONGEST_S):
        raise SoundError(f"{seconds:g} s cannot be recorded, {SHORTEST_S:g} to {LONGEST_S:g} s can")


def record(seconds: float, device: str | None = None, rate: float | None = None) -> Recording:
    """Record `seconds` from `device` (a part of its name, by default the system's input) at `rate` or its own.

    Two channels where it has them. Waits until it is done. Raises CardError where there is no card or it refuses,
    SoundError for seconds that make no sense.
    """
    refuse_seconds(seconds)
    try:
        import sounddevice
    except ModuleNotFoundError as error:
        raise CardError(f"cards are read by the package sounddevice, which is not installed, {INSTALL}") from error
    except OSError as error:
        words = "the library PortAudio, which reads sound cards, is not installed (Debian: apt install libportaudio2)"
        raise CardError(words) from error
    try:
        found = sounddevice.query_devices(device, "input")
        at = float(rate or found["default_samplerate"])
        channels = min(int(found["max_input_channels"]), 2)
        # the first tenth of a second is left out: cards click when they start
        skip = int(at / 10)
        samples = sounddevice.rec(
            int(seconds * at) + skip, samplerate=at, channels=channels, dtype="float32", device=device, blocking=True
        )
    except (sounddevice.PortAudioError, ValueError) as error:
        raise CardError(f"the sound card cannot record: {' '.join(str(error).split())}") from error
    return Recording(np.asarray(samples[skip:], float), at, str(found["name"]))
