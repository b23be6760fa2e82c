"""Numbers as they are shown: volts, ohms, seconds and times of day."""

from __future__ import annotations

import time
from math import inf, isnan

from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

#: Usual top ends of a meter's ranges on volts; the next above the largest reading is named.
_RANGES_V = (6.0, 60.0, 600.0, 1000.0)


def shown(value: float, unit: str, digits: int = 3) -> str:
    """A value with its unit as a meter shows it; "unknown" for what is no number."""
    return "unknown" if isnan(value) else show(value, Unit(unit), digits) if unit else f"{value:g}"


def volts(value: float) -> str:
    return shown(value, "V")


def ohms(value: float) -> str:
    return shown(value, "ohm")


def stop(value: float, unit: str = "V", *, low: bool) -> str:
    """A limit in words: a negative one by how negative a reading is, since "above" and "below" mislead there."""
    if value >= 0.0:
        return f"stop {'below' if low else 'above'} {shown(value, unit)}"
    return f"stop if {'more' if low else 'less'} negative than {shown(value, unit)}"


def seconds(value: float) -> str:
    """Seconds, or minutes from two on."""
    if value == inf:
        return "no end"
    return f"{value:.0f} s" if value < 120.0 else f"{value / 60.0:.0f} min"


def range_for(volts_: float) -> str:
    """The range to set the meter to for a reading of up to `volts_`."""
    for top in _RANGES_V:
        if abs(volts_) <= top:
            return f"{top:.0f} V range or more"
    return "1000 V range" if volts_ != inf else "the highest range first"


def clock(wall: float) -> str:
    """Time of day of a wall time, "time unknown" where the clock is no clock."""
    return _when(wall, "%H:%M")


def day(wall: float) -> str:
    """Day and time of day of a wall time."""
    return _when(wall, "%Y-%m-%d %H:%M")


def date(wall: float) -> str:
    """The day alone of a wall time."""
    return _when(wall, "%Y-%m-%d")


def _when(wall: float, how: str) -> str:
    try:
        return time.strftime(how, time.localtime(wall)) if wall > 0 else "time unknown"
    except (ValueError, OverflowError, OSError):
        return "time unknown"
