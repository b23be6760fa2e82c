"""What is said when a build is opened."""

from __future__ import annotations

from collections.abc import Sequence

from benchtui.record import Event
from benchtui.session import figures, screen, wording
from benchtui.session.bench import Bench
from benchtui.session.tables import table
from benchtui.session.view import Banner


def greeting(bench: Bench, events: Sequence[Event]) -> Banner:
    """The caution at the first start; later where one was, what is open, what was last, and what is loose."""
    words = table("words")
    if len(events) < 2:
        return Banner("info", words["caution"])
    last = events[-2]
    text = wording.line(last.kind, last.data, wording.names(bench.plan))
    stage = screen.stage_title(bench)
    more = (*_open(bench), words["last"].format(when=figures.day(last.t_wall), text=text), *screen.loose(bench))
    return Banner("info", words["resumed"].format(stage=stage), more)


def _open(bench: Bench) -> tuple[str, ...]:
    """How much was not measured and gone on from, in one line."""
    unproved, warns = len(bench.state.unproved), len(bench.accepted)
    counts = [f"{unproved} not measured"] * bool(unproved) + [f"{warns} accepted warn{'s' * (warns > 1)}"] * bool(warns)
    return (table("words")["open"].format(what=", ".join(counts)),) if counts else ()
