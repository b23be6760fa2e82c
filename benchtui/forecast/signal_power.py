"""A channel driven to full power: where it clips, what it takes, how its halves differ, what it distorts before."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from benchtui.circuit.clipping import Clipping, clipping
from benchtui.circuit.driven import Drive, Driven
from benchtui.circuit.operating import Operating
from benchtui.circuit.signal import Pair, gain
from benchtui.forecast.signal_bench import Channel

BUILDS = 24
"""Of the ensemble, so many are driven: what they leave open of its edge the windows are widened by."""


@dataclass(frozen=True, eq=False)
class FullPower:
    """One channel up to clipping: the nominal build, and the first of the drawn ones."""

    of: Channel
    load: Pair

    @cached_property
    def nominal(self) -> Clipping:
        return clipping(self._drive(self.of.nominal), self.load)

    @cached_property
    def drawn(self) -> Clipping:
        return clipping(self._drive(self._few), self.load)

    @property
    def nominal_input_v(self) -> np.ndarray:
        """Volts rms at the input just before clipping (1,)."""
        return self.nominal.emf_v * self._at_input(self.of.nominal)

    @property
    def drawn_input_v(self) -> np.ndarray:
        """The same of the drawn builds (samples,)."""
        return self.drawn.emf_v * self._at_input(self._few)

    def half_power(self) -> tuple[Driven, Driven]:
        """The nominal build and the drawn ones at half of that power: 0.707 of the level."""
        nominal, drawn = (
            full.driven.drive.at(np.nan_to_num(full.emf_v) / np.sqrt(2.0)) for full in (self.nominal, self.drawn)
        )
        return nominal, drawn

    def read(self, id: str, volts: np.ndarray) -> np.ndarray:
        """Volts of the drawn builds (samples,) as the meter shows them."""
        whole = np.resize(volts, self.of.ensemble.samples)  # the meter is drawn for the whole ensemble
        return self.of.read(id, whole)[: volts.size]

    @cached_property
    def _few(self) -> Operating:
        return self.of.ensemble.take(np.arange(min(BUILDS, self.of.ensemble.samples)))

    def _drive(self, operating: Operating) -> Drive:
        return Drive(operating, self.of.source, self.of.hz)

    def _at_input(self, operating: Operating) -> np.ndarray:
        source = self.of.source
        return np.abs(gain(operating, source, [(source.pos, source.neg)], np.array([self.of.hz])))[:, 0, 0]
