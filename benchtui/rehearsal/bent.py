"""Full power as it is found at a bench by turning the level up, also where an amplifier bends every sine."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from benchtui.circuit.clipping import Clipping, clipping, grid_level
from benchtui.circuit.driven import Drive
from benchtui.forecast.signal_bench import OnTest
from benchtui.forecast.signal_power import FullPower

#: Where more at the input brings no more at the load: of a step up, less than this share arrives.
_STEP, _ARRIVES, _STEPS = 1.3, 0.3, 24

#: The first level, as a share of what takes a grid to its cathode.
_FIRST = 0.05


class AtBench(FullPower):
    """One build (one sample) up to the level at which whoever turns it up stops."""

    @cached_property
    def clipping(self) -> Clipping:
        return flattened(self.of)


def flattened(of: OnTest) -> Clipping:
    """Just before it clips. Where every level is bent beyond the limit already, where more brings no more.

    NaN where even that is nowhere.
    """
    drive = Drive(of.operating, of.source, of.hz)
    found = clipping(drive, of.load)
    return found if np.isfinite(found.output_v[0]) else _no_more(drive, of)


def _no_more(drive: Drive, of: OnTest) -> Clipping:
    """Two thirds of a step are told by no needle: the level before the one that brought nearly nothing."""
    level = _FIRST * grid_level(drive)
    state = drive.at(level)
    for _ in range(_STEPS):
        further = drive.at(_STEP * level, state)
        before, after = (float(each.rms(*of.load)[0]) for each in (state, further))
        if not after > before * (1.0 + _ARRIVES * (_STEP - 1.0)):
            break
        level, state = _STEP * level, further
    wave = state.wave_of(*of.load, 256)
    return Clipping(state, level, state.rms(*of.load), state.thd(*of.load), wave.max(axis=1), -wave.min(axis=1))
