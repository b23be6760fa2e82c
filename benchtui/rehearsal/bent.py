"""Full power as it is found at a bench by turning the level up, also where an amplifier bends every sine."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from benchtui.circuit.clipping import Clipping, clipping, grid_level
from benchtui.circuit.driven import Drive, Driven
from benchtui.forecast.signal_bench import OnTest
from benchtui.forecast.signal_power import FullPower

#: Where more at the input brings no more at the load: of a step up, less than this share arrives.
_STEP, _ARRIVES, _STEPS = 1.3, 0.3, 24

#: What a generator gives at most (common practice, no source).
_MOST_V = 10.0

#: The first level, as a share of what takes a grid to its cathode.
_FIRST = 0.05


class AtBench(FullPower):
    """One build (one sample) up to the level at which whoever turns it up stops."""

    @cached_property
    def clipping(self) -> Clipping:
        return flattened(self.of)


def flattened(of: OnTest, *, harmonics: int | None = None) -> Clipping:
    """Just before it clips. Where every level is bent beyond the limit already, where more brings no more.

    NaN where even that is nowhere. `harmonics` are as for Drive.
    """
    drive = Drive(of.operating, of.source, of.hz, harmonics=harmonics)
    if not grid_level(drive)[0] < _MOST_V / _FIRST:  # hardly anything gets through
        return _at(drive.at(_MOST_V), of, np.array([_MOST_V]))
    found = clipping(drive, of.load)
    if found.emf_v[0] > _MOST_V:
        return _at(drive.at(_MOST_V), of, np.array([_MOST_V]))
    return found if np.isfinite(found.output_v[0]) else _no_more(drive, of)


def _no_more(drive: Drive, of: OnTest) -> Clipping:
    """The level before a step of which next to nothing arrives at the load."""
    level = _FIRST * grid_level(drive)
    state = drive.at(level)
    for _ in range(_STEPS):
        if _STEP * level[0] > _MOST_V:
            break
        further = drive.at(_STEP * level, state)
        before, after = (float(each.rms(*of.load)[0]) for each in (state, further))
        if not after > before * (1.0 + _ARRIVES * (_STEP - 1.0)):
            break
        level, state = _STEP * level, further
    return _at(state, of, level)


def _at(state: Driven, of: OnTest, level: np.ndarray) -> Clipping:
    wave = state.wave_of(*of.load, 256)
    return Clipping(state, level, state.rms(*of.load), state.thd(*of.load), wave.max(axis=1), -wave.min(axis=1))
