"""What a record holds, in order and with its place in the work: the readings, what they were judged by, and the rest.

Any reading is taken, of whatever point and stage; an entry of a kind that is not known here keeps its words.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from benchtui.procedure import codec
from benchtui.procedure import events as e
from benchtui.procedure.decide import fold
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode, State
from benchtui.record import Journal
from benchtui.record.event import Event
from benchtui.session import wording
from benchtui.session.notebook import Entry as Noted
from benchtui.session.signed import Where, where

#: Readings that are asked again or that no window was applied to: a later one of the same point stands for it.
_PROVISIONAL = (e.PointDoubted, e.PointNothing, e.PointWatched, e.PointExchanged)


@dataclass(frozen=True)
class Entry:
    """One entry of the record: number, wall seconds, kind, data, its words, and where in the work it fell.

    `where` is whether a reading there is cold, with power or in a soak; `stretch` counts on with every power-on, every
    stay with hands in and every stage. `event` is None for a kind that the procedure does not know.
    """

    n: int
    wall: float
    kind: str
    data: Mapping[str, Any]
    says: str
    stage: str
    powered: bool
    where: Where
    stretch: int
    event: e.Event | None


@dataclass(frozen=True)
class Reading:
    """A reading at a point: as typed and in SI `unit`, with what it was judged by.

    `counts`: it is the last word on this point in its stage. `reason`: why the builder went on from a warn.
    """

    entry: Entry
    point: str
    name: str
    unit: str
    text: str
    value: float
    nominal: float
    low: float
    high: float
    verdict: str
    reasons: tuple[str, ...]
    reason: str
    counts: bool


@dataclass(frozen=True)
class History:
    """The whole record: entries, readings among them, the state it ends in, and words for the ids in it."""

    entries: tuple[Entry, ...]
    readings: tuple[Reading, ...]
    state: State
    names: Mapping[str, str]
    units: Mapping[str, str]

    @property
    def finished(self) -> bool:
        """Does it end with a build that is signed off?"""
        return self.state.mode is Mode.DONE

    @property
    def ended(self) -> Entry | None:
        """The entry by which it was finished last, opened or with its cover on."""
        found = self.of(e.Finished, e.FinishedShut)
        return found[-1] if self.finished and found else None

    def of(self, *kinds: type[e.Event]) -> tuple[Entry, ...]:
        """The entries of these kinds."""
        return tuple(entry for entry in self.entries if isinstance(entry.event, kinds))

    def counting(self, stage: str | None = None) -> tuple[Reading, ...]:
        """The readings that are the last word on their point, of all stages or of one."""
        return tuple(r for r in self.readings if r.counts and stage in (None, r.entry.stage))


def history(journal: Journal, plan: Plan) -> History:
    """Fold the record. Raises UnknownEvent for an event of another version."""
    names, units = wording.names(plan), wording.units(plan)
    state = State()
    entries: list[Entry] = []
    for saved in journal.events:
        known = saved.kind in codec.KINDS or "v" in saved.data
        event = codec.decode(saved.kind, saved.data) if known else None
        entries.append(_entry(saved, event, state, plan, names, entries[-1] if entries else None))
        state = fold(plan, state, event) if event is not None else state
    readings = tuple(_readings(entries, names, units))
    return History(tuple(entries), readings, state, names, units)


def _entry(
    saved: Event, event: e.Event | None, state: State, plan: Plan, names: Mapping[str, str], before: Entry | None
) -> Entry:
    stage = state.at(plan).stage
    begins = before is None or before.stage != stage or isinstance(event, e.PowerOn | e.HandsIn | e.PoweredDown)
    stretch = (before.stretch if before is not None else -1) + begins
    powered = state.mode is Mode.POWERED or isinstance(event, e.PowerOn)
    says = wording.line(saved.kind, saved.data, names)
    at = where(plan, state)
    return Entry(saved.n, saved.t_wall, saved.kind, saved.data, says, stage, powered, at, stretch, event)


def _readings(entries: Iterable[Entry], names: Mapping[str, str], units: Mapping[str, str]) -> Iterator[Reading]:
    found: list[Reading] = []
    at: dict[tuple[str, str], int] = {}
    last: dict[tuple[str, str], int] = {}
    for entry in entries:
        match entry.event:
            case e.PointRead() as read:
                key = (entry.stage, read.point)
                at[key] = len(found)
                if not isinstance(read, _PROVISIONAL) or key not in last:
                    last[key] = len(found)
                found.append(_reading(entry, read, names, units))
            case e.Accepted(point=point, reason=reason) if (entry.stage, point) in at:
                k = at[entry.stage, point]
                found[k] = replace(found[k], reason=reason)
    counting = set(last.values())
    return (replace(reading, counts=k in counting) for k, reading in enumerate(found))


def _reading(entry: Entry, read: e.PointRead, names: Mapping[str, str], units: Mapping[str, str]) -> Reading:
    unit = units.get(read.point, "")
    name = names.get(read.point, read.point)
    verdict = "with an exchange" if isinstance(read, e.PointExchanged) else Noted(read).verdict
    return Reading(
        entry, read.point, name, unit, read.text, read.value, read.nominal, read.low, read.high, verdict,
        read.reasons, "", False,
    )  # fmt: skip
