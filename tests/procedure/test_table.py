"""The transition table: every pair of mode and event, and the words that hold it together."""

from __future__ import annotations

from dataclasses import fields
from math import inf
from typing import Any, get_type_hints

import pytest

from benchtui.procedure import events as e
from benchtui.procedure.codec import KINDS
from benchtui.procedure.commands import FACTS
from benchtui.procedure.decide import Refusal, decide, fold
from benchtui.procedure.effects import EFFECTS
from benchtui.procedure.guards import GUARDS
from benchtui.procedure.state import Mode, State
from benchtui.procedure.table import TABLE
from tests.procedure.small import plan

EVENTS = [*KINDS.values(), e.OtherHolds, e.RecordFailed]
PLAN = plan(1)


def example(event: type[e.Event]) -> e.Event:
    """An event of a type with some value in each field."""
    hints = get_type_hints(event)
    some: dict[Any, Any] = {str: "C1", float: 1.0, int: 1, bool: True, tuple[str, ...]: ("x",), float | None: None,
                            tuple[float, ...]: (inf,)}  # fmt: skip
    values = {field.name: some[hints[field.name]] for field in fields(event)}
    return event(**(values | {"kind": "dc"} if "kind" in values else values))


@pytest.mark.parametrize("mode", Mode)
@pytest.mark.parametrize("event", EVENTS)
def test_what_is_not_in_the_table_is_refused_and_changes_nothing(mode: Mode, event: type[e.Event]) -> None:
    state = State(mode=mode)
    if event in TABLE[mode]:
        return
    assert fold(PLAN, state, example(event)) == state
    if event in FACTS:
        assert isinstance(decide(PLAN, state, example(event)), Refusal)
    assert state == State(mode=mode)


@pytest.mark.parametrize("mode", Mode)
def test_only_an_event_of_the_table_leads_to_another_mode(mode: Mode) -> None:
    for event in EVENTS:
        after = fold(PLAN, State(mode=mode), example(event)).mode
        row = TABLE[mode].get(event)
        assert after == (row.to if row and row.to else mode)


def test_every_name_in_the_table_is_known_and_every_known_one_used() -> None:
    rows = [row for rows in TABLE.values() for row in rows.values()]
    effects = {name for row in rows for name in row.effects}
    guards = {name for row in rows for name in row.guards}
    assert effects == set(EFFECTS)
    assert guards | {"ohms_right"} == set(GUARDS)


def test_a_guard_says_what_is_missing_in_a_sentence() -> None:
    for guard in GUARDS.values():
        assert len(guard.says) > 10 and not guard.says.endswith(".")


def test_nothing_but_a_restart_leads_out_of_halt_and_read_only() -> None:
    assert {event for event, row in TABLE[Mode.HALT].items() if row.to is not Mode.READONLY} == {e.Restarted}
    assert {event for event, row in TABLE[Mode.READONLY].items() if row.to is not Mode.HALT} == {e.Restarted}


def test_a_fact_cannot_carry_a_reading() -> None:
    """Whatever has a number is weighed first: a command, never a fact that is taken as it is told; but for what
    nothing goes by."""
    carrying = {event for event in FACTS if {"value_v", "ohm", "value"} & {field.name for field in fields(event)}}
    assert carrying == {e.TrimHt, e.FurtherRead}
