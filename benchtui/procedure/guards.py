"""The named conditions of the table. Each says in one sentence what is missing when it does not hold.

A predicate names what must be borne out, so that anything unknown fails it. The gate items are among
them: what is shown as done and what lets hands in is one and the same test.
"""

from __future__ import annotations

from benchtui.procedure import alarms as alarms  # its conditions are entered with these
from benchtui.procedure import events as e
from benchtui.procedure import shut as shut
from benchtui.procedure.conditions import GUARDS as GUARDS
from benchtui.procedure.conditions import Guard as Guard
from benchtui.procedure.conditions import guard
from benchtui.procedure.conditions import holds as holds
from benchtui.procedure.events import Event
from benchtui.procedure.plan import Link, Plan, clip_s, links_due, made_steps, wait_s
from benchtui.procedure.shut import rounds_over
from benchtui.procedure.state import Mode, State


def _reservoirs(plan: Plan, state: State) -> frozenset[str]:
    return frozenset(reservoir.id for reservoir in state.at(plan).reservoirs)


def due_links(plan: Plan, state: State) -> tuple[Link, ...]:
    """The links that are due in the gate of the present phase."""
    return links_due(state.at(plan), never=state.mains == "never")


def nothing_to_link(plan: Plan, state: State) -> bool:
    """Is there neither a charge from mains nor a capacitor that could have brought one?"""
    return state.mains == "never" and not due_links(plan, state)


# --- the gate items; a chassis that never met mains needs some of them in a shorter form ---


@guard("first the plug: out of the wall, or the connector out of the inlet, and in sight")
def plug_out(plan: Plan, state: State, event: Event | None) -> bool:
    return state.gate.plug


@guard("first prove the meter on a known source")
def meter_proved(plan: Plan, state: State, event: Event | None) -> bool:
    return state.gate.dc and (state.gate.ac or state.mains == "never")


@guard("first the mains side: read it dead from outside")
def mains_dead(plan: Plan, state: State, event: Event | None) -> bool:
    return state.gate.mains or state.mains == "never"


@guard("first read every reservoir in round 1")
def round_1(plan: Plan, state: State, event: Event | None) -> bool:
    return _reservoirs(plan, state) <= state.gate.first


@guard("the wait between the two rounds is not over")
def wait_over(plan: Plan, state: State, event: Event | None) -> bool:
    return state.mains == "never" or state.gate.wait_s >= wait_s(plan, state.at(plan))


@guard("first read every reservoir in round 2")
def round_2(plan: Plan, state: State, event: Event | None) -> bool:
    return state.mains == "never" or _reservoirs(plan, state) <= state.gate.second


@guard("the bleed clip is not on yet")
def clip_on(plan: Plan, state: State, event: Event | None) -> bool:
    return state.gate.clip or state.mains == "never"


@guard("the bleed links are not on yet")
def links_on(plan: Plan, state: State, event: Event | None) -> bool:
    return state.gate.links or not due_links(plan, state)


@guard("clip and links have not been on for their whole time")
def clip_time(plan: Plan, state: State, event: Event | None) -> bool:
    return state.gate.clip_s >= clip_s(plan, state.at(plan)) or nothing_to_link(plan, state)


@guard("prove the meter again: something must show that it still reads")
def meter_again(plan: Plan, state: State, event: Event | None) -> bool:
    return state.gate.dc_again and (state.gate.ac_again or state.mains == "never")


GATE_ITEMS = (
    "plug_out", "meter_proved", "mains_dead", "round_1", "wait_over", "round_2", "clip_on", "links_on", "clip_time",
    "meter_again",
)  # fmt: skip


# --- around the gate ---


@guard("first the bleed clip; in a chassis that never met mains, prove the meter again")
def links_next(plan: Plan, state: State, event: Event | None) -> bool:
    return holds("meter_again", plan, state) if state.mains == "never" else state.gate.clip


@guard("this was answered already")
def not_told_yet(plan: Plan, state: State, event: Event | None) -> bool:
    return state.mains == "unknown"


@guard("that holds only for a chassis that never met mains")
def never(plan: Plan, state: State, event: Event | None) -> bool:
    return state.mains == "never"


