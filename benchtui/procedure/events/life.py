"""Events of the session: starts, STOP, what the chassis is, remarks, and the way from phase to phase."""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.procedure.events.base import Event


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
class Unwatched(Event):
    """The chassis was left for long or moved, as `why` says: nobody knows what became of it."""

    why: str


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
class BrokeDown(Event):
    """Typed: the finished amplifier has stopped working, and repair `number` of it begins."""

    number: int = 1


@dataclass(frozen=True, slots=True)
class BroughtBack(Event):
    """Typed: the finished amplifier, which works, is back on the bench, and check-up `number` of it begins."""

    number: int = 1


@dataclass(frozen=True, slots=True)
class Told(Event):
    """What the builder tells of it: `text` as typed to `question`, the `ids` that are meant by it, and all questions
    that it `settles`, its own and those that need not be asked then."""

    question: str
    text: str
    ids: tuple[str, ...]
    settles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Remark(Event):
    """Something to remember that changes nothing."""


@dataclass(frozen=True, slots=True)
class Noted(Remark):
    text: str


@dataclass(frozen=True, slots=True)
class Captured(Remark):
    """What a captured signal holds. The reading that it gives at `point` follows as an event of its own, same `text`.

    `files` are names without their folders, `card` is the sound card that recorded, "" for files that were given.
    `figure` in `unit` is what the point reads by it. `meter_v` is what the meter showed meanwhile; `full_scale_v` the
    rms volts of a sine that fills the range, as `calibration` says, found here where it `calibrates`. `bits` of a
    sample are 0 for floating point. Levels are told by `names`, `hertz` (nan for a sum), `dbfs` (-inf for nothing) and
    `bounds`, an entry each: session/captured.py reads them.
    """

    point: str
    text: str
    files: tuple[str, ...]
    sha256: tuple[str, ...]
    card: str
    rate_hz: float
    seconds: float
    bits: int
    channel: int
    figure: float
    unit: str
    meter_v: float | None
    full_scale_v: float | None
    calibration: str
    calibrates: bool
    low_hz: float
    high_hz: float
    mains_hz: float
    floor_dbfs: float | None
    floor_from: str
    names: tuple[str, ...]
    hertz: tuple[float, ...]
    dbfs: tuple[float, ...]
    bounds: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Left(Remark):
    """The builder leaves the bench; `loose` is what is loose then, in his words."""

    loose: str


@dataclass(frozen=True, slots=True)
class Refused(Remark):
    """What was typed did not count, and why."""

    text: str
    why: str


@dataclass(frozen=True, slots=True)
class BuildChanged(Event):
    """The build file differs from the one recorded; `keep` is the typed decision on what passed before.

    `touched` are the stages that the change touches, in order.
    """

    keep: bool
    touched: tuple[str, ...]
    changes: tuple[str, ...]
    sha256: str
    source: str


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


@dataclass(frozen=True, slots=True)
class FinishedShut(Event):
    """Typed after a soak: the plug is out, and the amplifier is finished without being opened."""
