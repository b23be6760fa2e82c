"""How far a reading has moved from an earlier one of the same amplifier, the mains reckoned out, and how sure that is.

Readings are compared by what the build file makes of them on the mains of their moment. What two readings by that meter
allow, the mains among them, is no move.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite

from benchtui.buildfile.models import Build
from benchtui.parts.guide import spread
from benchtui.parts.guide import value as guide
from benchtui.procedure.plan import Point
from benchtui.quantities.tolerance import FINEST_OHM, FINEST_V, last_digit
from benchtui.session.signed import Read

#: Kinds that are compared by their difference: what they should read is next to nothing, or it is no volts.
_BY_STEP = ("grid", "bond", "winding")

#: Last digits on the lowest ranges.
_FINEST = {"V": FINEST_V, "ohm": FINEST_OHM, "degC": 0.1}

#: A reading under so many last digits is no base for a share: these are.
_LEAST_DIGITS = 20.0


@dataclass(frozen=True, slots=True)
class Moved:
    """How far: `off` in the unit of the reading, the mains reckoned out, and `by` as it is judged, of which up to
    `unsure` is no move. `by` is a share of what it was, or what it is `off`, where that tells more (`step`)."""

    by: float
    unsure: float
    off: float
    step: bool

    @property
    def none(self) -> bool:
        """Is it within what two readings allow?"""
        return abs(self.by) <= self.unsure


def compare(build: Build, kind: str, point: Point, then: Read | None, now: Read) -> Moved | None:
    """How far a reading of a kind (ageing.py) has moved; None where nothing can be told: not read then, by another
    instrument, or on a mains that nobody knows."""
    if then is None or then.by != now.by:
        return None
    most = guide("moved.open") if kind == "insulation" else inf
    was, is_ = min(then.value, most), min(now.value, most)
    correction = _correction(build, point.unit, then, now)
    if correction is None or not (isfinite(was) and isfinite(is_)):
        return None
    if kind in _BY_STEP:
        off = is_ - was - _step(then, now)
        return Moved(off, _unsure_step(build, kind, point, was, is_, now.by), off, True)
    ratio, loose = correction
    was *= ratio
    digit = _digit(build, point.unit, max(abs(was), abs(is_)))
    base = max(abs(was), _LEAST_DIGITS * digit)
    off = (is_ - was) * (-1.0 if was < 0.0 else 1.0)
    share, digits = _accuracy(build, point)
    unsure = (share * (abs(was) + abs(is_)) + 2.0 * digits * digit) / base + loose
    if now.mains_v is not None:
        unsure += 2.0 * build.meter.ac[0] * guide("moved.mains_slope") + _again(kind)
    return Moved(off / base, unsure, off, base > abs(was))


def _correction(build: Build, unit: str, then: Read, now: Read) -> tuple[float, float] | None:
    """By how much the mains alone moved a reading, and how unsure that is; None where nobody knows the mains.

    Where the file's own value is not known for both, or next to nothing, nothing is reckoned out, and all that the
    mains may have done is unsure.
    """
    if then.plain is not None and now.plain is not None and then.plain * now.plain > 0.0:
        least = min(abs(then.plain), abs(now.plain))
        if isfinite(then.plain * now.plain) and least >= _LEAST_DIGITS * _digit(build, unit, least):
            ratio = now.plain / then.plain
            return ratio, guide("moved.reckoning") * abs(ratio - 1.0)
    if then.mains_v is None and now.mains_v is None:
        return 1.0, 0.0
    if not then.mains_v or not now.mains_v:
        return None
    return 1.0, guide("moved.mains_slope") * abs(now.mains_v / then.mains_v - 1.0)


def _step(then: Read, now: Read) -> float:
    """How far the mains, or the room's warmth, moves a reading that is compared by its difference."""
    known = then.plain is not None and now.plain is not None and isfinite(then.plain) and isfinite(now.plain)
    return now.plain - then.plain if known else 0.0  # type: ignore[operator]


def _unsure_step(build: Build, kind: str, point: Point, was: float, is_: float, by: str) -> float:
    if kind == "winding":
        return 2.0 * guide("moved.winding_unsure")
    if kind == "bond" and not by:
        return 2.0 * guide("moved.bond_unsure")
    share, digits = _accuracy(build, point)
    digit = _digit(build, point.unit, max(abs(was), abs(is_)))
    return 2.0 * digits * digit + (share + _again(kind)) * (abs(was) + abs(is_))


def _accuracy(build: Build, point: Point) -> tuple[float, float]:
    """The meter's share and digits for a point; what is seen on an oscilloscope or in a capture has a guide's share."""
    meter = build.meter
    if point.unit == "ohm":
        return meter.ohms
    if point.unit != "V":
        return guide("moved.seen"), 0.0
    return meter.dc if point.quantity == "dc" else meter.ac


def _again(kind: str) -> float:
    """How far a sound amplifier's reading strays by itself from one time to the next."""
    steady = kind in ("current", "cathode", "ht", "volts", "bias", "pot")
    return spread("spread.again" if steady else "spread.ripple_again")[1]


def _digit(build: Build, unit: str, value: float) -> float:
    finest = _FINEST.get(unit, 0.0)
    return last_digit(value, build.meter.counts, finest) if finest or value else 0.0
