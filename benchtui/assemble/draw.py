"""Where the values of an ensemble come from: one factor for each part and parameter, the same in every stage.

The factors are drawn evenly over the tolerance, one from each of as many equal strips as there are samples (Latin
hypercube: M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21(2), 1979, from memory), so that a few hundred
samples cover each tolerance without gaps.
"""

from __future__ import annotations

from zlib import crc32

import numpy as np

from benchtui.circuit.elements import Value

SEED = 20260214


class Draw:
    """The factors of `samples` builds, or of the nominal build when `samples` is None.

    With `nominal_first` the first of the builds is the nominal one.
    """

    def __init__(self, samples: int | None = None, seed: int = SEED, *, nominal_first: bool = False) -> None:
        self.samples = samples
        self._nominal_first = nominal_first
        self._seed = seed
        self._drawn: dict[tuple[str, str], np.ndarray] = {}

    def factor(self, part: str, parameter: str, tolerance: tuple[float, float]) -> Value:
        """A factor around 1 for `parameter` of `part`, drawn evenly from 1 + low to 1 + high; shape (samples,)."""
        if self.samples is None:
            return 1.0
        key = (part, parameter)
        if key not in self._drawn:
            rng = np.random.default_rng([self._seed, crc32(f"{part}/{parameter}".encode())])
            strip = (rng.permutation(self.samples) + rng.random(self.samples)) / self.samples
            low, high = tolerance
            self._drawn[key] = 1.0 + low + (high - low) * strip
            if self._nominal_first:
                self._drawn[key][0] = 1.0
        return self._drawn[key]

    @property
    def drawn(self) -> dict[tuple[str, str], np.ndarray]:
        """Every factor drawn so far by (part, parameter), each of shape (samples,)."""
        return dict(self._drawn)
