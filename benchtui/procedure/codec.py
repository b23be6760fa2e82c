"""Events to and from what a record holds: a kind and plain data, with a version and steps up from older ones.

JSON has no numbers that are not finite, so these are written as text.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields
from functools import cache
from math import isfinite
from typing import Any, get_type_hints

from benchtui.procedure import events as e

#: Kind in the record = event. A kind never changes its meaning; one that goes gets an upgrade step, a new one none:
#: older lines mean what they meant, and an older program refuses it by name.
KINDS: dict[str, type[e.Event]] = {
    "restarted": e.Restarted, "stop key": e.Stopped, "disturbed": e.Disturbed, "unwatched": e.Unwatched, "left": e.Left,
    "never met mains": e.SaidNever,
    "met mains": e.SaidMet, "bare": e.SaidBare, "fitted": e.SaidFitted, "lead attached": e.LeadAttached,
    "note": e.Noted, "captured": e.Captured, "refused": e.Refused, "build changed": e.BuildChanged,
    "plug out": e.PlugOut, "no lead": e.NoLead, "meter good": e.MeterGood, "meter bad": e.MeterBad,
    "ht fallen": e.Fallen, "ht not fallen": e.NotFallen, "mains dead": e.MainsDead, "mains live": e.MainsLive,
    "reservoir low": e.ReservoirLow, "reservoir too soon": e.ReservoirSoon, "reservoir high": e.ReservoirHigh,
    "bled": e.Bled, "clip on": e.ClipOn, "clip shunted": e.ClipShunted, "clip alone": e.ClipAlone,
    "links on": e.LinksOn, "links off": e.LinksOff,
    "clip off": e.ClipOff, "hands in": e.HandsIn,
    "looked": e.Looked, "look failed": e.LookFailed,
    "hands out": e.HandsOut, "back to power": e.BackToPower, "slipped": e.Slipped, "cause found": e.CauseFound,
    "further read": e.FurtherRead, "exchanged": e.Exchanged, "put back": e.PutBack,
    "reading exchanged": e.PointExchanged,
    "cause open": e.CauseOpen, "retest": e.Retest, "broke down": e.BrokeDown, "told": e.Told,
    "brought back": e.BroughtBack,
    "clear": e.Clear, "rail low": e.RailLow,
    "rail high": e.RailHigh, "ohms good": e.OhmsGood, "ohms bad": e.OhmsBad, "clip found": e.ClipFound,
    "covered": e.Covered, "overruled": e.Overruled, "power on": e.PowerOn,
    "limiter good": e.LimiterGood, "limiter bad": e.LimiterBad,
    "limiter dark": e.LimiterDark, "full mains": e.FullMains,
    "mains read": e.MainsRead, "reading passed": e.PointPassed,
    "reading unproved": e.PointUnproved, "reading warned": e.PointWarned,
    "reading stopped": e.PointStopped, "reading doubted": e.PointDoubted, "reading watched": e.PointWatched,
    "reading nothing": e.PointNothing,
    "warn accepted": e.Accepted, "capacitor low": e.CapacitorLow, "capacitor high": e.CapacitorHigh,
    "step done": e.StepDone, "made": e.Made, "undone": e.Undone, "trim ht": e.TrimHt, "trim inside": e.TrimInside,
    "trim outside": e.TrimOutside, "ht live": e.HtLive, "power down": e.PoweredDown,
    "next bare": e.NextBare, "bare ends": e.BareEnds, "next hands": e.NextHands,
    "next closing": e.NextClosing, "next powered": e.NextPowered, "next gate": e.NextGate,
    "last complete": e.LastComplete,
    "finished": e.Finished, "finished shut": e.FinishedShut,
    "room read": e.RoomRead, "winding cold": e.WindingCold, "winding hot": e.WindingHot, "winding left": e.WindingLeft,
}  # fmt: skip

_NAMES = {kind: name for name, kind in KINDS.items()}

Upgrade = Callable[[str, dict[str, Any]], tuple[str, dict[str, Any]]]


def _told_what_a_change_touches(kind: str, data: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """A changed build file once sent the work back to the first phase, whatever the change touched."""
    return kind, data | ({"touched": []} if kind == "build changed" else {})


def _told_which_parts_it_was(kind: str, data: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """What was found was once words alone."""
    return kind, data | ({"parts": []} if kind == "cause found" else {})


def _told_what_the_file_alone_makes_nominal(kind: str, data: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """A reading once had one nominal value, which may have gone by earlier readings."""
    return kind, data | ({"plain": None} if kind.startswith("reading ") else {})


#: Step k turns kind and data of version k + 1 into those of version k + 2, oldest first.
UPGRADES: tuple[Upgrade, ...] = (
    _told_what_a_change_touches, _told_which_parts_it_was, _told_what_the_file_alone_makes_nominal,
)  # fmt: skip

VERSION = len(UPGRADES) + 1


class UnknownEvent(ValueError):
    """A line of the record that this program cannot understand."""


def encode(event: e.Event) -> tuple[str, dict[str, Any]]:
    """Kind and data of `event` for the record, version included."""
    data = {field.name: _plain(getattr(event, field.name)) for field in fields(event)}
    return _NAMES[type(event)], data | {"v": VERSION}


def decode(kind: str, data: Mapping[str, Any], upgrades: tuple[Upgrade, ...] = UPGRADES) -> e.Event:
    """The event of `kind` and `data`, brought up by named steps where it is older.

    Raises UnknownEvent for a kind, version or field that is not known, or a value of another type.
    """
    values = dict(data)
    version = values.pop("v", None)
    newest = len(upgrades) + 1
    if not isinstance(version, int) or not 1 <= version <= newest:
        raise UnknownEvent(f"event {kind!r} has version {version!r}; this program knows 1 to {newest}")
    for upgrade in upgrades[version - 1 :]:
        kind, values = upgrade(kind, values)
    event = KINDS.get(kind)
    if event is None:
        raise UnknownEvent(f"event {kind!r} is not known to this program")
    hints = _hints(event)
    if values.keys() != hints.keys():
        raise UnknownEvent(f"event {kind!r} has fields {sorted(values)}; {sorted(hints)} are due")
    return event(**{name: _typed(kind, name, value, hints[name]) for name, value in values.items()})


@cache
def _hints(event: type[e.Event]) -> dict[str, Any]:
    return get_type_hints(event)


def _plain(value: Any) -> Any:
    if isinstance(value, float) and not isfinite(value):
        return str(value)
    return [_plain(item) for item in value] if isinstance(value, tuple) else value


def _typed(kind: str, name: str, value: Any, hint: Any) -> Any:
    if hint == tuple[str, ...] and isinstance(value, list) and all(isinstance(item, str) for item in value):
        return tuple(value)
    if hint == tuple[float, ...] and isinstance(value, list):
        return tuple(_typed(kind, name, item, float) for item in value)
    if hint in (float, float | None) and (value in ("inf", "-inf", "nan") or type(value) in (int, float)):
        return float(value)
    if value is None and hint == float | None:
        return None
    if hint in (str, bool, int) and type(value) is hint:
        return value
    raise UnknownEvent(f"event {kind!r} has {name} {value!r}, which is no {getattr(hint, '__name__', hint)}")
