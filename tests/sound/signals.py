"""Signals with known answers: sines by frequency and decibels, noise of a known rms, all seeded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Made:
    """What goes into a signal. Levels of all but the tone are decibels against the tone's."""

    tone: float = 997.123
    peak: float = 0.5
    """Of the tone, full scale being 1."""

    harmonics: Mapping[int, float] = field(default_factory=dict)
    hum: Mapping[int, float] = field(default_factory=dict)
    mains: float = 49.93
    lines: Mapping[float, float] = field(default_factory=dict)
    """Hertz: decibels."""

    noise: float | None = None
    """Decibels of white noise up to half the rate."""

    offset: float = 0.0
    rate: float = 48000.0
    seconds: float = 5.0
    seed: int = 1

    def samples(self) -> NDArray[np.float64]:
        """The signal, (frames,)."""
        random = np.random.default_rng(self.seed)
        time = np.arange(int(self.rate * self.seconds)) / self.rate
        lines = {self.tone: 0.0, **self.lines}
        lines |= {n * self.tone: db for n, db in self.harmonics.items()}
        lines |= {m * self.mains: db for m, db in self.hum.items()}
        made = np.full(len(time), self.offset)
        for hertz, db in lines.items():
            made += self.peak * 10 ** (db / 20) * np.cos(2 * pi * hertz * time + random.uniform(0, 2 * pi))
        if self.noise is not None:
            made += self.peak / sqrt(2) * 10 ** (self.noise / 20) * random.standard_normal(len(time))
        return made


def percent(*decibels: float) -> float:
    """Lines of so many decibels together, in per cent."""
    return 100 * sqrt(sum(10 ** (db / 10) for db in decibels))


def quantised(samples: NDArray[np.float64], bits: int) -> NDArray[np.float64]:
    """`samples` as an ideal converter of so many bits has them."""
    step = 2.0 ** (1 - bits)
    return np.round(samples / step) * step
