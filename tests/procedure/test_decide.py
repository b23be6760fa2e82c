"""Single things that gate, closing and power must do; the walk of the small plan does the rest."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan

import pytest

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.ask import Ask, ask, closing_items, gate_items
from benchtui.procedure.commands import Command
from benchtui.procedure.decide import Refusal, decide, fold, tick
from benchtui.procedure.plan import Plan, Step, Work, clip_s, wait_s
from benchtui.procedure.state import Mode, State
from tests.procedure.small import FIT, OVER, expected, full_plan, plan, read

PLAN = full_plan()


def after(state: State, *given: Command | e.Event | float, by: Plan = PLAN) -> State:
    """`state` after all of `given`, each of which must count; a number is seconds."""
    for one in given:
        if isinstance(one, float):
            state = tick(by, state, one)
            continue
        events = decide(by, state, one)
        assert not isinstance(events, Refusal), (one, events, state.mode)
        for event in events:
            state = fold(by, state, event)
    return state


def refusal(state: State, given: Command | e.Event, by: Plan = PLAN) -> str:
    """Why `given` does not count in `state`."""
    events = decide(by, state, given)
    assert isinstance(events, Refusal), events
    return events.why


PROOFS = (c.ProveMeter("dc", 9.0), c.ProveMeter("ac", 12.0))
ROUND = (c.ReadReservoir("C1", 0.3), c.ReadReservoir("C2", -0.2))
GATE_ONE = (
    e.PlugOut(), *PROOFS, c.ReadMainsSide(0.1), ROUND[0], 2.0, ROUND[0], c.ReadClip(2100.0), 1.0, *PROOFS,
)  # fmt: skip
CLIPPED = (c.ReadClip(2100.0), c.CountLinks(1))
GATE = (e.PlugOut(), *PROOFS, c.ReadMainsSide(0.1), 2.0, *ROUND, 2.0, *ROUND, *CLIPPED, 1.0, *PROOFS)
WORK = (e.StepDone("s1", "fitted"), e.StepDone("s2", "seen"), read("p0", 100.0))
CLOSE = (c.CountLinksOff(1), e.Clear(), c.ReadRail("r1", 0.1), c.ReadOhms(50e3), e.Covered("cover on"))
START = after(State(), e.SaidMet())
HANDS = after(START, *GATE, c.GoIn())
CLOSING = after(HANDS, *WORK, c.GoOn())
LIMITED = after(CLOSING, *CLOSE, e.PowerOn("60 W lamp"))
DIM = c.SeeLimiter("dim", False, False)
FULL = after(LIMITED, DIM, read("p1", 100.0), e.FullMains(), c.ReadMains("230", 230.0))


def trim(id: str, value_v: float, limit: float = 150.0) -> c.ReadTrim:
    return c.ReadTrim(id, f"{value_v}", value_v, 40.0, 39.0, 41.0, expected("b1" if id == "t1" else "b2"))


# --- gate ---


def test_switching_off_is_no_fact_of_the_gate() -> None:
    assert "plug" in refusal(START, c.ProveMeter("dc", 9.0))


@pytest.mark.parametrize("value_v", [nan, inf, -inf, 10.0, -10.0, 300.0])
def test_only_a_magnitude_under_the_threshold_is_low(value_v: float) -> None:
    state = after(START, *GATE[:4])
    assert after(state, c.ReadReservoir("C1", value_v)).gate.first == frozenset()
    assert after(state, c.ReadReservoir("C1", -9.99)).gate.first == {"C1"}


def test_a_reading_during_the_wait_is_noted_and_does_not_count_for_round_2() -> None:
    state = after(START, *GATE[:7], 1.0, *ROUND)
    assert state.gate.second == frozenset()
    assert after(state, 1.0, *ROUND).gate.second == {"C1", "C2"}


def test_the_wait_is_long_where_a_bleeder_is_missing_or_slow() -> None:
    slow = replace(PLAN.phases[0].reservoirs[0], slowest_s=61.0)
    settings = replace(PLAN.settings, wait_s=60.0, wait_unbled_s=300.0)
    by = replace(PLAN, settings=settings)
    quick = by.phases[0]
    assert wait_s(by, quick) == 60.0
    assert wait_s(by, replace(quick, reservoirs=(slow,))) == 300.0
    assert wait_s(by, replace(quick, reservoirs=(replace(slow, slowest_s=1.0, bled=False),))) == 300.0


def test_the_clip_has_five_time_constants() -> None:
    """2.2 kohm and 2 mF: 5 RC is 22 s (computed by hand)."""
    phase = replace(PLAN.phases[0], reservoirs=(replace(PLAN.phases[0].reservoirs[0], farad=2e-3),))
    assert clip_s(PLAN, phase) == pytest.approx(22.0)


def test_a_zero_too_soon_after_power_asks_for_the_meter_and_then_counts() -> None:
    state = after(FULL, e.PoweredDown(), e.PlugOut(), *PROOFS, c.ReadMainsSide(0.1), c.ReadReservoir("C1", 0.2))
    assert state.gate.doubt == "open" and not state.gate.dc and not state.gate.ac and state.gate.mains
    assert "prove the meter" in refusal(state, c.ReadReservoir("C1", 0.2))
    state = after(state, *PROOFS, c.ReadReservoir("C1", 0.2))
    assert state.gate.first == {"C1"} and state.gate.doubt == "settled"


def test_ht_seen_to_fall_is_the_proof_and_serves_once() -> None:
    state = after(FULL, c.ReadHt(300.0), e.PoweredDown())
    assert ask(PLAN, state) == Ask("plug", "", 1, 10)
    state = after(state, e.PlugOut())
    assert ask(PLAN, state).kind == "fallen"
    state = after(state, c.ReadFallen(12.0))
    assert state.gate.dc and state.pending_v is None
    assert "no HT reading" in refusal(state, c.ReadFallen(12.0))


def test_ht_that_has_not_fallen_takes_back_the_plug() -> None:
    state = after(FULL, c.ReadHt(300.0), e.PoweredDown(), e.PlugOut(), c.ReadFallen(290.0))
    assert state.gate == State().gate and state.pending_v is None


@pytest.mark.parametrize("value_v", [0.0, 29.9, nan])
def test_an_ht_reading_that_is_too_low_proves_nothing(value_v: float) -> None:
    assert "too low" in refusal(FULL, c.ReadHt(value_v))


@pytest.mark.parametrize("later", [read("p1", 100.0), c.ReadMains("231", 231.0), e.Disturbed("lead")])
def test_a_pending_proof_does_not_outlive_what_moves_the_meter(later: Command | e.Event) -> None:
    state = after(FULL, 60.0, c.ReadHt(300.0))
    assert after(state, later).pending_v is None


def test_a_pending_proof_does_not_outlive_a_stop_reading() -> None:
    assert after(FULL, c.ReadHt(300.0), read("p1", 400.0)).pending_v is None


def test_a_pending_proof_does_not_outlive_a_bad_meter() -> None:
    """Hole of an earlier draft: a meter that failed was then proved by an HT that it had read before."""
    state = after(FULL, c.ReadHt(300.0), e.PoweredDown(), e.PlugOut(), c.ProveMeter("dc", 0.2))
    assert state.pending_v is None and "no HT reading" in refusal(state, c.ReadFallen(5.0))


def test_bleeding_clears_nothing() -> None:
    state = after(START, *GATE[:4], c.ReadReservoir("C1", 80.0))
    assert ask(PLAN, state).kind == "bleed"
    state = after(state, e.Bled("C1"))
    assert state.gate.first == frozenset() and ask(PLAN, state) == Ask("round 1", "C1", 4, 10)


def test_bleeding_with_the_mains_side_unread_is_refused() -> None:
    state = after(START, c.ReadReservoir("C1", 80.0), e.PlugOut())
    assert "meter" in refusal(state, e.Bled("C1"))


def test_bleeding_with_the_mains_present_is_refused() -> None:
    """Hole of an earlier draft: the reservoir would charge again behind the bleed lead."""
    state = after(START, *GATE[:3], c.ReadMainsSide(230.0), c.ReadReservoir("C1", 80.0))
    assert "plug" in refusal(state, e.Bled("C1"))
    assert "mains side" in refusal(after(state, e.PlugOut(), *PROOFS), e.Bled("C1"))


def test_after_a_bleed_the_clip_may_be_on_so_power_does_not_come_back_past_the_gate() -> None:
    """Hole of an earlier draft: the clip was left where it had bled."""
    off = after(FULL, e.PoweredDown(), e.PlugOut(), *PROOFS, c.ReadMainsSide(0.1), c.ReadReservoir("C1", 80.0))
    assert after(off, e.BackToPower()).mode is Mode.CLOSING
    assert "clip must be known to be off" in refusal(after(off, e.Bled("C1")), e.BackToPower())


@pytest.mark.parametrize("ohm", [nan, inf, 50e3])
def test_the_clip_is_on_only_by_its_own_ohms(ohm: float) -> None:
    state = after(START, *GATE[:9])
    assert "not the clip" in refusal(state, c.ReadClip(ohm))


def test_a_short_that_hides_the_clip_is_mended_with_the_clip_read_alone() -> None:
    """A shorted HT once kept hands out for ever: no ohms of the clip could be read there."""
    state = after(START, *GATE[:10], c.ReadClip(0.2))
    assert ask(PLAN, state).kind == "clip alone" and not state.gate.clip
    for ohm in (nan, 0.2, 900.0, 50e3):
        assert "alone it has about 2200 ohm" in refusal(state, c.ReadClip(ohm))
    alone = after(state, c.ReadClip(2230.0))
    assert ask(PLAN, alone).kind == "clip" and not alone.gate.clip
    assert "not the clip" in refusal(alone, c.ReadClip(50e3))
    assert after(alone, c.ReadClip(0.2)).gate.clip and after(alone, c.ReadClip(2100.0)).gate.clip
    for one in (e.Stopped(), c.ReadReservoir("C1", 80.0), e.ClipOff()):
        assert not after(alone, one).gate.shunted
    assert "round 1" in refusal(after(START, *GATE[:4]), c.ReadClip(0.2))
    assert "leads are swapped" in refusal(after(START, *GATE[:10]), c.ReadClip(-3.0))


def test_links_come_after_the_clip_and_their_time_counts_from_the_last_of_them() -> None:
    state = after(START, *GATE[:10])
    assert "first the bleed clip" in refusal(state, c.CountLinks(1))
    state = after(state, c.ReadClip(2100.0), 1.0)
    assert ask(PLAN, state).kind == "links" and "1 are due" in refusal(state, c.CountLinks(2))
    assert "links are not on" in refusal(after(state, *PROOFS), c.GoIn())
    state = after(state, c.CountLinks(1), *PROOFS)
    assert "whole time" in refusal(state, c.GoIn())
    assert after(state, 1.0, c.GoIn()).mode is Mode.HANDS


def test_no_link_is_asked_for_where_the_clip_drains_all() -> None:
    by = plan(1, bare=False)
    state = after(State(), e.SaidMet(), *GATE_ONE, by=by)
    assert "no link is due" in refusal(state, c.CountLinks(1), by)
    assert "links_on" not in [item.name for item in gate_items(by, state)]
    assert after(state, c.GoIn(), by=by).links_on == 0


@pytest.mark.parametrize("given", [e.ClipOff(), c.ReadReservoir("C2", 80.0), c.ProveMeter("dc", 0.1), e.Bled("C2")])
def test_what_takes_the_clip_away_takes_the_links_away(given: Command | e.Event) -> None:
    state = after(after(START, *GATE), given)
    assert not state.gate.clip and not state.gate.links and state.links_on == 1, "they may still hang there"


@pytest.mark.parametrize("between", [(), (e.Stopped(), *GATE, c.GoIn()), (e.Restarted(), *GATE, c.GoIn())])
def test_power_waits_until_as_many_links_are_off_as_were_put_on(between: tuple[Command | e.Event, ...]) -> None:
    state = after(HANDS, *between, *WORK, c.GoOn())
    assert ask(PLAN, state).kind == "links off"
    assert "count them off" in refusal(state, e.ClipOff())
    assert "1 were put on" in refusal(state, c.CountLinksOff(2))
    state = after(state, c.CountLinksOff(1))
    assert state.closing.clip_off and "no link" in refusal(state, c.CountLinksOff(1))


def test_records_from_before_the_links_fold_to_where_they_led() -> None:
    """They have look readings, and hands and power without a count of links."""
    state = after(START, *GATE[:10], c.ReadClip(2100.0))
    for event in (e.HandsIn(2.0, 1.0), e.ReservoirLow("C2", 0.1), e.Looked()):
        state = fold(PLAN, state, event)
    assert state.mode is Mode.HANDS
    never = after(State(), e.SaidNever(), e.NoLead(), PROOFS[0], *ROUND, PROOFS[0], c.CountLinks(2), 1.0, c.GoIn())
    closed = fold(PLAN, after(never, *WORK, c.GoOn()), e.ClipOff())
    assert closed.closing.clip_off and closed.links_on == 0


def test_a_chassis_that_never_met_mains_has_the_short_gate() -> None:
    state = after(State(), e.SaidNever(), e.NoLead(), PROOFS[0], *ROUND, PROOFS[0])
    assert "2 are due" in refusal(state, c.CountLinks(1))
    state = after(state, c.CountLinks(2), 1.0, c.GoIn())
    assert state.mode is Mode.HANDS
    assert after(state, e.LeadAttached()).mains == "met"


def test_the_short_gate_wants_its_meter_proofs_and_its_links() -> None:
    """Hole of an earlier draft: without them five faults, each by itself, led to hands on a charge."""
    state = after(State(), e.SaidNever(), e.NoLead())
    assert "prove the meter" in refusal(state, c.ReadReservoir("C1", 0.2))
    read_low = after(state, PROOFS[0], *ROUND)
    assert "prove the meter again" in refusal(read_low, c.CountLinks(2))
    assert "links are not on" in refusal(after(read_low, PROOFS[0]), c.GoIn())
    assert "whole time" in refusal(after(read_low, PROOFS[0], c.CountLinks(2)), c.GoIn())


def test_a_bare_stage_is_left_by_a_word_that_is_asked_once() -> None:
    by = plan(1)
    assert ask(by, State()).kind == "bare" and after(State(), e.SaidBare(), by=by).mode is Mode.BARE
    assert ask(by, after(State(), e.SaidFitted(), by=by)).kind == "met mains"


def test_a_power_on_counts_as_met_for_good() -> None:
    assert FULL.mains == "met"
    assert "answered already" in refusal(after(FULL, e.PoweredDown()), e.SaidNever())


# --- closing ---


def test_the_closing_items_come_in_order() -> None:
    state = CLOSING
    for item, given in zip(closing_items(PLAN, state), CLOSE, strict=True):
        for later in CLOSE[CLOSE.index(given) + 1 :]:
            assert isinstance(decide(PLAN, state, later), Refusal), (item, later)
        state = after(state, given)
    assert all(item.done for item in closing_items(PLAN, state))


@pytest.mark.parametrize("given", [c.SeeClip(), c.ReadOhms(2150.0)])
def test_the_clip_found_still_on_takes_back_all_of_the_closing(given: Command | e.Event) -> None:
    state = after(CLOSING, *CLOSE, given)
    assert not any(item.done for item in closing_items(PLAN, state))


@pytest.mark.parametrize("given", [c.ReadMainsSide(230.0), c.ReadReservoir("C2", 80.0), c.ReadRail("r1", 80.0)])
def test_chassis_clear_does_not_stand_after_mains_or_a_charge_was_found(given: Command) -> None:
    """Hole of an earlier draft."""
    state = after(CLOSING, *CLOSE, given)
    assert state.mode is Mode.OFF_GATE and not any(item.done for item in closing_items(PLAN, state))
    assert not any(item.done for item in gate_items(PLAN, state))
    assert isinstance(decide(PLAN, after(state, e.PlugOut()), e.BackToPower()), Refusal)


def test_back_to_power_asks_for_nothing_inside() -> None:
    off = after(FULL, e.PoweredDown())
    assert "plug" in refusal(off, e.BackToPower())
    state = after(off, e.PlugOut(), e.BackToPower())
    assert [item.name for item in closing_items(PLAN, state)] == ["chassis_clear", "covered"]
    assert ask(PLAN, state).kind == "clear"
    state = after(state, e.Clear(), e.Covered("one hand"))
    assert "limiter only" in refusal(state, e.PowerOn("", "read again"))
    assert after(state, e.PowerOn("60 W lamp")).limited


@pytest.mark.parametrize("given", [c.SeeClip(), c.ReadOhms(2150.0)])
def test_the_clip_seen_on_the_way_back_to_power_leads_to_the_gate(given: Command) -> None:
    """A charge may stand inside: nothing may be asked there, so it is not taken off from here."""
    state = after(FULL, e.PoweredDown(), e.PlugOut(), e.BackToPower(), e.Clear(), given)
    assert state.mode is Mode.OFF_GATE and not state.clip_off


GATE_HOT = (e.PlugOut(), *PROOFS, c.ReadMainsSide(0.1), 2.0, *ROUND, 2.0, *ROUND, *CLIPPED, 1.0, *PROOFS)


def checking() -> Plan:
    """The plan whose two phases are of one stage, with one step to look at again."""
    look = replace(PLAN.phases[0].steps[1], check=True)
    hands = replace(PLAN.phases[0], steps=(PLAN.phases[0].steps[0], look))
    return replace(PLAN, phases=(hands, replace(PLAN.phases[1], stage=hands.stage)))


@pytest.mark.parametrize("ends", [c.SeeLimiter("bright", True, False), read("p1", 400.0)])
def test_after_an_alarm_the_checks_without_power_come_again_before_power(ends: Command | e.Event) -> None:
    by = checking()
    state = after(LIMITED, ends, by=by)
    assert "checks without power" in refusal(after(state, e.PlugOut(), by=by), e.BackToPower(), by)
    state = after(state, *GATE_HOT, c.GoIn(), by=by)
    for given in (e.StepDone("s2", "seen"), read("p0", 100.0), e.CauseFound("C1")):
        assert ask(by, state).kind in ("step", "point", "found")
        assert "every check" in refusal(state, e.HandsOut(), by)
        state = after(state, given, by=by)
    state = after(state, e.HandsOut(), *CLOSE, e.PowerOn("60 W lamp"), by=by)
    assert state.mode is Mode.POWERED and not state.alarm


def test_the_checks_after_an_alarm_are_due_anew_after_a_restart_and_move_no_stage() -> None:
    by = checking()
    checks = (e.StepDone("s2", "seen"), read("p0", 100.0), e.CauseFound("C1"))
    state = after(after(LIMITED, c.SeeLimiter("bright", True, False), by=by), *GATE_HOT, c.GoIn(), *checks, by=by)
    assert "still open" in refusal(state, c.GoOn(), by)
    again = after(state, e.Restarted(), *GATE_HOT, c.GoIn(), by=by)
    assert again.alarm == "short" and ask(by, again).kind == "step"


def over(by: Plan) -> Plan:
    """The plan with a look over of one step and the bond."""
    return replace(by, look_over=Work((Step("look over 1", "look", "sound"),), (OVER,)))


def test_a_chassis_that_nobody_watched_is_looked_over_with_hands_in_before_power() -> None:
    by = over(PLAN)
    state = after(FULL, e.PoweredDown(), e.Unwatched("moved"), *GATE_HOT, c.GoIn(), by=by)
    for given in (e.StepDone("look over 1", "sound"), read("bond", 100.0, "bond")):
        assert ask(by, state).subject in ("look over 1", "bond")
        assert "nobody watched" in refusal(state, e.HandsOut(), by)
        state = after(state, given, by=by)
    assert after(state, e.Unwatched("moved"), *GATE_HOT, c.GoIn(), by=by).due(by).steps
    assert "nobody watched" in refusal(after(state, e.Unwatched("moved"), *GATE_HOT, c.GoIn(), by=by), e.HandsOut(), by)
    state = after(state, e.HandsOut(), *CLOSE, by=by)
    assert not state.unwatched and after(state, e.PowerOn("60 W lamp"), by=by).mode is Mode.POWERED


def test_a_chassis_without_power_so_far_has_nothing_to_be_looked_over_again() -> None:
    assert "nothing to look over" in refusal(HANDS, e.Unwatched("moved"), over(PLAN))


def test_a_stop_reading_that_was_a_slip_goes_back_to_power_with_the_plug_out_and_a_limiter() -> None:
    state = after(FULL, 60.0, read("p1", 400.0))
    assert "plug" in refusal(state, e.Slipped())
    state = after(state, e.PlugOut(), e.Slipped(), e.BackToPower())
    assert state.mode is Mode.CLOSING


def test_a_bright_lamp_is_never_a_slip() -> None:
    assert "no reading" in refusal(after(LIMITED, c.SeeLimiter("bright", True, False), e.PlugOut()), e.Slipped())


def test_back_to_power_is_only_of_a_stage_with_power() -> None:
    hands = after(FULL, e.PoweredDown(), e.PlugOut())._replace(phase=0)
    assert "without power" in refusal(hands, e.BackToPower())


def test_back_to_power_after_stop_cannot_be_used_to_reach_in() -> None:
    """Hole of an earlier draft: STOP, back to power, then hands in to clear the chassis."""
    state = after(FULL, e.Stopped(), e.PlugOut(), e.BackToPower(), e.Stopped())
    assert "gate" in refusal(state, e.BackToPower())
    assert not any(item.done for item in gate_items(PLAN, state))


def test_mains_is_read_at_an_outlet_before_power_and_serves_through_the_limiter() -> None:
    by = replace(PLAN, phases=(PLAN.phases[0], replace(PLAN.phases[1], mains_before=True)))
    assert "power on" in refusal(after(CLOSING, *CLOSE), c.ReadMains("230", 230.0))
    closed = after(CLOSING, *CLOSE, by=by)
    assert ask(by, closed).kind == "mains" and "outlet" in refusal(closed, e.PowerOn("60 W lamp"), by)
    lamp = (e.PowerOn("60 W lamp"), DIM, read("p1", 100.0), e.FullMains())
    state = after(closed, c.ReadMains("231", 231.0), *lamp, by=by)
    assert state.mains_v == 231.0 and ask(by, state).kind == "settle"
    assert after(state, e.PoweredDown(), by=by).mains_v is None


def test_no_limiter_needs_a_reason() -> None:
    state = after(CLOSING, *CLOSE)
    assert "reason" in refusal(state, e.PowerOn("", "  "))


# --- power and readings ---


def test_under_the_limiter_limits_apply_and_windows_do_not() -> None:
    state = after(LIMITED, limited(20.0))
    assert state.mode is Mode.POWERED and state.watched == {"p1"} and not state.read
    assert after(LIMITED, read("p1", 151.0)).mode is Mode.OFF_GATE


def limited(value: float, least: float = 12.0) -> c.ReadPoint:
    """A reading at p1 under the limiter, where a sound stage shows `least` and more."""
    return c.ReadPoint("p1", f"{value}", value, replace(expected("p1"), nominal=nan, low=least, high=inf))


@pytest.mark.parametrize("value", [0.0, 11.9, -40.0])
def test_nothing_under_the_limiter_is_no_sign_that_there_is_no_short(value: float) -> None:
    """A blown fuse, a switch that is off or no mains at all read so, and with a lamp that is dark."""
    (event,) = decide(PLAN, LIMITED, limited(value))
    assert type(event) is e.PointNothing
    state = after(LIMITED, DIM, limited(value), limited(value))
    assert "under the limiter" in refusal(state, e.FullMains()) and ask(PLAN, state).kind == "limited point"
    assert state.asked == "p1"
    assert after(state, limited(12.0)).watched == {"p1"}
    assert not after(state, limited(12.0), limited(value)).watched
    assert after(state, e.PoweredDown()).mode is Mode.OFF_GATE


def test_where_nobody_can_say_the_least_a_reading_of_nothing_is_taken() -> None:
    assert after(LIMITED, limited(0.0, -inf)).watched == {"p1"}


def test_a_dark_lamp_where_something_is_fed_is_asked_about_once() -> None:
    dark = c.SeeLimiter("dark", False, True)
    state = after(LIMITED, dark)
    assert not state.limiter_good and ask(PLAN, state).kind == "limiter"
    assert after(state, dark).limiter_good
    assert not after(state, dark, limited(30.0), dark).limiter_good, "asked anew"
    assert after(state, c.SeeLimiter("bright", True, True)).mode is Mode.OFF_GATE


def test_every_point_that_is_listed_is_read_under_the_limiter() -> None:
    by = replace(PLAN, phases=(PLAN.phases[0], replace(PLAN.phases[1], limited=("b1", "b2", "p1"))))
    state = after(LIMITED, DIM, by=by)
    for n, id in enumerate(("b1", "b2", "p1"), 1):
        assert ask(by, state) == Ask("limited point", id, n, 3)
        assert "under the limiter" in refusal(state, e.FullMains(), by)
        state = after(state, read(id, 100.0), by=by)
    assert ask(by, state).kind == "full mains"


def test_full_mains_waits_for_limiter_and_watch_point_and_comes_once() -> None:
    assert "limiter" in refusal(LIMITED, e.FullMains())
    assert "under the limiter" in refusal(after(LIMITED, c.SeeLimiter("dim", False, False)), e.FullMains())
    assert "not limited" in refusal(FULL, e.FullMains())


def test_a_bright_lamp_takes_the_power_off() -> None:
    assert after(LIMITED, c.SeeLimiter("bright", True, False)).mode is Mode.OFF_GATE


def test_while_it_settles_a_reading_is_watched_and_a_stop_is_a_stop() -> None:
    assert ask(PLAN, FULL) == Ask("settle", "p1", wait_s=60.0)
    assert after(FULL, read("p1", 100.0)).read == frozenset()
    assert after(FULL, read("p1", 151.0)).mode is Mode.OFF_GATE
    assert "settled" in refusal(FULL, c.ReadTrim("t1", "40", 40.0, 40.0, 39.0, 41.0, expected("b1")))


@pytest.mark.parametrize("value_v", [206.9, 253.1, nan])
def test_mains_out_of_the_range_that_was_computed_is_not_taken(value_v: float) -> None:
    assert "range" in refusal(FULL, c.ReadMains("x", value_v))


def test_ten_times_off_is_asked_once_and_both_are_kept() -> None:
    hands = after(HANDS, *WORK[:2], read("p0", 1.0))
    assert hands.asked == "p0" and not hands.warned
    assert after(hands, read("p0", 1.0)).warned == {"p0"}
    assert after(hands, read("p0", 100.0)).read >= {"p0"}


def test_what_the_meter_cannot_show_is_asked_every_time() -> None:
    by = replace(PLAN, meter_v=120.0)
    state = after(HANDS, *WORK[:2], read("p0", 130.0), by=by)
    assert state.asked == "p0" and not state.warned
    assert not after(state, read("p0", -130.0), by=by).warned
    assert after(state, read("p0", 115.0), by=by).warned == {"p0"}


def test_a_stop_comes_before_the_question_about_a_slip() -> None:
    assert after(FULL, 60.0, read("p1", 4000.0)).mode is Mode.OFF_GATE


def test_a_later_warn_takes_back_a_pass() -> None:
    state = after(HANDS, read("p0", 100.0), read("p0", 80.0))
    assert state.warned == {"p0"} and "p0" not in state.read


def test_a_warn_goes_on_by_a_typed_reason_and_a_stop_never() -> None:
    state = after(HANDS, read("p0", 80.0))
    assert "reason" in refusal(state, e.Accepted("p0", " "))
    assert "p0" in after(state, e.Accepted("p0", "measured 98 ohm")).read
    state = after(HANDS, read("p0", 400.0))
    assert state.mode is Mode.HANDS and "no warn" in refusal(state, e.Accepted("p0", "I know"))


@pytest.mark.parametrize("guards", ["bond", "insulation", "grid bias"])
def test_a_warn_of_a_guarded_point_is_never_accepted(guards: str) -> None:
    point = replace(PLAN.phases[0].points[0], guards=guards)
    by = replace(PLAN, phases=(replace(PLAN.phases[0], points=(point,)), PLAN.phases[1]))
    state = after(HANDS, c.ReadPoint("p0", "80", 80.0, expected("p0", guards)), by=by)
    assert "never accepted" in refusal(state, e.Accepted("p0", "it is fine"), by)


def lacking(guards: str) -> Plan:
    """The plan without the instrument that proves its first point."""
    point = replace(PLAN.phases[0].points[0], guards=guards, lacks="tester")
    return replace(PLAN, phases=(replace(PLAN.phases[0], points=(point,)), PLAN.phases[1]))


@pytest.mark.parametrize("guards", ["bond", "insulation"])
def test_a_good_reading_without_its_instrument_is_no_pass_and_completes_its_stage(guards: str) -> None:
    by = lacking(guards)
    given = c.ReadPoint("p0", "100", 100.0, expected("p0", guards))
    (event,) = decide(by, HANDS, given)
    assert isinstance(event, e.PointUnproved) and event.instrument == "tester"
    state = after(HANDS, *WORK[:2], given, by=by)
    assert state.unproved == {"p0"}
    later = after(state, c.GoOn(), *CLOSE, e.PowerOn("60 W lamp"), e.Stopped(), e.Restarted(), by=by)
    assert later.unproved == {"p0"}, "open whatever comes after"


@pytest.mark.parametrize("guards", ["bond", "insulation"])
@pytest.mark.parametrize(("value", "kind"), [(80.0, e.PointWarned), (200.0, e.PointStopped), (1.0, e.PointDoubted)])
def test_a_bad_reading_without_its_instrument_is_as_bad_as_ever(guards: str, value: float, kind: type) -> None:
    by = lacking(guards)
    (event,) = decide(by, HANDS, c.ReadPoint("p0", "x", value, expected("p0", guards)))
    assert type(event) is kind
    state = fold(by, HANDS, event)
    assert state.unproved == frozenset() and "p0" not in state.read
    assert isinstance(decide(by, state, e.Accepted("p0", "no tester here")), Refusal)


def test_a_pass_recorded_with_the_instrument_stands_and_a_later_pass_proves_the_point() -> None:
    by = lacking("bond")
    read_ = e.PointUnproved("p0", "100", 100.0, 100.0, 90.0, 110.0, (), 100.0, "tester")
    passed = e.PointPassed("p0", "100", 100.0, 100.0, 90.0, 110.0)
    assert fold(by, fold(by, HANDS, read_), passed).unproved == frozenset()
    assert fold(by, HANDS, passed).unproved == frozenset()


def test_a_point_or_step_of_another_stage_does_not_count() -> None:
    assert "not read" in refusal(HANDS, read("p1", 100.0))
    assert "another stage" in refusal(HANDS, e.StepDone("s9", "done"))


def fitting() -> tuple[Plan, State]:
    """The plan whose first phase fits C9, and the state with hands in."""
    hands = replace(PLAN.phases[0], steps=(FIT, *PLAN.phases[0].steps))
    return replace(PLAN, phases=(hands, PLAN.phases[1])), HANDS


@pytest.mark.parametrize("value_v", [10.0, -10.0, 300.0, nan, inf])
def test_a_capacitor_that_arrives_charged_is_read_again_before_it_is_fitted(value_v: float) -> None:
    by, state = fitting()
    assert ask(by, state) == Ask("capacitor", "C9", 1, 1)
    state = after(state, c.ReadCapacitor("C9", value_v), by=by)
    assert state.mode is Mode.HANDS, "it lies on the bench: the chassis is as it was"
    assert ask(by, state) == Ask("capacitor charged", "C9", 1, 1)
    assert "may have arrived charged" in refusal(state, e.StepDone("fit", "fitted"), by)
    state = after(state, c.ReadCapacitor("C9", -9.9), by=by)
    assert ask(by, state) == Ask("step", "fit", 1, 3)
    assert "fit" in after(state, e.StepDone("fit", "fitted"), by=by).read


def test_a_capacitor_on_the_bench_is_read_anew_after_hands_were_out_or_nobody_watched() -> None:
    by, state = fitting()
    low = after(state, c.ReadCapacitor("C9", 0.1), by=by)
    for given in (e.Restarted(), e.Disturbed("sleep"), e.HandsOut(), e.Stopped()):
        assert after(low, given, by=by).bench_low == frozenset()
    assert after(low, c.ReadCapacitor("C9", 40.0), by=by).bench_low == frozenset()
    fitted = after(low, e.StepDone("fit", "fitted"), e.Restarted(), by=by)
    assert "fit" in fitted.read, "fitted is fitted"


def test_only_a_capacitor_of_this_stage_is_read_on_the_bench_and_only_with_hands_in() -> None:
    by, state = fitting()
    assert "no capacitor of that name" in refusal(state, c.ReadCapacitor("C1", 0.1), by)
    assert "before the gate" in refusal(after(state, e.Stopped()), c.ReadCapacitor("C9", 0.1), by)


def test_hands_in_for_long_ask_for_a_look_before_anything_passes() -> None:
    state = after(HANDS, 1.0)
    assert ask(PLAN, state).kind == "look"
    assert "look" in refusal(state, read("p0", 100.0))
    assert after(state, e.Looked(), read("p0", 100.0)).read == {"p0"}
    assert after(state, e.LookFailed()).mode is Mode.OFF_GATE


def test_a_restart_keeps_cold_readings_and_drops_those_under_power() -> None:
    assert after(HANDS, read("p0", 100.0), e.Restarted()).read == {"p0"}
    assert after(FULL, 60.0, read("p1", 100.0), e.Restarted()).read == frozenset()


# --- trim ---


def trimming() -> State:
    return after(FULL, 60.0)


def test_a_round_ends_after_a_pass_in_which_no_pot_was_turned() -> None:
    state = after(trimming(), e.TrimHt(300.0), trim("t1", 20.0), trim("t1", 40.0), trim("t2", 40.5))
    assert state.trim.round == 0 and state.trim.ht_v is None
    state = after(state, e.TrimHt(295.0), trim("t1", 40.2), trim("t2", 39.5))
    assert state.trim.round == 1


def test_trims_fall_due_again_at_two_ten_and_thirty_minutes() -> None:
    state = trimming()
    for mark, wait in ((0.0, 0.0), (120.0, 120.0), (600.0, 480.0), (1800.0, 1200.0)):
        if wait:
            assert "no trim is due" in refusal(after(state, wait - 1.0), e.TrimHt(300.0))
            state = after(state, wait)
        assert ask(PLAN, state).kind == "trim ht", mark
        state = after(state, e.TrimHt(300.0), trim("t1", 40.0), trim("t2", 40.0))
    assert state.trim.round == 4 and "no trim is due" in refusal(state, e.TrimHt(300.0))


def test_the_waits_are_free_for_other_readings_and_hold_the_stage_open() -> None:
    state = after(trimming(), e.TrimHt(300.0), trim("t1", 40.0), trim("t2", 40.0))
    assert ask(PLAN, state).kind == "point"
    state = after(state, read("p1", 100.0), read("b1", 100.0), read("b2", 100.0))
    assert ask(PLAN, state) == Ask("trim wait", wait_s=120.0)
    assert "still open" in refusal(state, c.GoOn())


def test_a_trim_beyond_a_limit_takes_the_power_off() -> None:
    state = after(trimming(), e.TrimHt(300.0), trim("t1", 151.0))
    assert state.mode is Mode.OFF_GATE


def test_a_trim_without_a_target_never_counts_as_reached() -> None:
    state = after(trimming(), e.TrimHt(300.0))
    state = after(state, c.ReadTrim("t1", "40", 40.0, nan, nan, nan, expected("b1")))
    assert state.trim.inside == frozenset()


def test_pots_are_read_only_after_ht_of_the_pass() -> None:
    assert "HT" in refusal(trimming(), trim("t1", 40.0))


# --- laws ---


def test_time_adds_and_never_takes_away() -> None:
    for state in (START, HANDS, CLOSING, LIMITED, FULL):
        assert tick(PLAN, state, 0.0) == tick(PLAN, state, -5.0) == tick(PLAN, state, nan) == state
        assert tick(PLAN, tick(PLAN, state, 1.0), 2.0) == tick(PLAN, state, 3.0)


def test_a_plan_without_phases_or_with_an_empty_gate_is_refused() -> None:
    with pytest.raises(ValueError, match="leads nowhere"):
        replace(PLAN, phases=())
    with pytest.raises(ValueError, match="no reservoir"):
        replace(PLAN, phases=(replace(PLAN.phases[0], reservoirs=()),))


def test_changed_build_keeps_or_drops_what_passed() -> None:
    by = plan(1, kinds=("hands", "hands"), bare=False)
    state = after(State(), e.SaidMet(), *GATE_ONE, c.GoIn(), read("p0", 100.0), c.GoOn(), e.Restarted(), by=by)
    change = e.BuildChanged(True, ("stage 1",), ("+R1",), "00", "text")
    assert after(state, change, by=by).phase == 1
    for touched, phase in ((("stage 1",), 1), (("stage 0", "stage 1"), 0), ((), 0)):
        assert after(state, replace(change, keep=False, touched=touched), by=by).phase == phase


def test_a_changed_build_takes_the_end_back() -> None:
    by = plan(1, kinds=("hands",), bare=False)
    state = after(State(), e.SaidMet(), *GATE_ONE, c.GoIn(), read("p0", 100.0), e.Finished(), by=by)
    assert state.mode is Mode.DONE
    state = after(state, e.BuildChanged(False, (), ("+R1",), "00", "text"), by=by)
    assert state.mode is Mode.OFF_GATE and not state.read and not any(item.done for item in gate_items(by, state))
