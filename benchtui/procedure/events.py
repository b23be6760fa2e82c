"""What can happen. Events are facts in frozen data, written to the record as they are.

Volts, ohms and seconds in SI units; `text` is a reading as typed.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Event:
    """Anything that happened."""


# --- life of the session ---


@dataclass(frozen=True, slots=True)
class Restarted(Event):
    """The program was started again: everything is assumed live and charged."""


@dataclass(frozen=True, slots=True)
class OtherHolds(Event):
    """Another program writes the record. Never recorded."""


@dataclass(frozen=True, slots=True)
class RecordFailed(Event):
    """An event could not be made durable. Never recorded."""


@dataclass(frozen=True, slots=True)
class Stopped(Event):
    """The STOP key."""


@dataclass(frozen=True, slots=True)
class Disturbed(Event):
    """The computer slept, or plug, lead, meter or range were touched; `what` says which."""

    what: str


@dataclass(frozen=True, slots=True)
class SaidNever(Event):
    """Typed once: this chassis was never connected to mains."""


@dataclass(frozen=True, slots=True)
class SaidMet(Event):
    """Typed once: it was, or nobody knows."""


@dataclass(frozen=True, slots=True)
class SaidBare(Event):
    """Typed: neither mains lead nor any charged part is fitted."""


@dataclass(frozen=True, slots=True)
class SaidFitted(Event):
    """Typed instead of bare: a lead or a part that may be charged is fitted, so the gate it is."""


@dataclass(frozen=True, slots=True)
class LeadAttached(Event):
    """A mains lead was attached; the chassis counts as having met mains."""


@dataclass(frozen=True, slots=True)
class Remark(Event):
    """Something to remember that changes nothing."""


@dataclass(frozen=True, slots=True)
class Noted(Remark):
    text: str


@dataclass(frozen=True, slots=True)
class Refused(Remark):
    """What was typed did not count, and why."""

    text: str
    why: str


@dataclass(frozen=True, slots=True)
class BuildChanged(Event):
    """The build file differs from the one recorded; `keep` is the typed decision on what passed before."""

    keep: bool
    changes: tuple[str, ...]
    sha256: str
    source: str


# --- gate ---


@dataclass(frozen=True, slots=True)
class PlugOut(Event):
    """Typed: the plug is out of the wall (or the connector out of the inlet) and in sight."""


@dataclass(frozen=True, slots=True)
class NoLead(Event):
    """Typed: no mains lead is attached to a chassis that never met mains."""


@dataclass(frozen=True, slots=True)
class MeterGood(Event):
    """The meter read a known source: `kind` "dc" or "ac"."""

    kind: str
    value_v: float


@dataclass(frozen=True, slots=True)
class MeterBad(Event):
    kind: str
    value_v: float


@dataclass(frozen=True, slots=True)
class Fallen(Event):
    """The HT reading has fallen since just before power-down, on the same point and range."""

    live_v: float
    value_v: float


@dataclass(frozen=True, slots=True)
class NotFallen(Event):
    """It has not: the wrong plug, or a stuck meter."""

    live_v: float
    value_v: float


@dataclass(frozen=True, slots=True)
class MainsDead(Event):
    value_v: float


@dataclass(frozen=True, slots=True)
class MainsLive(Event):
    value_v: float


@dataclass(frozen=True, slots=True)
class ReservoirLow(Event):
    """A reservoir read under the threshold, `after_s` from plug-out as far as that is counted.

    `early`: sooner than its fastest computed fall, after the doubt about the meter was settled.
    """

    id: str
    value_v: float
    after_s: float = 0.0
    early: bool = False


@dataclass(frozen=True, slots=True)
class ReservoirSoon(Event):
    """A reservoir read under the threshold sooner than its fastest computed decay: the meter is in doubt."""

    id: str
    value_v: float
    after_s: float = 0.0


@dataclass(frozen=True, slots=True)
class ReservoirHigh(Event):
    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class Bled(Event):
    id: str


@dataclass(frozen=True, slots=True)
class ClipOn(Event):
    """The bleed clip is on, proved by HT+ to chassis in ohms."""

    ohm: float


@dataclass(frozen=True, slots=True)
class LinksOn(Event):
    """A clip or shorting link is on every fitted reservoir."""

    count: int


@dataclass(frozen=True, slots=True)
class ClipOff(Event):
    pass


@dataclass(frozen=True, slots=True)
class HandsIn(Event):
    """Hands may go in; `wait_s` and `clip_s` are the seconds reached."""

    wait_s: float
    clip_s: float


@dataclass(frozen=True, slots=True)
class Looked(Event):
    """Hands have been in for long: plug and clip were looked at and are in place."""


@dataclass(frozen=True, slots=True)
class LookFailed(Event):
    """Plug or clip are not in place."""


# --- closing ---


@dataclass(frozen=True, slots=True)
class HandsOut(Event):
    pass


@dataclass(frozen=True, slots=True)
class BackToPower(Event):
    pass


@dataclass(frozen=True, slots=True)
class Clear(Event):
    """A look from outside: no tool, no hand, no clip in the chassis."""


@dataclass(frozen=True, slots=True)
class RailLow(Event):
    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class RailHigh(Event):
    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class OhmsGood(Event):
    ohm: float


@dataclass(frozen=True, slots=True)
class OhmsBad(Event):
    ohm: float


@dataclass(frozen=True, slots=True)
class ClipFound(Event):
    """The clip is still on, by its ohms (None: as typed)."""

    ohm: float | None


@dataclass(frozen=True, slots=True)
class Covered(Event):
    """The cover is on, or one hand stays behind the back; `how` says which."""

    how: str


@dataclass(frozen=True, slots=True)
class PowerOn(Event):
    """Power through a limiter, or ("" and a typed reason) at full mains at once."""

    limiter: str
    reason: str = ""


# --- power ---


@dataclass(frozen=True, slots=True)
class LimiterGood(Event):
    says: str


@dataclass(frozen=True, slots=True)
class LimiterBad(Event):
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
    """A reading with what it was judged by, so that the record needs no forecast to be understood."""

    point: str
    text: str
    value: float
    nominal: float
    low: float
    high: float
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PointPassed(PointRead):
    pass


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
class Accepted(Event):
    """A warn accepted by a typed reason."""

    point: str
    reason: str


@dataclass(frozen=True, slots=True)
class StepDone(Event):
    step: str
    says: str


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


# --- from phase to phase ---


@dataclass(frozen=True, slots=True)
class Next(Event):
    """On to `phase`."""

    phase: str


@dataclass(frozen=True, slots=True)
class NextBare(Next):
    pass


@dataclass(frozen=True, slots=True)
class BareEnds(Next):
    """The next phase fits what may be charged: the gate from here on."""


@dataclass(frozen=True, slots=True)
class NextHands(Next):
    pass


@dataclass(frozen=True, slots=True)
class NextClosing(Next):
    pass


@dataclass(frozen=True, slots=True)
class NextPowered(Next):
    pass


@dataclass(frozen=True, slots=True)
class NextGate(Next):
    """Mains off, and the gate before the next hands phase."""


@dataclass(frozen=True, slots=True)
class LastComplete(Event):
    """The last phase was a powered one and is complete: mains off, and the gate before the end."""


@dataclass(frozen=True, slots=True)
class Finished(Event):
    pass
