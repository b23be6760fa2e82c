"""What the builder may ask or tell, before it is known whether it counts. Plain facts are events."""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.procedure import events as e
from benchtui.verdicts.expectation import Expectation


@dataclass(frozen=True, slots=True)
class Command:
    """Something typed that must be weighed first."""


@dataclass(frozen=True, slots=True)
class ProveMeter(Command):
    """The meter's reading on the known source of `kind` "dc" or "ac"."""

    kind: str
    value_v: float


@dataclass(frozen=True, slots=True)
class ReadFallen(Command):
    """HT after plug-out, on the point and range of the pending live reading."""

    value_v: float


@dataclass(frozen=True, slots=True)
class ReadMainsSide(Command):
    value_v: float


@dataclass(frozen=True, slots=True)
class ReadReservoir(Command):
    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class ReadClip(Command):
    """HT+ to chassis in ohms with the clip on."""

    ohm: float


@dataclass(frozen=True, slots=True)
class CountLinks(Command):
    """Bleed links fitted, one across each that is due."""

    count: int


@dataclass(frozen=True, slots=True)
class CountLinksOff(Command):
    """Bleed links taken off again, and the bleed clip with them."""

    count: int


@dataclass(frozen=True, slots=True)
class GoIn(Command):
    """Hands in."""


@dataclass(frozen=True, slots=True)
class ReadRail(Command):
    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class SeeClip(Command):
    """The bleed clip is seen to be on, though it is to be off."""


@dataclass(frozen=True, slots=True)
class ReadOhms(Command):
    """HT+ to chassis in ohms before the cover goes on."""

    ohm: float


@dataclass(frozen=True, slots=True)
class Overrule(Command):
    """On to power although the plan's objections stand, for a reason."""

    reason: str


@dataclass(frozen=True, slots=True)
class SeeLimiter(Command):
    """What the limiter shows; `short`: that is a short, `dark`: less than a sound stage lets it show."""

    says: str
    short: bool
    dark: bool


@dataclass(frozen=True, slots=True)
class ReadMains(Command):
    text: str
    value_v: float


@dataclass(frozen=True, slots=True)
class ReadPoint(Command):
    """A reading and what it should be, computed for this phase and for mains as read."""

    point: str
    text: str
    value: float
    expectation: Expectation


@dataclass(frozen=True, slots=True)
class ReadCapacitor(Command):
    """Volts across a capacitor on the bench, before it is fitted."""

    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class ReadHt(Command):
    """HT just before power-down."""

    value_v: float


@dataclass(frozen=True, slots=True)
class ReadTrim(Command):
    """A trimmed point's reading with the target for the HT of this pass; `expectation` holds its limits."""

    trim: str
    text: str
    value_v: float
    target_v: float
    low: float
    high: float
    expectation: Expectation


@dataclass(frozen=True, slots=True)
class ReadRoom(Command):
    """The room's temperature."""

    celsius: float


@dataclass(frozen=True, slots=True)
class ReadWinding(Command):
    """The mains winding in ohms at the inlet's pins, cold or as it cools."""

    text: str
    ohm: float


@dataclass(frozen=True, slots=True)
class JudgeWinding(Command):
    """The temperature at the end of the soak by the readings so far; `lacks`: why they cannot tell it, or ""."""

    text: str
    celsius: float
    expectation: Expectation
    lacks: str = ""


@dataclass(frozen=True, slots=True)
class GoOn(Command):
    """On to the next phase, or the end of the last."""


#: Events that may be told as they are: nothing has to be weighed to know what happened.
FACTS = (
    e.Restarted, e.OtherHolds, e.RecordFailed, e.Stopped, e.Disturbed, e.Unwatched, e.Left, e.SaidNever,
    e.SaidMet, e.SaidBare, e.SaidFitted,
    e.LeadAttached, e.Noted, e.Captured, e.Refused, e.BuildChanged, e.PlugOut, e.NoLead, e.Bled, e.ClipOff, e.Looked,
    e.LookFailed, e.HandsOut, e.BackToPower, e.Slipped, e.CauseFound, e.CauseOpen, e.Retest, e.BrokeDown,
    e.BroughtBack, e.Told, e.FurtherRead, e.Exchanged, e.PutBack, e.Clear, e.Covered, e.PowerOn,
    e.FullMains, e.Accepted, e.StepDone, e.Made, e.Undone, e.TrimHt, e.PoweredDown, e.Finished, e.FinishedShut,
    e.WindingLeft,
)  # fmt: skip
