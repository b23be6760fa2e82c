"""What was read at each sign-off, and since a finished amplifier came back to the bench: a fold of saved events."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from benchtui.procedure import events as e
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode, State

Where = Literal["cold", "power", "soak"]

#: What a reading is of: a point, a point in a soak, where everything is warm, or a pot as it was found or left.
Key = tuple[Literal["point", "soak", "pot"], str]

_COUNTS = (e.PointPassed, e.PointUnproved, e.PointWarned)


@dataclass(frozen=True, slots=True)
class Read:
    """A reading in SI units, and what it is to be seen with.

    `plain` is what the build file alone makes it on the mains of its moment, None where that is not known or was by
    another file; `mains_v` None without power. `by` is "" for the instrument that belongs there, a meter for most, else
    what was there instead: a capture, or a hand meter without the instrument that it names.
    """

    value: float
    plain: float | None
    mains_v: float | None
    wall: float
    stage: str
    by: str = ""


@dataclass(frozen=True)
class SignOff:
    """One end of the work: its number, its wall time, and the last reading of everything up to then."""

    number: int
    wall: float
    reads: Mapping[Key, Read]


@dataclass
class Signed:
    """The sign-offs of a record.

    `last` is the newest and `first` the oldest since anything was mended or changed; `against` and `against_first` are
    these as they were when the amplifier came back, `since` what was read since then, of each pot as it was found.
    """

    last: SignOff | None = None
    first: SignOff | None = None
    against: SignOff | None = None
    against_first: SignOff | None = None
    since: dict[Key, Read] = field(default_factory=dict)
    checkups: int = 0
    """The number of the last check-up."""

    entered: Key | None = None
    """What the last event was a reading of; of a pot only the first, as it was found."""

    checked: bool = False
    """It came back last for a check-up, not for a repair."""

    open: bool = False
    """It came back for a check-up that is not finished."""

    _read: dict[Key, Read] = field(default_factory=dict)
    _mains_v: float | None = None
    _captured: tuple[str, str] | None = None
    _ends: int = 0
    _changed: bool = False

    def take(self, event: e.Event, stage: str, wall: float, where: Where) -> None:
        """Enter an event that was saved at wall time `wall` while in `stage`."""
        self.entered = None
        match event:
            case e.MainsRead(value_v=volts):
                self._mains_v = volts
            case e.Captured(point=point, text=text):
                self._captured = (point, text)
            case e.PointRead() if isinstance(event, _COUNTS):
                by = event.instrument if isinstance(event, e.PointUnproved) else ""
                by = "capture" if self._captured == (event.point, event.text) else by
                mains_v = None if where == "cold" else self._mains_v
                read = Read(event.value, event.plain, mains_v, wall, stage, by)
                key: Key = ("soak" if where == "soak" else "point", event.point)
                self._read[key] = self.since[key] = read
                self.entered = key
            case e.TrimInside() | e.TrimOutside():
                self._trimmed(event, stage, wall)
            case e.Finished() | e.FinishedShut():
                self._sign(wall)
            case e.BroughtBack() | e.BrokeDown():
                self.since, self.against, self.against_first = {}, self.last, self.first
                self.checked = self.open = isinstance(event, e.BroughtBack)
                self._changed = self._changed or not self.checked
                self.checkups = event.number if isinstance(event, e.BroughtBack) else self.checkups
            case e.BuildChanged(keep=keep, touched=touched):
                self._build_changed(touched, keep=keep)

    def _trimmed(self, event: e.TrimInside | e.TrimOutside, stage: str, wall: float) -> None:
        """As found is what was read before anybody turned it, as left what was on its target last."""
        read = Read(event.value_v, None, self._mains_v, wall, stage)
        if ("pot", event.trim) not in self.since:
            self.since["pot", event.trim] = read
            self.entered = ("pot", event.trim)
        if isinstance(event, e.TrimInside):
            self._read["pot", event.trim] = read

    def _sign(self, wall: float) -> None:
        self._ends, self.open = self._ends + 1, False
        self.last = SignOff(self._ends, wall, dict(self._read))
        if self.first is None or self._changed:
            self.first, self._changed = self.last, False

    def _build_changed(self, touched: tuple[str, ...], *, keep: bool) -> None:
        """What the file alone made nominal was by the old one. What was changed in the chassis is no more of it."""
        if keep:
            self._all(lambda reads: {k: _unplain(r) if r.stage in touched else r for k, r in reads.items()})
        else:
            self._all(lambda reads: {k: r for k, r in reads.items() if touched and r.stage not in touched})
            self._changed, self.checked, self.open = True, False, False
            self.since, self.against, self.against_first = {}, None, None

    def _all(self, change: Callable[[Mapping[Key, Read]], dict[Key, Read]]) -> None:
        self._read, self.since = change(self._read), change(self.since)
        for name in ("last", "first", "against", "against_first"):
            of: SignOff | None = getattr(self, name)
            setattr(self, name, of and replace(of, reads=change(of.reads)))


def where(plan: Plan, state: State) -> Where:
    """Where a reading is taken in a state."""
    if state.mode is not Mode.POWERED:
        return "cold"
    return "soak" if state.at(plan).soak else "power"


def _unplain(read: Read) -> Read:
    return replace(read, plain=None)
