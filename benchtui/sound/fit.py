"""A sine through samples: the four-parameter fit of IEEE Std 1057 (waveform recorders), least squares by iteration.

The method there: from a first frequency solve for the parts in phase and at right angles, the offset and a change of
frequency; take the changed frequency; repeat. The first frequency comes from the windowed transform.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees, hypot, pi, sqrt

import numpy as np
from numpy.typing import NDArray

#: Steps at most; from a frequency within a tenth of a bin three or four do.
_STEPS = 12


@dataclass(frozen=True)
class SineFit:
    """`amplitude * cos(2 pi hertz t + phase) + offset`, t from the first sample; levels in parts of full scale."""

    hertz: float
    amplitude: float
    phase_deg: float
    offset: float
    residual_rms: float
    settled: bool
    """Whether the frequency came to rest; where it did not, it is no figure to trust."""


def fit_sine(samples: NDArray[np.float64], rate: float, first_hz: float) -> SineFit:
    """The sine that leaves least of `samples` (frames,), from the first frequency `first_hz`.

    Settles from within half a bin (`rate` / frames) of the true frequency; a longer way is stopped, and told so.
    """
    count = len(samples)
    # time from the middle, as a part of the half length: the columns are then near to square to each other
    time = (np.arange(count) - (count - 1) / 2) * (2 / count)
    to_hertz = rate / count / pi  # from turns of the phase over half the capture
    omega = first_hz / to_hertz
    settled = False
    inside, across, offset = _solved(samples, *_columns(time, omega))[:3]
    for _ in range(_STEPS):
        cosine, sine = _columns(time, omega)
        slope = time * (across * cosine - inside * sine)
        inside, across, offset, change = _solved(samples, cosine, sine, slope)
        omega += change
        if abs(change) < 1e-10:
            settled = True
            break
    cosine, sine = _columns(time, omega)
    inside, across, offset = _solved(samples, cosine, sine)
    rest = samples - (inside * cosine + across * sine + offset)
    near = abs(omega * to_hertz - first_hz) <= rate / count
    start = atan2(-across, inside) + omega * time[0]
    return SineFit(
        hertz=omega * to_hertz,
        amplitude=hypot(inside, across),
        phase_deg=(degrees(start) + 180) % 360 - 180,
        offset=offset,
        residual_rms=sqrt(float(rest @ rest) / count),
        settled=settled and near,
    )


def _columns(time: NDArray[np.float64], omega: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    return np.cos(omega * time), np.sin(omega * time)


def _solved(samples: NDArray[np.float64], *columns: NDArray[np.float64]) -> tuple[float, ...]:
    """Least squares for the columns and a constant: first two columns, the constant, then the third."""
    ordered = np.stack([*columns[:2], np.ones_like(samples), *columns[2:]])
    return tuple(float(each) for each in np.linalg.solve(ordered @ ordered.T, ordered @ samples))
