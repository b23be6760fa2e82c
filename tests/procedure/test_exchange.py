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
from tests.procedure.test_repair import CLOSE, DIM, GATE, GRID

BY = plan(1, kinds=("hands", "power"), bare=False)
OVERLOOKED_BY = plan(1, kinds=("hands", "power"), bare=False, look_over=True)
SWAP = e.Exchanged("V2 and V3 exchanged", "p1")
FULL = (*CLOSE, e.PowerOn("60 W lamp"), DIM, read("p1", 100.0), e.FullMains(), c.ReadMains("230", 230.0))


def up(state: State, *given: Command | e.Event | float, by: Plan = BY) -> State:
    return after(state, *given, by=by)


WARNED = up(State(), e.SaidMet(), *GATE_ONE, c.GoIn(), read("p0", 100.0), c.GoOn(), *FULL, read("p1", 80.0))
HANDS = up(WARNED, e.PoweredDown(), *GATE, c.GoIn())
LAMP = e.PowerOn("60 W lamp")


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
    assert ask(BY, done).kind == "exchange read"
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
    assert ask(by, up(swapped(), *powered, by=by)).kind == "exchange read"
    assert "put it back" in refusal(up(swapped(), *powered, by=by), c.GoOn(), by)
    assert up(HANDS, *powered, c.GoOn(), by=by).last_complete


def test_only_what_is_exchanged_is_put_back_and_read() -> None:
    assert "nothing is exchanged" in refusal(HANDS, e.PutBack(), BY)
    assert "first put it back" in refusal(swapped(), SWAP, BY)
    assert "done without power" in refusal(up(State(), e.SaidMet(), *GATE_ONE, c.GoIn()), SWAP, BY)


def test_what_is_put_back_lets_the_work_go_on() -> None:
    """Leads were handled, so what the stage checks without power is read again."""
    back = up(swapped(), e.PutBack())
    assert not back.exchange and not back.tried
    assert ask(BY, back).subject == "p0" and "every check" in refusal(back, e.HandsOut(), BY)
    passed = up(back, read("p0", 100.0), e.HandsOut(), *FULL, read("p1", 100.0))
    assert passed.read == {"p1"} and up(passed, c.GoOn()).last_complete


def test_with_something_exchanged_nothing_passes_with_hands_in_either() -> None:
    """A leak shows no more once its capacitor is lifted: a check that passed so would never be made again."""
    stopped = up(WARNED, read("p1", 200.0), *GATE, c.GoIn())
    assert "every check" in refusal(stopped, SWAP, BY)
    state = up(stopped, read("p0", 100.0), e.CauseOpen(), SWAP)
    for given in (read("p0", 100.0), e.CauseFound("C2"), e.FurtherRead("s", "R1", "1", 1.0)):
        assert "first put it back" in refusal(state, given, BY)
    assert ask(BY, state).kind == "hands out"
    back = up(state, e.HandsOut(), *CLOSE, LAMP, e.PoweredDown(), *GATE, c.GoIn(), e.PutBack())
    assert ask(BY, back).subject == "p0" and "every check" in refusal(back, e.HandsOut(), BY)


def test_power_with_something_exchanged_comes_through_a_limiter_and_a_bias_must_show_behind_it() -> None:
    closed = up(swapped(), e.HandsOut(), *CLOSE)
    assert "limiter only" in refusal(closed, e.PowerOn("", "known good"), BY)
    by = replace(BY, phases=(BY.phases[0], replace(BY.phases[1], points=(GRID,), limited=("grid",), watch="grid")))
    limited = up(closed, LAMP, DIM, by=by)
    assert up(limited, read("grid", 20.0, "grid bias"), by=by).watched == frozenset()
    assert up(limited, read("grid", 100.0, "grid bias"), by=by).watched == {"grid"}


def test_where_something_else_is_due_first_it_is_put_back_before() -> None:
    moved = up(swapped(), e.Unwatched("moved"), *GATE, c.GoIn(), by=OVERLOOKED_BY)
    assert ask(OVERLOOKED_BY, moved).kind == "put back"
    assert ask(OVERLOOKED_BY, up(moved, e.PutBack(), by=OVERLOOKED_BY)).subject == "bond"


def test_it_stays_exchanged_through_stop_and_restart() -> None:
    for event in (e.Stopped(), e.Restarted(), e.Disturbed("sleep")):
        state = up(swapped(), event)
        assert state.exchange == swapped().exchange and state.mode is Mode.OFF_GATE
