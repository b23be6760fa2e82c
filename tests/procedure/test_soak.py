"""The soak of a sign-off: last screw, readings from outside, rounds at their marks, winding, the end unopened."""

from __future__ import annotations

from dataclasses import replace

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.ask import ask, gate_items
from benchtui.procedure.commands import Command
from benchtui.procedure.decide import tick
from benchtui.procedure.plan import WINDING
from benchtui.procedure.state import Mode, State
from tests.procedure.small import judged, plan, read
from tests.procedure.test_decide import GATE_ONE, after, refusal

BY = plan(1, kinds=("power",), bare=False, soak=True)
IN = (e.SaidMet(), *GATE_ONE, c.GoIn(), e.HandsOut())
INSIDE = (e.ClipOff(), e.Clear(), c.ReadRail("r1", 0.2), c.ReadOhms(50e3))
SCREW, TOUCH = e.Covered("last screw"), read("touch", 100.0, "bond")
COLD = (c.ReadRoom(20.0), c.ReadWinding("10", 10.0))
ON = (e.PowerOn("60 W lamp"), c.SeeLimiter("dim", False, False), read("p0", 100.0), e.FullMains())
MAINS, POINT = c.ReadMains("230", 230.0), read("p0", 100.0)
DEAD = (e.PlugOut(), c.ProveMeter("dc", 9.0), c.ProveMeter("ac", 12.0), c.ReadMainsSide(0.3))
HOT = c.ReadWinding("12.5", 12.5)


def up(state: State, *given: Command | e.Event | float) -> State:
    return after(state, *given, by=BY)


INSIDE_DONE = up(State(), *IN, *INSIDE)
SHUT = up(INSIDE_DONE, SCREW)
READY = up(SHUT, TOUCH, *COLD)
SOAKING = up(READY, *ON)
ROUND = up(SOAKING, MAINS, POINT)
OVER = up(ROUND, 2.0, MAINS, POINT)
OFF = up(OVER, c.GoOn())
COOLING = up(OFF, *DEAD)
COOLED = up(COOLING, HOT, 1.0, HOT)


def test_a_soak_is_closed_with_its_last_screw_and_neither_with_one_hand_nor_with_a_loose_cover() -> None:
    for other in ("one hand", "cover on"):
        assert "last screw" in refusal(INSIDE_DONE, e.Covered(other), BY)
    assert "cover" in refusal(INSIDE_DONE, e.PowerOn("60 W lamp"), BY)
    plain = replace(BY, phases=(replace(BY.phases[0], soak=None),))
    assert after(INSIDE_DONE, e.Covered("one hand"), by=plain).closing.cover


def test_what_is_read_from_outside_counts_after_the_last_screw_only() -> None:
    assert "not read" in refusal(INSIDE_DONE, TOUCH, BY)
    assert "last screw" in refusal(INSIDE_DONE, COLD[0], BY)
    assert (ask(BY, SHUT).kind, ask(BY, SHUT).subject) == ("point", "touch")
    assert "every bond" in refusal(up(SHUT, *COLD), ON[0], BY)
    warned = up(SHUT, read("touch", 80.0, "bond"))
    assert "never accepted" in refusal(warned, e.Accepted("touch", "paint"), BY)
    assert "every bond" in refusal(up(READY, read("touch", 80.0, "bond")), ON[0], BY)
    assert "touch" not in up(READY, SCREW).read


def test_power_waits_for_the_cold_winding_or_for_the_word_that_it_is_left() -> None:
    state = up(SHUT, TOUCH)
    assert ask(BY, state).kind == "winding room" and "mains winding" in refusal(state, ON[0], BY)
    assert "room" in refusal(state, COLD[1], BY)
    assert "degrees" in refusal(state, c.ReadRoom(55.0), BY)
    assert ask(BY, up(state, COLD[0])).kind == "winding cold"
    assert "no winding" in refusal(up(state, COLD[0]), c.ReadWinding("0", 0.0), BY)
    assert up(state, *COLD).winding.cold_ohm == 10.0 and READY.winding.room_c == 20.0
    left = up(state, e.WindingLeft("no time"))
    assert WINDING in left.unproved and up(left, *ON).mode is Mode.POWERED
    assert "no winding is read" in refusal(left, COLD[0], BY)


def test_each_mark_has_mains_and_every_point_read_again_and_between_them_a_reading_is_only_watched() -> None:
    assert ask(BY, ROUND) == replace(ask(BY, ROUND), kind="soak", subject="p0", wait_s=2.0)
    assert "still open" in refusal(ROUND, c.GoOn(), BY)
    watched = up(ROUND, POINT)
    assert watched.read == frozenset() and watched.soak.round == 1
    due = up(ROUND, 2.0)
    assert ask(BY, due).kind == "mains" and "read the mains" in refusal(due, POINT, BY)
    assert ask(BY, up(due, MAINS)).subject == "p0"
    assert "still open" in refusal(up(due, MAINS), c.GoOn(), BY)
    assert OVER.soak.round == 2 and OFF.mode is Mode.OFF_GATE and OFF.last_complete


def test_a_warn_that_is_accepted_ends_its_round_as_a_pass_does() -> None:
    warned = up(SOAKING, MAINS, read("p0", 80.0))
    assert warned.soak.round == 0
    assert up(warned, e.Accepted("p0", "an old valve")).soak.round == 1


