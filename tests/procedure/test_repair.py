"""A finished amplifier that stopped working: what is told, read, mended and read again before it is finished anew."""

from __future__ import annotations

from dataclasses import replace

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.ask import ask
from benchtui.procedure.commands import Command
from benchtui.procedure.plan import Plan, Point, Whole, Work
from benchtui.procedure.state import Mode, State
from tests.procedure.small import OVER, plan, read
from tests.procedure.test_decide import GATE_ONE, after, refusal

GRID = Point("grid", "grid", "dc", "V", "red", "black", "grid bias")
ANODE, CATHODE = (Point(id, id, "dc", "V", "red", "black") for id in ("anode", "cathode"))
LEAK, BOND = (Point(id, id, "resistance", "ohm", "red", "black") for id in ("leak", "bond"))


def repairable() -> Plan:
    """Hands, then power with one point; once it is finished four are read with power and two without."""
    made = plan(1, kinds=("hands", "power"), bare=False, look_over=True)
    power = replace(made.phases[1], points=(*made.phases[1].points, GRID, ANODE, CATHODE))
    checks = Work(points=(replace(OVER), LEAK))
    return replace(made, whole=Whole(replace(power, limited=("p1", "grid")), checks), story=("fuse", "look", "smell"))


BY = repairable()
CLOSE = (e.ClipOff(), e.Clear(), c.ReadRail("r1", 0.1), c.ReadOhms(50e3), e.Covered("cover on"))
DIM = c.SeeLimiter("dim", False, False)
#: The gate after power, its first reservoir so late that it may be down.
GATE = (e.PlugOut(), 1.0, *GATE_ONE[1:])
BRINGUP = (
    e.SaidMet(), *GATE_ONE, c.GoIn(), read("p0", 100.0), c.GoOn(), *CLOSE, e.PowerOn("60 W lamp"), DIM,
    read("p1", 100.0), e.FullMains(), c.ReadMains("230", 230.0), read("p1", 100.0), c.GoOn(), *GATE, e.Finished(),
)  # fmt: skip
OVERLOOKED = (read("bond", 100.0, "bond"), read("leak", 100.0))
FULL = (*CLOSE, e.PowerOn("60 W lamp"), DIM, read("p1", 100.0), read("grid", 100.0, "grid bias"), e.FullMains(),
        c.ReadMains("230", 230.0))  # fmt: skip
C2 = e.CauseFound("C2 shorted", ("C2",))


def up(state: State, *given: Command | e.Event | float, by: Plan = BY) -> State:
    return after(state, *given, by=by)


FINISHED = up(State(), *BRINGUP)
BROKEN = up(FINISHED, e.BrokeDown())
HANDS = up(BROKEN, *GATE, c.GoIn())
CHECKED = up(HANDS, *OVERLOOKED)


def test_it_begins_at_the_gate_of_the_last_stage_with_power_and_is_looked_over_first() -> None:
    assert FINISHED.mode is Mode.DONE and BROKEN.mode is Mode.OFF_GATE
    assert BROKEN.at(BY) is BY.whole.power  # type: ignore[union-attr]
    assert ask(BY, HANDS).subject == "bond"
    assert "nobody watched" in refusal(HANDS, e.HandsOut(), BY)
    assert "nobody watched" in refusal(up(HANDS, OVERLOOKED[1]), e.HandsOut(), BY)
    assert "every check" in refusal(CHECKED, e.HandsOut(), BY)


def test_the_last_stage_with_power_need_not_be_the_last() -> None:
    by = plan(1, kinds=("power", "hands"), bare=False, repair=True)
    mended = State(mode=Mode.DONE, mains="met", phase=1)
    assert up(mended, e.BrokeDown(), by=by).phase == 0


def test_what_never_has_power_cannot_stop_working() -> None:
    assert "can stop working" in refusal(FINISHED, e.BrokeDown(), replace(BY, whole=None))


def test_what_happened_is_told_once_and_in_a_repair_alone() -> None:
    state = up(BROKEN, e.PlugOut())
    assert (ask(BY, state).kind, ask(BY, state).subject) == ("told", "fuse")
    none = e.Told("fuse", "none", (), ("fuse", "look"))
    told = up(state, none)
    assert ask(BY, told).subject == "smell"
    assert "not asked" in refusal(told, none, BY)
    assert "not asked" in refusal(up(State(), e.SaidMet()), none, BY)
    assert ask(BY, up(told, e.Restarted(), e.PlugOut())).subject == "smell"
    assert ask(BY, up(told, e.Told("smell", "burnt", (), ("smell",)))).kind == "proof dc"


