"""A finished amplifier that works and is brought back: the gate, what is read before its power and with it."""

from __future__ import annotations

from dataclasses import replace

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.ask import ask
from benchtui.procedure.commands import Command
from benchtui.procedure.plan import Plan, Point, Work
from benchtui.procedure.state import Mode, State
from tests.procedure.small import WIRE, plan, read
from tests.procedure.test_decide import after, refusal
from tests.procedure.test_repair import BY as REPAIRED
from tests.procedure.test_repair import CLOSE, DIM, FINISHED, FULL, GATE

DAMP = Point("damp", "damp", "resistance", "ohm", "live", "earth", "insulation")
WHOLE = REPAIRED.whole
assert WHOLE is not None
#: Of two checks beside the look over a check-up makes the one.
BY = replace(REPAIRED, whole=WHOLE._replace(
    checks=Work(points=(*WHOLE.checks.points, DAMP)), before=Work(points=(DAMP,)),
))  # fmt: skip
BOND, GOOD = read("bond", 100.0, "bond"), read("damp", 100.0, "insulation")
WITH_POWER = ("p1", "grid", "anode", "cathode")


def up(state: State, *given: Command | e.Event | float, by: Plan = BY) -> State:
    return after(state, *given, by=by)


BACK = up(FINISHED, e.BroughtBack())
HANDS = up(BACK, *GATE, c.GoIn())
CHECKED = up(HANDS, BOND, GOOD)
AT_POWER = up(CHECKED, e.HandsOut(), *FULL)


def test_it_begins_live_at_the_gate_of_its_last_stage_with_power_and_nobody_asks_what_happened() -> None:
    back = up(FINISHED, e.BroughtBack())
    assert back.mode is Mode.OFF_GATE and not back.gate.plug and not back.clip_off
    assert back.at(BY) is BY.whole.power  # type: ignore[union-attr]
    assert ask(BY, back).kind == "plug" and ask(BY, up(back, e.PlugOut())).kind == "proof dc"
    assert "clip must be known" in refusal(up(back, e.PlugOut()), e.BackToPower(), BY)


def test_what_never_has_power_is_not_brought_back() -> None:
    assert "read with power again" in refusal(FINISHED, e.BroughtBack(), replace(BY, whole=None))


def test_only_what_is_finished_is_brought_back() -> None:
    for state in (BACK, HANDS, AT_POWER, up(FINISHED, e.BrokeDown())):
        assert refusal(state, e.BroughtBack(), BY)


def test_before_its_power_it_is_looked_over_and_its_insulation_read_and_no_cause_is_asked() -> None:
    assert [point.id for point in HANDS.due(BY).points] == ["bond", "damp"]
    assert "nobody watched" in refusal(up(HANDS, GOOD), e.HandsOut(), BY)
    assert "every check" in refusal(up(HANDS, BOND), e.HandsOut(), BY)
    assert ask(BY, CHECKED).kind == "hands out"
    assert "nothing is asked" in refusal(CHECKED, e.CauseFound("nothing"), BY)


def test_where_something_was_exchanged_every_check_without_power_is_due_after_all() -> None:
    state = up(CHECKED, e.Exchanged("V2 and V3 exchanged", "p1"), e.PutBack())
    assert {point.id for point in state.due(BY).points} == {"bond", "leak", "damp"}
    assert "every check" in refusal(up(state, BOND, GOOD), e.HandsOut(), BY)


def test_a_wire_that_is_told_to_be_loose_makes_every_check_due() -> None:
    wired = replace(BY, phases=(replace(BY.phases[0], steps=(WIRE,)), *BY.phases[1:]))
    state = up(CHECKED._replace(made=frozenset({WIRE.id})), e.Undone((WIRE.id,)), e.Made((WIRE.id,), "on"), by=wired)
    assert {point.id for point in state.due(wired).points} == {"bond", "leak", "damp"}


def test_every_point_is_read_in_it_before_it_ends_and_nothing_is_left_out() -> None:
    assert AT_POWER.mode is Mode.POWERED
    for point in WITH_POWER:
        state = up(AT_POWER, *(read(id, 100.0) for id in WITH_POWER if id != point))
        assert "still open" in refusal(state, c.GoOn(), BY)
    state = up(AT_POWER, *(read(id, 100.0) for id in WITH_POWER), c.GoOn(), *GATE, e.Finished())
    assert state.mode is Mode.DONE and not state.checkup and not state.returned
    assert not up(state, e.BroughtBack()).read


def test_a_cause_named_in_it_leaves_nothing_out_since_what_passed_is_of_another_year() -> None:
    state = up(AT_POWER, read("p1", 200.0), *GATE, c.GoIn(), BOND, read("leak", 100.0), GOOD)
    assert state.alarm == "stop" and ask(BY, state).kind == "found"
    state = up(state, e.CauseFound("C2 shorted", ("C2",)))
    assert not state.replaced and ask(BY, state).kind == "hands out"
    assert "named" in refusal(state, e.Retest(("C2",), (), ("anode",)), BY)


def test_a_stop_and_a_restart_in_it_keep_it_and_take_its_readings_back() -> None:
    half = up(AT_POWER, read("p1", 100.0))
    for cut in (e.Stopped(), e.Restarted()):
        state = up(half, cut)
        assert state.checkup and state.mode is Mode.OFF_GATE and not state.read
        assert state.at(BY) is BY.whole.power  # type: ignore[union-attr]
    assert up(CHECKED, e.Restarted()).alarm == "checkup" and not up(CHECKED, e.Restarted()).read


def test_a_changed_build_file_that_is_not_kept_ends_it() -> None:
    change = e.BuildChanged(True, ("stage 0",), ("+R1",), "00", "text")
    state = up(CHECKED, e.Restarted())
    assert up(state, change).checkup and not up(state, replace(change, keep=False)).returned


def test_a_soak_after_it_asks_for_the_cold_winding_anew() -> None:
    by = plan(1, kinds=("power",), bare=False, soak=True, checkup=True)
    done = State(mode=Mode.DONE, mains="met")
    done = done._replace(winding=done.winding._replace(room_c=20.0, cold_ohm=10.0))
    assert after(done, e.BroughtBack(), by=by).winding.cold_ohm is None


def test_power_comes_with_a_limiter_or_a_reason_as_ever() -> None:
    closed = up(CHECKED, e.HandsOut(), *CLOSE)
    assert "name the limiter" in refusal(closed, e.PowerOn("", " "), BY)
    assert up(closed, e.PowerOn("60 W lamp"), DIM).limited
