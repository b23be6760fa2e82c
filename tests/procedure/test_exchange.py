"""Something exchanged to find a fault: it is read by its limits alone, and put back before anything goes on."""

from __future__ import annotations

from dataclasses import replace

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.ask import ask
from benchtui.procedure.commands import Command
from benchtui.procedure.decide import decide
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode, State
from tests.procedure.small import plan, read
from tests.procedure.test_decide import GATE_ONE, after, refusal
from tests.procedure.test_repair import CLOSE, DIM, GATE

BY = plan(1, kinds=("hands", "power"), bare=False)
SWAP = e.Exchanged("V2 and V3 exchanged", "p1")
FULL = (*CLOSE, e.PowerOn("60 W lamp"), DIM, read("p1", 100.0), e.FullMains(), c.ReadMains("230", 230.0))


def up(state: State, *given: Command | e.Event | float, by: Plan = BY) -> State:
    return after(state, *given, by=by)


WARNED = up(State(), e.SaidMet(), *GATE_ONE, c.GoIn(), read("p0", 100.0), c.GoOn(), *FULL, read("p1", 80.0))
HANDS = up(WARNED, e.PoweredDown(), *GATE, c.GoIn())


def swapped() -> State:
    return up(HANDS, SWAP)


def test_what_is_exchanged_is_read_by_its_limits_and_nothing_passes() -> None:
    assert WARNED.mode is Mode.POWERED and HANDS.mode is Mode.HANDS and not HANDS.exchange
    assert (swapped().exchange, swapped().tried) == ("V2 and V3 exchanged", "p1")
    powered = up(swapped(), e.HandsOut(), *FULL)
    assert ask(BY, powered).kind == "exchanged" and ask(BY, powered).subject == "p1"
    for value in (80.0, 100.0):
        (event,) = decide(BY, powered, read("p1", value))  # type: ignore[misc]
        assert type(event) is e.PointExchanged and event.value == value
    done = up(powered, read("p1", 100.0))
    assert done.tried == "" and done.read == frozenset() and done.exchange
    assert ask(BY, done).kind == "ht live" and ask(BY, up(done, c.ReadHt(300.0))).kind == "exchange read"
    assert "put it back" in refusal(done, c.GoOn(), BY)
    assert up(powered, read("p1", 200.0)).alarm == "stop"


def test_under_the_limiter_no_window_applies_either() -> None:
    limited = up(swapped(), e.HandsOut(), *CLOSE, e.PowerOn("60 W lamp"), DIM)
    assert up(limited, read("p1", 20.0)).watched == {"p1"}
    without = up(HANDS, e.HandsOut(), *CLOSE, e.PowerOn("60 W lamp"), DIM)
    assert up(without, read("p1", 20.0)).watched == frozenset()


def test_where_nothing_is_left_to_read_the_work_waits_for_it_too() -> None:
    by = replace(BY, phases=(BY.phases[0], replace(BY.phases[1], points=(), watch="", limited=())))
    powered = (e.HandsOut(), *CLOSE, e.PowerOn("60 W lamp"), DIM, e.FullMains(), c.ReadMains("230", 230.0))
    assert ask(by, up(swapped(), *powered, by=by)).kind == "ht live"
    assert "put it back" in refusal(up(swapped(), *powered, by=by), c.GoOn(), by)
    assert up(HANDS, *powered, c.GoOn(), by=by).last_complete


def test_only_what_is_exchanged_is_put_back_and_read() -> None:
    assert "nothing is exchanged" in refusal(HANDS, e.PutBack(), BY)
    assert "first put it back" in refusal(swapped(), SWAP, BY)
    assert "done without power" in refusal(up(State(), e.SaidMet(), *GATE_ONE, c.GoIn()), SWAP, BY)


def test_what_is_put_back_lets_the_work_go_on() -> None:
    back = up(swapped(), e.PutBack())
    assert not back.exchange and not back.tried
    passed = up(back, e.HandsOut(), *FULL, read("p1", 100.0))
    assert passed.read == {"p1"} and up(passed, c.GoOn()).last_complete


def test_it_stays_exchanged_through_stop_and_restart() -> None:
    for event in (e.Stopped(), e.Restarted(), e.Disturbed("sleep")):
        state = up(swapped(), event)
        assert state.exchange == swapped().exchange and state.mode is Mode.OFF_GATE