def test_a_soak_that_ends_early_begins_anew_and_keeps_the_cold_winding() -> None:
    for end in (e.Stopped(), e.Restarted(), e.PoweredDown()):
        state = up(up(ROUND, 1.0), end)
        assert state.mode is Mode.OFF_GATE and state.soak.round == 0 and state.full_s == 0.0
        assert state.winding.cold_ohm == 10.0
    back = up(ROUND, e.PoweredDown(), e.PlugOut(), e.BackToPower(), e.Clear(), SCREW)
    assert ask(BY, back).subject == "touch" and up(back, TOUCH, *ON).mode is Mode.POWERED


def test_a_soak_without_anything_to_read_takes_its_time_all_the_same() -> None:
    by = replace(BY, phases=(replace(BY.phases[0], points=(), limited=()),))
    state = after(READY, *ON[:2], ON[3], MAINS, by=by)
    assert "still open" in refusal(state, c.GoOn(), by)
    assert after(tick(by, state, 2.0), c.GoOn(), by=by).last_complete


def test_the_winding_is_read_as_it_cools_with_the_mains_side_dead_and_some_time_apart() -> None:
    assert [item.name for item in gate_items(BY, OFF)] == ["plug_out", "meter_proved", "mains_dead"]
    assert "plug" in refusal(OFF, HOT, BY)
    assert ask(BY, COOLING).kind == "winding hot"
    assert "too soon" in refusal(up(COOLING, HOT), HOT, BY)
    assert "more readings" in refusal(up(COOLING, HOT), judged(100.0), BY)
    assert up(OVER, c.GoOn(), *DEAD, HOT, 1.0, HOT).winding.hot == COOLED.winding.hot == ((0.0, 12.5), (1.0, 12.5))
    assert ask(BY, COOLED).kind == "winding judged"
    for lost in (up(COOLING, 3.0), up(COOLING, e.Disturbed("sleep"), *DEAD), up(COOLING, e.Restarted(), *DEAD)):
        assert ask(BY, lost).kind == "winding lost" and "how long" in refusal(lost, HOT, BY)
        assert ask(BY, up(lost, e.WindingLeft("slept"))).kind == "finish shut"


def test_a_winding_that_cooling_copper_cannot_have_is_a_slip_of_range_or_decimal_point() -> None:
    for slip in (1.25, 125.0):
        assert "decimal point" in refusal(COOLING, c.ReadWinding("", slip), BY)


def test_the_winding_is_judged_by_itself_and_beyond_its_limit_the_soak_is_not_over() -> None:
    assert up(COOLED, judged(100.0)).winding.verdict == "read"
    warned = up(COOLED, judged(80.0))
    assert ask(BY, warned).kind == "winding warned" and "winding's temperature" in refusal(warned, e.FinishedShut(), BY)
    assert "no winding is read" in refusal(warned, e.WindingLeft("it tells nothing"), BY)
    assert "no warn" in refusal(COOLED, e.Accepted(WINDING, "known"), BY)
    assert "reason" in refusal(warned, e.Accepted(WINDING, " "), BY)
    assert up(warned, e.Accepted(WINDING, "a hot day")).winding.verdict == "read"
    assert not up(COOLED, judged(200.0)).last_complete
    assert "more readings" in refusal(COOLED, POINT, BY)
    assert "at the gate" in refusal(ROUND, judged(100.0), BY)


def test_what_the_meter_cannot_tell_is_open_and_a_later_pass_proves_it() -> None:
    unsure = up(COOLED, judged(100.0, "a finer meter"))
    assert WINDING in unsure.unproved and unsure.winding.verdict == "read"
    assert WINDING not in up(COOLED._replace(unproved=frozenset({WINDING})), judged(100.0)).unproved
    assert not up(COOLED, judged(200.0, "a finer meter")).last_complete


def test_after_a_soak_the_work_ends_unopened_with_the_mains_side_dead_and_the_winding_told() -> None:
    done = up(COOLED, judged(100.0), e.FinishedShut())
    assert done.mode is Mode.DONE and not done.gate.plug
    assert "winding's temperature" in refusal(COOLED, e.FinishedShut(), BY)
    told = up(OFF, e.WindingLeft("no time"))
    assert "plug" in refusal(told, e.FinishedShut(), BY)
    assert up(told, *DEAD, e.FinishedShut()).mode is Mode.DONE


def test_without_a_soak_there_is_no_end_but_through_the_gate() -> None:
    plain = replace(BY, phases=(replace(BY.phases[0], soak=None),))
    state = State(last_complete=True, mains="met")
    assert "whole gate" in refusal(after(state, *DEAD, by=plain), e.FinishedShut(), plain)


def test_hands_that_go_in_and_a_chassis_that_nobody_watched_take_the_end_of_a_soak_back() -> None:
    told = up(OFF, e.WindingLeft("no time"))
    assert not up(told, e.PlugOut(), 1.0, *GATE_ONE[1:], c.GoIn()).last_complete
    assert not up(told, e.Unwatched("moved")).last_complete


def test_a_changed_build_and_a_repair_ask_for_the_cold_winding_anew() -> None:
    change = e.BuildChanged(True, (), (), "", "")
    assert up(COOLED, change).winding.cold_ohm is None
    by = plan(1, kinds=("power",), bare=False, soak=True, repair=True)
    done = up(COOLED, judged(100.0), e.FinishedShut())
    assert after(done, e.BrokeDown(), by=by).winding.cold_ohm is None
    assert up(done, change).winding.cold_ohm is None
