"""What is said when a build is opened."""

from __future__ import annotations

from collections.abc import Sequence

from benchtui.procedure.state import Mode
from benchtui.quantities.clean import clean
from benchtui.record import Event
from benchtui.session import figures, screen, wording
from benchtui.session.bench import Bench
from benchtui.session.tables import table
from benchtui.session.view import Banner


def greeting(bench: Bench, events: Sequence[Event], *, copied: bool = False) -> Banner:
    """The caution at the first start; later where one was, what is open, what was last, and what is loose.

    `copied` says that the build file is gone and the copy in the record stands in.
    """
    words = table("words")
    gone = (words["copied"],) if copied else ()
    if len(events) < 2:
        return Banner("info", words["caution"], gone)
    last = next(event for event in reversed(events[:-1]) if event.kind not in ("restarted", "left"))
    text = wording.line(last.kind, last.data, wording.names(bench.plan))
    stage = screen.stage_title(bench)
    said = words["last"].format(when=figures.day(last.t_wall), text=text)
    more = (*gone, *_finished(bench), *_away(bench, events), *_open(bench), said, *screen.loose(bench))
    return Banner("info", words["resumed"].format(stage=stage), more)


def _away(bench: Bench, events: Sequence[Event]) -> tuple[str, ...]:
    """What was said to be loose, and why the chassis is to be looked over where that has just become due."""
    words, left = table("words")["away"], bench.notebook.left
    due = events[-1].data["why"] if events[-1].kind == "unwatched" else ""
    said = [words["due"].format(why=clean(due))] * bool(due) + [words["loose"].format(loose=clean(left))] * bool(left)
    return tuple(said)


def _finished(bench: Bench) -> tuple[str, ...]:
    """That a finished build can be read again, and since when it has not been."""
    if bench.state.mode is not Mode.DONE:
        return ()
    return (table("compared")["due"].format(when=figures.date(bench.notebook.finished_s or 0.0)),)


def _open(bench: Bench) -> tuple[str, ...]:
    """How much was not measured and gone on from, in one line."""
    unproved, warns = len(bench.state.unproved), len(bench.accepted)
    counts = [f"{unproved} not measured"] * bool(unproved) + [f"{warns} accepted warn{'s' * (warns > 1)}"] * bool(warns)
    return (table("words")["open"].format(what=", ".join(counts)),) if counts else ()
