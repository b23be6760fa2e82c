"""Where the values of an ensemble come from: one factor for each part and parameter, the same in every stage.

The first sample is the nominal build. The factors of the others are drawn evenly over the tolerance, one from each of
as many equal strips as there are of them (Latin hypercube: M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics
21(2), 1979, from memory), so that a few hundred samples cover each tolerance without gaps.
"""

from __future__ import annotations

from zlib import crc32

import numpy as np

from benchtui.circuit.elements import Value

SEED = 20260214


class Draw:
    """The factors of `samples` builds, the first of which is the nominal one, or of it alone when `samples` is None."""

    def __init__(self, samples: int | None = None, seed: int = SEED) -> None:
        self.samples = samples
        self._seed = seed
        self._drawn: dict[tuple[str, str], np.ndarray] = {}

    def factor(self, part: str, parameter: str, tolerance: tuple[float, float]) -> Value:
        """A factor around 1 for `parameter` of `part`, drawn evenly from 1 + low to 1 + high; shape (samples,)."""
        if self.samples is None:
            return 1.0
        key = (part, parameter)
        if key not in self._drawn:
            rng = np.random.default_rng([self._seed, crc32(f"{part}/{parameter}".encode())])
            others = self.samples - 1
            strip = (rng.permutation(others) + rng.random(others)) / max(others, 1)
            low, high = tolerance
            self._drawn[key] = np.concatenate([[1.0], 1.0 + low + (high - low) * strip])
        return self._drawn[key]

    @property
    def drawn(self) -> dict[tuple[str, str], np.ndarray]:
        """Every factor drawn so far by (part, parameter), each of shape (samples,)."""
        return dict(self._drawn)