def test_a_cause_is_told_only_where_one_is_asked() -> None:
    assert ask(BY, CHECKED).kind == "found"
    calm = CHECKED._replace(alarm="", repair=False)
    assert "nothing is asked" in refusal(calm, C2, BY)
    assert "nothing is asked" in refusal(calm, e.CauseOpen(), BY)


def test_while_the_cause_is_not_found_power_comes_through_a_limiter_and_it_is_asked_again() -> None:
    state = up(CHECKED, e.CauseOpen(), e.HandsOut(), *CLOSE)
    assert "through a limiter" in refusal(state, e.PowerOn("", "known good"), BY)
    state = up(state, e.PowerOn("60 W lamp"), e.PoweredDown(), *GATE, c.GoIn())
    assert ask(BY, state).kind == "found" and "what was found" in refusal(state, e.HandsOut(), BY)
    mended = up(state, e.CauseFound("a dry joint"))
    assert mended.due(BY).points == BY.whole.checks.points  # type: ignore[union-attr]
    assert "every check" in refusal(mended, e.HandsOut(), BY)
    state = up(mended, *OVERLOOKED, e.HandsOut(), *CLOSE, e.PowerOn("", "the joint was it"))
    assert state.mode is Mode.POWERED and not state.cause_open


def test_what_a_mended_part_cannot_move_is_not_read_again() -> None:
    named = up(CHECKED, C2)
    assert (ask(BY, named).kind, ask(BY, named).subject) == ("retest", "C2")
    assert "first settle" in refusal(named, e.HandsOut(), BY)
    listed = up(named, e.Retest(("C2",), ("leak",), ("cathode",)))
    assert ask(BY, listed).subject == "leak"
    state = up(listed, read("leak", 100.0), e.HandsOut(), *FULL)
    assert [point.id for point in state.due(BY).points] == ["p1", "grid", "anode"]
    state = up(state, read("p1", 100.0), read("grid", 100.0, "grid bias"))
    assert "still open" in refusal(state, c.GoOn(), BY)
    state = up(state, read("anode", 100.0), c.GoOn(), *GATE, e.Finished())
    assert state.mode is Mode.DONE and not state.repair


def test_grid_bias_and_what_the_limiter_shows_are_never_left_out() -> None:
    for spared in (("grid",), ("p1",), ("cathode", "grid")):
        assert "always read again" in refusal(up(CHECKED, C2), e.Retest(("C2",), (), spared), BY)


def test_only_for_what_was_named_something_is_left_out() -> None:
    for parts in ((), ("C3",), ("C2", "C3")):
        assert "named" in refusal(up(CHECKED, C2), e.Retest(parts, (), ("cathode",)), BY)


SPARED = up(CHECKED, C2, e.Retest(("C2",), (), ("anode", "cathode")))
AT_POWER = up(SPARED, e.HandsOut(), *FULL)


def test_left_out_points_alone_are_no_end_of_a_stage() -> None:
    assert "still open" in refusal(SPARED, c.GoOn(), BY)
    assert "still open" in refusal(up(SPARED, e.HandsOut(), *CLOSE, e.PowerOn("60 W lamp")), c.GoOn(), BY)


def test_something_that_reads_badly_makes_all_be_read_again() -> None:
    for bad in (read("p1", 80.0), read("p1", 200.0)):
        assert not up(AT_POWER, bad).spared
    assert not up(SPARED, e.Unwatched("moved")).spared
    assert up(AT_POWER, e.Stopped()).spared == SPARED.spared


def test_it_outlives_a_restart() -> None:
    state = up(AT_POWER, e.Restarted())
    assert state.repair and state.spared == SPARED.spared and state.mode is Mode.OFF_GATE


def test_a_repair_ends_with_everything_read_and_begins_anew() -> None:
    ends = (read("p1", 100.0), read("grid", 100.0, "grid bias"), c.GoOn(), *GATE, e.Finished())
    done = up(up(AT_POWER, *ends))
    assert done.mode is Mode.DONE and not done.repair and not done.spared
    again = up(done, e.BrokeDown())
    assert again.alarm == "repair" and not again.told and not again.spared


def test_a_changed_build_file_ends_a_repair_where_it_is_not_kept() -> None:
    change = e.BuildChanged(True, ("stage 0",), ("+R1",), "00", "text")
    state = up(SPARED, e.Restarted())
    assert up(state, change).repair and not up(state, change).spared
    assert not up(state, replace(change, keep=False)).repair