@guard("this chassis never met mains: say that no lead is attached")
def not_never(plan: Plan, state: State, event: Event | None) -> bool:
    return state.mains != "never"


@guard("this stage fits a mains lead or parts that may be charged, so it cannot be called bare")
def bare_phase(plan: Plan, state: State, event: Event | None) -> bool:
    return state.at(plan).bare


@guard("this chassis has met mains, so nobody can call it bare by a word: go through the gate")
def never_met(plan: Plan, state: State, event: Event | None) -> bool:
    return state.mains != "met"


@guard("the clip must be known to be off, with no hands in since the last power: go through the gate")
def clip_known_off(plan: Plan, state: State, event: Event | None) -> bool:
    return state.clip_off


@guard("nothing of this chassis had power yet, so there is nothing to look over again")
def power_behind(plan: Plan, state: State, event: Event | None) -> bool:
    return any(phase.kind == "power" for phase in plan.phases[: state.phase + 1])


@guard("nobody watched the chassis: first look it over, and read the bond")
def looked_over(plan: Plan, state: State, event: Event | None) -> bool:
    return not state.unwatched or plan.look_over.ids <= state.read


@guard("first look at plug and clip: hands have been in for long")
def look_answered(plan: Plan, state: State, event: Event | None) -> bool:
    return state.hands_s < plan.settings.look_s


# --- closing ---


@guard("links are on: count them off with the clip")
def no_links_on(plan: Plan, state: State, event: Event | None) -> bool:
    return not state.links_on


@guard("first take the bleed clip off, and each link")
def clip_taken_off(plan: Plan, state: State, event: Event | None) -> bool:
    return state.closing.clip_off or (state.closing.back and state.clip_off)


@guard("first look from outside that the chassis is clear")
def chassis_clear(plan: Plan, state: State, event: Event | None) -> bool:
    return state.closing.clear


@guard("first read every rail, probes only")
def rails_low(plan: Plan, state: State, event: Event | None) -> bool:
    return frozenset(rail.id for rail in state.at(plan).rails) <= state.closing.rails


@guard("first HT+ to chassis in ohms")
def ohms_right(plan: Plan, state: State, event: Event | None) -> bool:
    return state.closing.ohms or (state.at(plan).ohms is None and rails_low(plan, state, event))


@guard("first the items before the cover")
def inside_done(plan: Plan, state: State, event: Event | None) -> bool:
    if state.closing.back:
        return holds("chassis_clear", plan, state)
    return holds("chassis_clear", plan, state) and holds("ohms_right", plan, state)


@guard("first the cover, or one hand behind the back")
def covered(plan: Plan, state: State, event: Event | None) -> bool:
    return state.closing.cover


@guard("this stage is done without power")
def power_phase(plan: Plan, state: State, event: Event | None) -> bool:
    return state.at(plan).kind == "power"


@guard("first give the reason for power although the ratings review objects, or mend what it names")
def objections_answered(plan: Plan, state: State, event: Event | None) -> bool:
    return all((state.at(plan).id, objection) in state.overruled for objection in plan.objections)


@guard("name the limiter, or give the reason for doing without one")
def limiter_or_reason(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.PowerOn) and bool(event.limiter.strip() or event.reason.strip())


@guard("without the gate power comes back through a limiter only; with none the way is STOP and the gate")
def limiter_if_back(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.PowerOn) and (bool(event.limiter.strip()) or not state.closing.back)


@guard("in this stage mains is read with power on")
def mains_before(plan: Plan, state: State, event: Event | None) -> bool:
    return state.at(plan).mains_before


@guard("first read the mains at an outlet: with power on the meter stays on the point to watch")
def mains_read_before(plan: Plan, state: State, event: Event | None) -> bool:
    return state.closing.mains_v is not None or not state.at(plan).mains_before


# --- power and readings ---


@guard("the power is not limited now")
def limited(plan: Plan, state: State, event: Event | None) -> bool:
    return state.limited


@guard("first say what the limiter shows")
def limiter_good(plan: Plan, state: State, event: Event | None) -> bool:
    return state.limiter_good


@guard("first the readings under the limiter")
def watched(plan: Plan, state: State, event: Event | None) -> bool:
    return set(state.at(plan).limited) <= state.watched


