"""Events under power, and readings and steps of any phase. SI units; `text` is a reading as typed."""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.procedure.events.base import Event


@dataclass(frozen=True, slots=True)
class Overruled(Event):
    """Typed: `phase` gets its power although these objections stand, and why."""

    phase: str
    objections: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class LimiterGood(Event):
    says: str


@dataclass(frozen=True, slots=True)
class LimiterBad(Event):
    says: str


@dataclass(frozen=True, slots=True)
class LimiterDark(Event):
    """It shows less than a sound stage lets it: is the mains there at all? Asked again."""

    says: str


@dataclass(frozen=True, slots=True)
class FullMains(Event):
    pass


@dataclass(frozen=True, slots=True)
class MainsRead(Event):
    """Mains volts now; `text` as typed, which is a winding's reading where mains is inferred from it."""

    text: str
    value_v: float


@dataclass(frozen=True, slots=True)
class PointRead(Event):
    """A reading with what it was judged by, so that the record needs no forecast to be understood.

    `nominal` may go by what this build has read before; `plain` is by its file and the mains alone, None where a record
    from before that was kept does not say.
    """

    point: str
    text: str
    value: float
    nominal: float
    low: float
    high: float
    reasons: tuple[str, ...] = ()
    plain: float | None = None


@dataclass(frozen=True, slots=True)
class PointPassed(PointRead):
    pass


@dataclass(frozen=True, slots=True)
class PointUnproved(PointRead):
    """A hand meter found nothing wrong, and the `instrument` that would prove it is not owned: not measured."""

    instrument: str = ""


@dataclass(frozen=True, slots=True)
class PointWarned(PointRead):
    pass


@dataclass(frozen=True, slots=True)
class PointStopped(PointRead):
    pass


@dataclass(frozen=True, slots=True)
class PointDoubted(PointRead):
    """Ten times off: asked again."""


@dataclass(frozen=True, slots=True)
class PointWatched(PointRead):
    """A reading under the limiter or while it settles, inside the limits; windows do not apply yet."""


@dataclass(frozen=True, slots=True)
class PointExchanged(PointRead):
    """Read within its limits while something is exchanged: no window applies."""


@dataclass(frozen=True, slots=True)
class PointNothing(PointRead):
    """Under the limiter, nearer to zero than any sound stage: no sign that there is no short. Asked again."""


@dataclass(frozen=True, slots=True)
class Accepted(Event):
    """A warn accepted by a typed reason."""

    point: str
    reason: str


@dataclass(frozen=True, slots=True)
class StepDone(Event):
    step: str
    says: str


@dataclass(frozen=True, slots=True)
class Made(Event):
    """What these steps make is made: wires on, holes done."""

    steps: tuple[str, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Undone(Event):
    """It is so no longer: these wires are loose or taken off, these holes not done."""

    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CapacitorLow(Event):
    """A capacitor on the bench, not fitted yet, read under the threshold."""

    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class CapacitorHigh(Event):
    """It arrived charged, and is discharged through a resistor and read again before it is fitted."""

    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class TrimHt(Event):
    """HT read at the start of a pass over the pots."""

    value_v: float


@dataclass(frozen=True, slots=True)
class TrimInside(Event):
    """A pot's reading lies inside its target, recomputed from the HT of this pass."""

    trim: str
    text: str
    value_v: float
    target_v: float
    low: float
    high: float
    full_s: float


@dataclass(frozen=True, slots=True)
class TrimOutside(Event):
    trim: str
    text: str
    value_v: float
    target_v: float
    low: float
    high: float
    full_s: float


@dataclass(frozen=True, slots=True)
class HtLive(Event):
    """The HT reading just before power-down, the meter staying where it is."""

    value_v: float


@dataclass(frozen=True, slots=True)
class PoweredDown(Event):
    pass
