"""The response of a finished channel over frequency: the nominal build, its feedback closed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.circuit.signal import response
from benchtui.forecast.signal_bench import nominal_channel
from benchtui.forecast.signal_path import SignalPath

SPAN_HZ = (1.0, 1e6)


@dataclass(frozen=True)
class Course:
    """Decibels over hertz, 0 at the test tone `tone_hz`, and where it is 3 dB down (NaN where it never is)."""

    hz: tuple[float, ...]
    db: tuple[float, ...]
    tone_hz: float
    low_hz: float
    high_hz: float


@lru_cache(maxsize=8)
def channel_response(build: Build, path: SignalPath) -> Course:
    """The response from the input of `path` to its load, at rated mains.

    Raises ValueError where the stage does not settle, or oscillates as the build file has it.
    """
    test = nominal_channel(build, path, None, "closed")
    found = test.operating
    if found.blame[0] is not None:
        raise ValueError(f"the response could not be solved, node {found.blame[0]} does not settle")
    if not test.stable[0]:
        raise ValueError("as the build file has it, the amplifier oscillates, so it has no response")
    of = response(found, test.source, test.load, middle_hz=test.hz, span_hz=SPAN_HZ)
    db = 20.0 * np.log10(np.abs(of.gain[0]) / of.mid[0])
    ends = float(of.low_hz[0]), float(of.high_hz[0])
    return Course(tuple(map(float, of.hz)), tuple(map(float, db)), test.hz, *ends)
