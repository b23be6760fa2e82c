"""What is said of an event that a typed line came to."""

from __future__ import annotations

from dataclasses import replace

from benchtui.procedure import events as e
from benchtui.procedure.state import Mode
from benchtui.session import shutting, wording
from benchtui.session.bench import Bench
from benchtui.session.mending import said
from benchtui.session.prompts import spoken
from benchtui.session.signal import off
from benchtui.session.suspects import beside
from benchtui.session.view import Banner, Suspects
from benchtui.session.waiting import noted
from benchtui.verdicts.expectation import Expectation

#: So many points with the very same number make the meter suspect.
_STUCK = 4


def reply(
    before: Bench, after: Bench, event: e.Event, expectation: Expectation | None, notes: tuple[str, ...]
) -> Banner | None:
    """What is said of `event`, typed at the moment `before`; `expectation` is what it was judged by."""
    if isinstance(event, e.PointRead) and after.notebook.alike(before.phase) >= _STUCK:
        notes = (*notes, "the same number at several points: is the meter stuck, or on hold?")
    if isinstance(event, e.ReservoirLow) and before.ask.kind == "wait":
        return noted(before, event.id, event.value_v)
    if isinstance(event, e.ClipOff) and before.state.mode is Mode.CLOSING:
        return None  # there it is what was asked for, elsewhere it came off
    unit = expectation.unit if expectation else shutting.unit(event)
    told = said(after, event) or wording.banner(event, wording.names(after.plan), unit, notes)
    if isinstance(event, e.OhmsBad) and expectation is not None and told is not None:
        return replace(told, more=(spoken(expectation), *told.more))
    return told


def hint(before: Bench, event: e.Event, expectation: Expectation | None) -> tuple[str, ...]:
    """What a reading outside its window is most often; empty where nothing is known."""
    if not isinstance(event, e.PointWarned) or expectation is None:
        return ()
    cause = off(before.test, event) if before.test else wording.cause(event, expectation.quantity)
    return tuple(filter(None, (cause,)))


def with_suspects(told: Banner | None, cause: tuple[str, ...], suspects: Suspects) -> Banner | None:
    """The answer to what was typed last; beside a bad verdict what may be the matter, or else its usual `cause`."""
    if told is None or told.kind not in ("warn", "stop"):
        return told
    return replace(told, more=(*told.more, *(() if suspects.likely else cause), *beside(suspects)))
