"""A plot as data: axes with units, what is drawn on them, and of each whether it was measured or computed.

Numbers are in the unit that the axis names; whoever makes a plot has scaled them. Renderers know nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, log10
from typing import Literal

Told = Literal["measured", "computed", "rating"]
"""Where what is drawn comes from. A rating is neither: it is the limit that a source gives."""


@dataclass(frozen=True)
class Axis:
    """What runs along an edge: `low` to `high`, both finite, `low` below `high`, above zero on a logarithmic scale."""

    name: str
    unit: str
    low: float
    high: float
    log: bool = False

    def share(self, value: float) -> float:
        """Where `value` lies: 0 at the low end, 1 at the high one, beyond outside of them."""
        if not self.log:
            return (value - self.low) / (self.high - self.low)
        if value <= 0.0:
            return -1.0
        return log10(value / self.low) / log10(self.high / self.low)

    def at(self, share: float) -> float:
        """The value at `share` of the way."""
        if not self.log:
            return self.low + share * (self.high - self.low)
        return self.low * (self.high / self.low) ** share

    @property
    def title(self) -> str:
        return f"{self.name} ({self.unit})" if self.unit else self.name


@dataclass(frozen=True)
class Series:
    """A line through `points`, in order; one that is not finite interrupts it.

    `sign` draws it in characters and tells it in the legend; lines of one `name` share a line there. `label` stands at
    its end.
    """

    name: str
    told: Told
    points: tuple[tuple[float, float], ...]
    sign: str
    label: str = ""
    style: Literal["solid", "dashed", "dotted"] = "solid"
    weight: Literal["thin", "bold"] = "thin"


@dataclass(frozen=True)
class Mark:
    """A single place with its own sign."""

    name: str
    told: Told
    x: float
    y: float
    sign: str


@dataclass(frozen=True)
class Band:
    """A stretch of the y axis, such as a window of healthy builds, or (low = high) a level."""

    name: str
    told: Told
    low: float
    high: float
    sign: str = "-"


@dataclass(frozen=True)
class Plot:
    """A whole picture; `notes` stand below, a sentence each."""

    title: str
    x: Axis
    y: Axis
    series: tuple[Series, ...] = ()
    marks: tuple[Mark, ...] = ()
    bands: tuple[Band, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def legend(self) -> tuple[tuple[str, str, Told], ...]:
        """(Sign, what it is and where it comes from, the latter again) of each kind of line or mark, each once."""
        items = (*self.marks, *self.series, *self.bands)
        return tuple(dict.fromkeys((item.sign, f"{item.name}, {item.told}", item.told) for item in items))


@dataclass(frozen=True)
class Strip:
    """One reading beside its window: `low` to `high` computed, `value` measured, all in `unit`; limits None where none.

    `shown` are reading and window in words.
    """

    name: str
    value: float
    nominal: float
    low: float
    high: float
    shown: tuple[str, str]
    verdict: str = ""


@dataclass(frozen=True)
class Strips:
    """Readings in their windows, a row each: every window drawn to the same width, whatever its unit."""

    title: str
    rows: tuple[Strip, ...]
    notes: tuple[str, ...] = ()


#: How far a strip reaches beyond its window on either side, as a share of the window.
BEYOND = 0.5


def strip_share(row: Strip) -> float | None:
    """Where the reading lies on its strip: 0 and 1 are its ends, None where window or reading is not finite."""
    if not all(map(isfinite, (row.value, row.low, row.high))) or not row.high > row.low:
        return None
    inside = (row.value - row.low) / (row.high - row.low)
    return min(1.0, max(0.0, (inside + BEYOND) / (1.0 + 2.0 * BEYOND)))
