"""What an amplifier reads beside what it read at its last sign-off, as rows and in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite
from typing import Literal

from benchtui.buildfile.models import Build
from benchtui.procedure.plan import WINDING, Plan, Point
from benchtui.session import figures
from benchtui.session.ageing import kind_of, means
from benchtui.session.moved import Moved, compare
from benchtui.session.signed import Key, Read, Signed
from benchtui.session.tables import table

Verdict = Literal["as before", "moved", "means", "not compared"]


@dataclass(frozen=True, slots=True)
class Row:
    """A reading of this time beside the same at the last sign-off.

    `hint` is what the move means, in words; `slow` the move since the first sign-off, where that is what means it.
    """

    key: Key
    name: str
    unit: str
    then: Read | None
    now: Read
    moved: Moved | None
    verdict: Verdict
    hint: str = ""
    first: Read | None = None
    slow: Moved | None = None


def rows(build: Build, plan: Plan, signed: Signed) -> tuple[Row, ...]:
    """Everything that was read since the amplifier came back to the bench, in the order read; () before it ever did."""
    if signed.against is None:
        return ()
    return tuple(row for key in signed.since if (row := row_of(build, plan, signed, key)) is not None)


def row_of(build: Build, plan: Plan, signed: Signed, key: Key) -> Row | None:
    """One of them; None for what was not read, or is no reading that says anything of the amplifier's age."""
    now, point = signed.since.get(key), _point(build, plan, key)
    if signed.against is None or now is None or point is None:
        return None
    then = signed.against.reads.get(key)
    level = now.plain if now.plain is not None and isfinite(now.plain) else (then or now).value
    kind = "pot" if key[0] == "pot" else kind_of(build, point, level)
    start = signed.against_first.reads.get(key) if signed.against_first else None
    start = None if start == then else start
    moved = compare(build, kind, point, then, now)
    hint = _told(kind, moved)
    slow = None if hint else compare(build, kind, point, start, now)
    slow_hint = _told(kind, slow)
    verdict: Verdict = "not compared" if moved is None else "as before" if moved.none else "moved"
    if hint or slow_hint:
        verdict = "means"
    name = _words()["name"][key[0]].format(name=point.name)
    return Row(key, name, point.unit, then, now, moved, verdict, hint or slow_hint, start, slow if slow_hint else None)


def _told(kind: str, moved: Moved | None) -> str:
    return "" if moved is None or moved.none else means(kind, moved.by)


def _point(build: Build, plan: Plan, key: Key) -> Point | None:
    """The point of a reading, of a pot the one that it is trimmed by."""
    place, id = key
    if place == "pot":
        adjust = build.adjust.get(id)
        return _named(plan, adjust.point) if adjust is not None else None
    if id == WINDING:
        return Point(WINDING, _words()["winding"], "temperature", "degC", "", "")
    return _named(plan, id)


def _named(plan: Plan, id: str) -> Point | None:
    return next((point for point in _points(plan) if point.id == id), None)


def _points(plan: Plan) -> Iterator[Point]:
    """Every point but those that are read to show a slip of wiring: the forecast chooses them anew each time."""
    yield from (point for point in _all_points(plan) if point.test or not point.computed)


def _all_points(plan: Plan) -> Iterator[Point]:
    if plan.whole:
        yield from plan.whole.power.points
        yield from plan.whole.checks.points
    for phase in plan.phases:
        yield from phase.points
        yield from phase.soak.outside if phase.soak else ()


def _words() -> dict:
    return table("compared")


# --- in words ---


def told(row: Row) -> str:
    """A row in one sentence: what it was, when, and how far it has moved."""
    words = _words()
    if row.then is None:
        return words["new"]
    return words["told"].format(value=shown(row.then, row.unit), when=figures.date(row.then.wall), moved=move(row))


def move(row: Row) -> str:
    """How far a row has moved, or why that is not known, in a few words."""
    words = _words()
    if row.then is None:
        return words["not then"]
    if row.moved is None:
        return words["other instrument" if row.then.by != row.now.by else "unknown"]
    if row.slow is not None and row.first is not None:
        first = words["slow"].format(value=shown(row.first, row.unit), when=figures.date(row.first.wall))
        return f"{far(row.slow, row.unit)} {first}"
    return words["as before"] if row.moved.none else far(row.moved, row.unit)


def shown(read: Read, unit: str) -> str:
    """A reading with its unit, in as many digits as a meter has."""
    return figures.shown(read.value, unit, 4)


def far(moved: Moved, unit: str) -> str:
    """How far, in words: per cent of what it was, or so many volts, ohms or degrees."""
    way = "up" if moved.by > 0.0 else "down"
    size = figures.shown(abs(moved.off), unit) if moved.step else f"{100.0 * abs(moved.by):.0f} %"
    return f"{size} {way}"


def summary(found: tuple[Row, ...]) -> str:
    """All rows in a line or two: what has moved and means something, what else has, and how many have not."""
    words = _words()["summary"]
    means = [
        f"{row.name} {far(row.slow or row.moved, row.unit)}" for row in found if row.verdict == "means" and row.moved
    ]
    moved = [f"{row.name} {far(row.moved, row.unit)}" for row in found if row.verdict == "moved" and row.moved]
    still = sum(row.verdict == "as before" for row in found)
    lines = [words["means"].format(listed="; ".join(means))] * bool(means)
    lines += [words["moved"].format(listed="; ".join(moved))] * bool(moved)
    if found and not means and not moved:
        return words["nothing"].format(n=still)
    return " ".join([*lines, words["still"].format(n=still, of=len(found))]) if found else ""