@guard("this counts at full mains only")
def full_mains(plan: Plan, state: State, event: Event | None) -> bool:
    return not state.limited


@guard("it has not settled yet")
def settled(plan: Plan, state: State, event: Event | None) -> bool:
    return state.full_s >= state.at(plan).settle_s


@guard("first read the mains: every window depends on it")
def mains_known(plan: Plan, state: State, event: Event | None) -> bool:
    return state.mains_v is not None and not state.soak.stale


@guard("mains is outside the range that this build was computed for: power down, or widen its spread in the file")
def mains_in_range(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.MainsRead) and plan.mains_v[0] <= event.value_v <= plan.mains_v[1]


@guard("the instrument that proves this is not owned: a good reading is not measured, never a pass")
def instrument_owned(plan: Plan, state: State, event: Event | None) -> bool:
    lacking = {point.id for point in state.due(plan).points if point.lacks}
    return isinstance(event, e.PointRead) and event.point not in lacking


@guard("there is no warn at this point to accept")
def was_warned(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.Accepted) and event.point in state.warned


@guard("a warn here is never accepted: earth bond, insulation and grid bias must pass")
def not_guarded(plan: Plan, state: State, event: Event | None) -> bool:
    guarded = {point.id for point in state.due(plan).points if point.guards is not None}
    return isinstance(event, e.Accepted) and event.point not in guarded


@guard("type the reason: what was measured or what is known about the part")
def reason_given(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.Accepted | e.Overruled) and bool(event.reason.strip())


@guard("that belongs to another stage")
def step_of_phase(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.StepDone) and event.step in {s.id for s in state.due(plan).steps if not s.makes}


@guard("nothing of that name is to be made now")
def to_be_made(plan: Plan, state: State, event: Event | None) -> bool:
    due = {step.id for step in state.due(plan).steps if step.makes}
    return isinstance(event, e.Made) and bool(event.steps) and due.issuperset(event.steps)


@guard("that was not made yet")
def made_before(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.Undone) and bool(event.steps) and state.can_be_undone(plan).issuperset(event.steps)


@guard("first put on what is loose, and take off what the build file no longer has")
def wired_as_planned(plan: Plan, state: State, event: Event | None) -> bool:
    loose = state.undone & made_steps(plan.phases).keys()
    return not loose and not state.off_before(plan) and not state.left_over(plan)


@guard("first read each capacitor that this step fits, on the bench: it may have arrived charged")
def capacitors_low(plan: Plan, state: State, event: Event | None) -> bool:
    fits = {c.id for step in state.at(plan).steps if step.id == getattr(event, "step", "") for c in step.capacitors}
    return isinstance(event, e.StepDone) and fits <= state.bench_low


@guard("the HT reading is too low to prove the meter: prove it on a known source")
def ht_live(plan: Plan, state: State, event: Event | None) -> bool:
    least = plan.settings.live_thresholds * plan.settings.threshold_v
    return isinstance(event, e.HtLive) and abs(event.value_v) >= least


@guard("no trim is due")
def trim_due(plan: Plan, state: State, event: Event | None) -> bool:
    marks, trim = plan.trim_marks_s, state.trim
    if not state.at(plan).trims or trim.round > len(marks):
        return False
    return trim.round == 0 or trim.since_s >= marks[trim.round - 1]


@guard("first read HT for this pass")
def trim_ht_read(plan: Plan, state: State, event: Event | None) -> bool:
    return state.trim.ht_v is not None


@guard("readings, steps or a trim of this stage are still open")
def complete(plan: Plan, state: State, event: Event | None) -> bool:
    phase = state.at(plan)
    spared = state.spared if state.mode is Mode.POWERED else frozenset()
    due = {step.id for step in phase.steps} | {point.id for point in phase.points} - spared
    trimmed = not phase.trims or state.trim.round > len(plan.trim_marks_s)
    return due <= state.read | state.made and trimmed and rounds_over(plan, state)


@guard("this is not the last stage")
def last_phase(plan: Plan, state: State, event: Event | None) -> bool:
    return state.phase == len(plan.phases) - 1


@guard("the last stage is not complete")
def last_complete(plan: Plan, state: State, event: Event | None) -> bool:
    return state.last_complete
