"""What two channels of a stereo build read beside each other: mains, HT and types of valve are the same for both.

So the difference of a sound pair has a far narrower window than either reading. A channel whose own reading is sound
narrows the other's window; one that is off itself tells nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.forecast.drawn import Drawn
from benchtui.forecast.windows import joint_windows
from benchtui.verdicts.beside import Beside

#: How far the mains moves a reading from the moment of one channel to that of the other, as a share (common practice).
_MOMENT = 0.015

#: Times wider than 98 % of the ensemble: these windows come on top of each reading's own.
_WIDER = 1.2


def beside(drawn: Drawn, stray_v: Mapping[str, float]) -> tuple[Beside, ...]:
    """Every point of a stage beside the same one of each other channel; `stray_v` is what each strays by itself."""
    build, names = drawn.run.build, list(drawn.points)
    pairs = [(names.index(a), names.index(b)) for a, b in _sisters(build, names)]
    if not pairs:
        return ()
    one, other = (list(each) for each in zip(*pairs, strict=True))
    moment_v = _MOMENT * np.maximum(np.abs(drawn.nominal[one]), np.abs(drawn.nominal[other]))
    digits = np.hypot(drawn.last_digits[one], drawn.last_digits[other])
    windows = joint_windows(
        drawn.values[:, one] - drawn.values[:, other], drawn.nominal[one] - drawn.nominal[other], digits
    )
    found = []
    for (a, b), (low, high), strays in zip(pairs, windows, moment_v, strict=True):
        strays += stray_v[names[a]] + stray_v[names[b]]
        middle, half = (low + high) / 2.0, _WIDER * (high - low) / 2.0 + strays
        if np.isfinite(half):
            low, high = float(middle - half), float(middle + half)
            found += [Beside(names[a], names[b], low, high), Beside(names[b], names[a], -high, -low)]
    return tuple(found)


def _sisters(build: Build, names: list[str]) -> Iterator[tuple[str, str]]:
    """Points that differ by their channel's letter alone."""
    for a, b in combinations(build.channels, 2):
        for name in names:
            if name.endswith(a) and (other := f"{name.removesuffix(a)}{b}") in names:
                yield name, other
