"""Level against frequency, from one capture a frequency, and where it has fallen by 3 dB."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import log

from benchtui.sound.errors import SoundError

#: 10 log 2: half the power.
CORNER_DB = 3.0103

#: Where the middle of a response is.
_MIDDLE_HZ = 1000.0

#: Captures that corners are told from.
_ENOUGH = 3


@dataclass(frozen=True)
class Point:
    """One capture: `db` against the one at the middle."""

    hertz: float
    dbfs: float
    db: float


@dataclass(frozen=True)
class Response:
    """`points` by frequency; `middle_hz` is the one nearest to 1 kHz; corners are None where they lie outside."""

    points: tuple[Point, ...]
    middle_hz: float
    low_hz: float | None
    high_hz: float | None


def response(levels: Iterable[tuple[float, float]]) -> Response:
    """The response through (hertz, dBFS) of captures with the same input level.

    Corners lie where the straight line over the logarithm of frequency between two captures crosses -3 dB, first seen
    from the middle outwards. Raises SoundError for less than two captures, or two at one frequency.
    """
    known = sorted(levels)
    if len(known) < 2:
        raise SoundError("a response is told from captures at two frequencies or more")
    for (before, _), (after, _) in zip(known, known[1:], strict=False):
        if after < before * 1.001:
            raise SoundError(f"two captures are of the same frequency, {before:.1f} Hz: give one of each")
    middle = min(range(len(known)), key=lambda at: abs(log(known[at][0] / _MIDDLE_HZ)))
    points = tuple(Point(hertz, level, level - known[middle][1]) for hertz, level in known)
    enough = len(points) >= _ENOUGH
    return Response(
        points=points,
        middle_hz=points[middle].hertz,
        low_hz=_corner(points[middle::-1]) if enough else None,
        high_hz=_corner(points[middle:]) if enough else None,
    )


def _corner(outwards: tuple[Point, ...]) -> float | None:
    for inner, outer in zip(outwards, outwards[1:], strict=False):
        if outer.db <= -CORNER_DB < inner.db:
            part = (inner.db + CORNER_DB) / (inner.db - outer.db)
            return inner.hertz * (outer.hertz / inner.hertz) ** part
    return None
