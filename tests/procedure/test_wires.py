"""Wires and holes: made once, kept through everything, and no power while one is told to be loose."""

from __future__ import annotations

from dataclasses import replace

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.ask import ask
from benchtui.procedure.commands import Command
from benchtui.procedure.plan import Plan, Step
from benchtui.procedure.state import Mode, State
from tests.procedure.small import WIRE, plan, read
from tests.procedure.test_decide import GATE_ONE, after, refusal
from tests.procedure.test_repair import CLOSE, DIM, GATE

SECOND = Step("wire c to d", "c to d", "on", makes="wire")
ON, OFF = e.Made((WIRE.id,), "on"), e.Undone((WIRE.id,))
BY = plan(1, kinds=("hands", "power"), bare=False, wired=True, look_over=True)
TWO = replace(BY, phases=(replace(BY.phases[0], steps=(WIRE, SECOND)), BY.phases[1]))


def up(state: State, *given: Command | e.Event | float, by: Plan = BY) -> State:
    return after(state, *given, by=by)


HANDS = up(State(), e.SaidMet(), *GATE_ONE, c.GoIn())
POWERED = up(HANDS, ON, read("p0", 100.0), c.GoOn(), *CLOSE, e.PowerOn("60 W lamp"), DIM)
AGAIN = up(POWERED, e.PoweredDown(), *GATE, c.GoIn())


def test_wires_are_asked_one_after_the_other_and_several_can_be_told_at_once() -> None:
    asked = ask(TWO, HANDS)
    assert (asked.kind, asked.subject, asked.k, asked.n) == ("wire", WIRE.id, 1, 2)
    assert ask(TWO, up(HANDS, ON, by=TWO)).subject == SECOND.id
    assert ask(TWO, up(HANDS, ON, by=TWO)).k == 2
    assert ask(TWO, up(HANDS, e.Made((WIRE.id, SECOND.id), "on"), by=TWO)).subject == "p0"
    assert "still open" in refusal(up(HANDS, ON, read("p0", 100.0), by=TWO), c.GoOn(), TWO)


def test_only_what_is_due_can_be_made_and_only_what_is_made_be_loose() -> None:
    assert "to be made now" in refusal(HANDS, e.Made((SECOND.id,), "on"), BY)
    assert "to be made now" in refusal(HANDS, e.Made((), "on"), BY)
    assert "to be made now" in refusal(up(HANDS, ON), ON, BY)
    assert "not made yet" in refusal(HANDS, OFF, BY)
    assert "another stage" in refusal(HANDS, e.StepDone(WIRE.id, "on"), BY)


def test_a_wire_stays_on_through_stop_restart_and_a_changed_build_file() -> None:
    changed = e.BuildChanged(False, (), (), "", "")
    for events in ((e.Stopped(),), (e.Restarted(),), (e.Disturbed("sleep"),), (e.Restarted(), changed)):
        state = up(up(HANDS, ON), *events)
        assert state.mode is Mode.OFF_GATE and state.made == {WIRE.id}


def test_a_loose_wire_keeps_the_work_where_it_is_and_what_was_read_is_read_again() -> None:
    state = up(HANDS, ON, read("p0", 100.0), OFF)
    assert ask(BY, state).subject == WIRE.id and not state.read
    assert "still open" in refusal(state, c.GoOn(), BY)
    assert ask(BY, up(state, ON)).subject == "p0"


def test_no_power_comes_back_while_a_wire_of_an_earlier_stage_is_loose() -> None:
    assert AGAIN.mode is Mode.HANDS and ask(BY, AGAIN).kind == "hands out"
    state = up(AGAIN, OFF)
    assert ask(BY, state).subject == WIRE.id
    assert state.unwatched and state.again
    checked = up(state, read("bond", 100.0, "bond"), read("p0", 100.0))
    assert ask(BY, checked).subject == WIRE.id
    assert "loose" in refusal(checked, e.HandsOut(), BY)
    assert up(checked, ON, e.HandsOut()).mode is Mode.CLOSING


def test_with_power_on_nothing_is_made_or_loose() -> None:
    for given in (ON, OFF):
        assert "while power is on" in refusal(POWERED, given, BY)


def test_a_wire_that_the_build_file_no_longer_has_comes_off_first() -> None:
    bare = plan(1, kinds=("hands", "power"), bare=False)
    state = up(HANDS, ON)
    asked = ask(bare, state)
    assert (asked.kind, asked.subject) == ("come off", WIRE.id)
    passed = up(state, read("p0", 100.0), by=bare)
    assert "no longer has" in refusal(passed, c.GoOn(), bare)
    off = up(passed, OFF, by=bare)
    assert not off.left_over(bare) and ask(bare, off).subject == "p0"
    assert up(off, read("p0", 100.0), c.GoOn(), by=bare).mode is Mode.CLOSING


def with_new_wire(by: Plan) -> Plan:
    first = by.phases[0]
    return replace(by, phases=(replace(first, steps=(*first.steps, SECOND)), *by.phases[1:]))


def test_a_wire_that_a_kept_change_adds_to_an_earlier_stage_is_put_on_before_power() -> None:
    changed, kept = with_new_wire(BY), e.BuildChanged(True, (), (), "", "")
    state = up(POWERED, e.Restarted(), kept, *GATE, c.GoIn(), by=changed)
    assert (ask(changed, state).kind, ask(changed, state).subject) == ("wire", SECOND.id)
    assert "loose" in refusal(state, e.HandsOut(), changed)
    assert up(state, e.Made((SECOND.id,), "on"), e.HandsOut(), by=changed).mode is Mode.CLOSING


def test_a_record_older_than_the_wire_list_goes_on_and_its_wires_can_still_be_told_to_be_loose() -> None:
    """Its stages were passed when no wire was asked for."""
    before = replace(BY, phases=(replace(BY.phases[0], steps=()), BY.phases[1]))
    old = up(State(), e.SaidMet(), *GATE_ONE, c.GoIn(), read("p0", 100.0), c.GoOn(), *CLOSE, by=before)
    old = up(old, e.PowerOn("60 W lamp"), DIM, e.PoweredDown(), *GATE, c.GoIn(), by=before)
    assert ask(BY, old).kind == "hands out"
    loose = up(old, OFF)
    assert ask(BY, loose).subject == WIRE.id
    assert "loose" in refusal(up(loose, read("bond", 100.0, "bond"), read("p0", 100.0)), e.HandsOut(), BY)
    assert "not made yet" in refusal(loose, OFF, BY)


def test_a_hole_that_the_build_file_no_longer_has_is_nothing_to_be_taken_off() -> None:
    assert not State(made=frozenset({"hole V1"})).left_over(BY)
