"""A channel driven to full power: where it clips, what it takes, and its state at half of that power."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from benchtui.circuit.clipping import Clipping, clipping
from benchtui.circuit.driven import Drive, Driven
from benchtui.circuit.signal import gain
from benchtui.forecast.signal_bench import OnTest

BUILDS = 24
"""Of the ensemble, so many are driven: what they leave open of its edge the windows are widened by."""


@dataclass(frozen=True, eq=False)
class FullPower:
    """The builds of one channel up to clipping."""

    of: OnTest

    @cached_property
    def clipping(self) -> Clipping:
        """Just before they clip."""
        return clipping(Drive(self.of.operating, self.of.source, self.of.hz), self.of.load)

    @property
    def input_v(self) -> np.ndarray:
        """Volts rms at the input just before clipping (samples,)."""
        source = self.of.source
        at_input = gain(self.of.operating, source, [(source.pos, source.neg)], np.array([self.of.hz]))
        return self.clipping.emf_v * np.abs(at_input)[:, 0, 0]

    @cached_property
    def half(self) -> Driven:
        """At half of that power: 0.707 of the level."""
        return self.clipping.driven.drive.at(np.nan_to_num(self.clipping.emf_v) / np.sqrt(2.0))
