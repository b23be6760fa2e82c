"""Where an amplifier begins to clip: the largest sine whose distortion still is under a limit.

The limit is total harmonic distortion, as for the "distortion-limited output power" of IEC 60268-3 (from memory), for
it is what a sound card reads and can be told from one cycle. At 3 % a flattened crest begins to show on an oscilloscope
(common practice, no source). Behind feedback clipping comes suddenly, and 1 or 5 % give nearly the same power; without
it, and single-ended, valves bend the sine long before, and their data sheets print 5 to 10 % (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from benchtui.circuit.driven import Drive, Driven
from benchtui.circuit.signal import Pair

THD = 0.03

FIRST, STEP, STEPS = 0.2, 1.3, 20
"""Of the search: its first level as a share of that which takes a grid to its cathode, then the factor of its rise."""

HOPELESS = 10.0
"""Times the limit, at which the search ends once a grid's crest has reached its cathode; it ends, too, unsettled."""

REFINED = 6
"""How often the level is sought again between the last clean one and the first that is not."""

CLOSE = 0.005
"""Share of the level within which it is found."""


@dataclass(frozen=True, eq=False)
class Clipping:
    """The state just before clipping, each (samples,): EMF and output in V rms, distortion as a share, crests in V.

    NaN where the limit was not met within the range of the search. The half with the lower crest is the one that
    flattens first.
    """

    driven: Driven
    emf_v: np.ndarray
    output_v: np.ndarray
    thd: np.ndarray
    positive_v: np.ndarray
    negative_v: np.ndarray

    @property
    def first_half(self) -> np.ndarray:
        """1 where the positive half clips first, -1 where the negative does (samples,)."""
        return np.sign(self.negative_v - self.positive_v)

    def watts(self, load_ohm: np.ndarray | float) -> np.ndarray:
        """Output power into a load between the probe's nodes (samples,)."""
        return self.output_v**2 / load_ohm


def clipping(drive: Drive, probe: Pair, *, thd: float = THD) -> Clipping:
    """The largest drive at which the output between two nodes has at most `thd` of its first harmonic in the others.

    The search goes upwards and takes the first crossing after a clean level: a pair with too little idle current has
    its share of distortion at low levels, which does not count. Raises KeyError for nodes that the circuit lacks.
    """
    at_grid = grid_level(drive)
    level, going = FIRST * at_grid, drive.operating.settled
    low, under = np.full(level.shape, np.nan), np.full(level.shape, np.nan)
    high, over = low.copy(), low.copy()
    state: Driven | None = None
    for _ in range(STEPS):
        state = drive.at(level, state)
        now = _excess(state, probe, thd)
        clean, open_ = now <= 0, np.isnan(high)
        low, under = np.where(open_ & clean, level, low), np.where(open_ & clean, now, under)
        past = open_ & ~clean & ~np.isnan(low)
        high, over = np.where(past, level, high), np.where(past, now, over)
        going = going & np.isnan(high) & ((level < at_grid) | (now < np.log(HOPELESS)))
        level = np.where(going, STEP * level, level)
        if not going.any():
            break
    for _ in range(REFINED):
        if not (high > (1.0 + CLOSE) * low).any():
            break
        level = _between(low, high, under, over)
        state = drive.at(np.nan_to_num(level), state)
        now = _excess(state, probe, thd)
        clean = now <= 0
        low, under = np.where(clean, level, low), np.where(clean, now, under)
        high, over = np.where(clean, high, level), np.where(clean, over, now)
    state = drive.at(np.nan_to_num(low), state)
    return _found(state, probe, low, np.isnan(high))


def grid_level(drive: Drive) -> np.ndarray:
    """V rms of EMF (samples,) at which the first grid's crest reaches its cathode, were all linear."""
    grids = np.flatnonzero(drive.places[:, 1] == 2)
    swing = np.sqrt(2.0) * np.abs(drive.linear_volts()[:, grids])
    bias = np.abs(drive.rest_volts()[:, grids])
    with np.errstate(all="ignore"):
        level = np.where((swing > 0) & (bias > 0), bias / swing, np.inf).min(axis=1, initial=np.inf)
    return np.where(np.isfinite(level), level, 1.0)


def _excess(state: Driven, probe: Pair, thd: float) -> np.ndarray:
    """Logarithm of the distortion over the limit (samples,)."""
    return np.log(np.maximum(state.thd(*probe), 1e-12) / thd)


def _between(low: np.ndarray, high: np.ndarray, under: np.ndarray, over: np.ndarray) -> np.ndarray:
    """The level where a straight line in logarithms crosses, off both ends; the middle where one end did not settle."""
    share = np.clip(np.where(np.isfinite(over - under), -under / (over - under), 0.5), 0.1, 0.9)
    return low * (high / low) ** share


def _found(state: Driven, probe: Pair, low: np.ndarray, missed: np.ndarray) -> Clipping:
    wave = state.wave_of(*probe, 256)
    found = [low, state.rms(*probe), state.thd(*probe), wave.max(axis=1), -wave.min(axis=1)]
    return Clipping(state, *(np.where(missed, np.nan, each) for each in found))
