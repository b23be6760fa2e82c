"""The named effects of the table: small pure changes of a state."""

from __future__ import annotations

from benchtui.procedure import cooling as cooling  # its effects are entered with these
from benchtui.procedure.events import Event
from benchtui.procedure.guards import holds
from benchtui.procedure.mending import end_repair
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Closing, Soaking, State, Trimming
from benchtui.procedure.taken_back import EFFECTS, drop_alarm, drop_clip, drop_end, drop_readings, effect


def apply(name: str, plan: Plan, state: State, event: Event) -> State:
    """`state` after the named effect."""
    return EFFECTS[name](plan, state, event)


def leave(state: State) -> State:
    """`state` without what belongs to one stay with hands in or power on; leaving any mode ends it."""
    state = state._replace(hands_s=0.0, bench_low=frozenset(), bench_high="", asked="")
    state = state._replace(limiter="", limiter_good=False, watched=frozenset(), full_s=0.0, mains_v=None)
    return state._replace(soak=Soaking())


# --- gate items ---


@effect
def tell_never(plan: Plan, state: State, event: Event) -> State:
    return state._replace(mains="never")


@effect
def tell_met(plan: Plan, state: State, event: Event) -> State:
    return state._replace(mains="met")


@effect
def take_fitted(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(fitted=True)


@effect
def take_plug(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(plug=True)


@effect
def take_proof(plan: Plan, state: State, event: Event) -> State:
    """Before the rounds are full a proof is the earlier one, after them the later one."""
    kind = getattr(event, "kind", "dc")
    if holds("round_1", plan, state) and holds("round_2", plan, state):
        return state.with_gate(**{kind: True, f"{kind}_again": True})
    return state.with_gate(**{kind: True})


@effect
def settle_doubt(plan: Plan, state: State, event: Event) -> State:
    settled = state.gate.doubt == "open" and getattr(event, "kind", "dc") == "dc"
    return state.with_gate(doubt="settled") if settled else state


@effect
def take_mains(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(mains=True)


@effect
def take_reservoir(plan: Plan, state: State, event: Event) -> State:
    """A bit of round 1, or of round 2 once the whole wait has passed; during the wait it is only noted."""
    gate, id = state.gate, event.id  # type: ignore[attr-defined]
    if gate.charged == id:
        state = state.with_gate(charged="")
    if not holds("round_1", plan, state):
        return state.with_gate(first=gate.first | {id})
    if holds("wait_over", plan, state) and state.mains != "never":
        return state.with_gate(second=gate.second | {id})
    return state


@effect
def open_doubt(plan: Plan, state: State, event: Event) -> State:
    """Too soon to be true: the meter is proved afresh, and that reading counts only then."""
    gate, id = state.gate, event.id  # type: ignore[attr-defined]
    if holds("round_1", plan, state) and holds("wait_over", plan, state):
        state = drop_clip(plan, state, event)
        return state.with_gate(doubt="open", second=gate.second - {id})
    return state.with_gate(doubt="open", first=gate.first - {id}, wait_s=0.0)


@effect
def mark_charged(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(charged=event.id)  # type: ignore[attr-defined]


@effect
def unmark_charged(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(charged="")


@effect
def take_shunted(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(shunted="seen")


@effect
def take_alone(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(shunted="alone")


@effect
def take_clip(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(clip=True, clip_s=0.0, shunted="")


@effect
def take_links(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(links=True, clip_s=0.0)._replace(links_on=event.count)  # type: ignore[attr-defined]


@effect
def enter_hands(plan: Plan, state: State, event: Event) -> State:
    """A cause that is not found is asked about in every stay with hands in; what was spared was so till then. What ran
    with its cover screwed on is open."""
    state = drop_end(plan, state, event) if state.at(plan).soak else state
    spared = frozenset() if state.powered else state.spared
    return state._replace(powered=False, found=state.found and not state.cause_open, spared=spared)


@effect
def take_look(plan: Plan, state: State, event: Event) -> State:
    return state._replace(hands_s=0.0)


# --- closing ---


@effect
def start_back(plan: Plan, state: State, event: Event) -> State:
    return state._replace(closing=Closing(back=True))


@effect
def take_clip_off(plan: Plan, state: State, event: Event) -> State:
    """The clip and every link."""
    return state.with_closing(clip_off=True)._replace(links_on=0)


@effect
def take_clear(plan: Plan, state: State, event: Event) -> State:
    return state.with_closing(clear=True)


@effect
def take_rail(plan: Plan, state: State, event: Event) -> State:
    return state.with_closing(rails=state.closing.rails | {event.id})  # type: ignore[attr-defined]


@effect
def take_ohms(plan: Plan, state: State, event: Event) -> State:
    return state.with_closing(ohms=True)


@effect
def take_cover(plan: Plan, state: State, event: Event) -> State:
    return state.with_closing(cover=True)


@effect
def take_mains_before(plan: Plan, state: State, event: Event) -> State:
    return state.with_closing(mains_v=event.value_v)  # type: ignore[attr-defined]


@effect
def take_overruled(plan: Plan, state: State, event: Event) -> State:
    pairs = {(event.phase, objection) for objection in event.objections}  # type: ignore[attr-defined]
    return state._replace(overruled=state.overruled | pairs)


# --- power and readings ---


@effect
def enter_power(plan: Plan, state: State, event: Event) -> State:
    limiter = getattr(event, "limiter", "")
    state = drop_alarm(plan, state, event)
    mains_v = state.closing.mains_v
    return state._replace(mains="met", powered=True, clip_off=True, limiter=limiter, mains_v=mains_v, again=frozenset())


@effect
def take_short(plan: Plan, state: State, event: Event) -> State:
    return state._replace(alarm="short", found=False)


@effect
def take_stop_alarm(plan: Plan, state: State, event: Event) -> State:
    return state._replace(alarm="stop", found=False)


@effect
def take_limiter(plan: Plan, state: State, event: Event) -> State:
    return state._replace(limiter_good=True, asked="")


@effect
def take_watch(plan: Plan, state: State, event: Event) -> State:
    """The last reading counts: a stop leaves the power, and nothing at all takes it back."""
    seen = {event.point} if state.limited else set()  # type: ignore[attr-defined]
    return state._replace(watched=state.watched | seen, asked="")


@effect
def drop_watch(plan: Plan, state: State, event: Event) -> State:
    return state._replace(watched=state.watched - {event.point})  # type: ignore[attr-defined]


@effect
def ask_limiter_again(plan: Plan, state: State, event: Event) -> State:
    return state._replace(asked="limiter", limiter_good=False)


@effect
def enter_full(plan: Plan, state: State, event: Event) -> State:
    return state._replace(limiter="", full_s=0.0, asked="")


@effect
def take_mains_v(plan: Plan, state: State, event: Event) -> State:
    return state._replace(mains_v=event.value_v, soak=state.soak._replace(stale=False))  # type: ignore[attr-defined]


@effect
def take_read(plan: Plan, state: State, event: Event) -> State:
    """The point counts for its stage."""
    point = event.point  # type: ignore[attr-defined]
    return state._replace(read=state.read | {point}, warned=state.warned - {point}, asked="")


@effect
def mark_proved(plan: Plan, state: State, event: Event) -> State:
    return state._replace(unproved=state.unproved - {event.point})  # type: ignore[attr-defined]


@effect
def mark_unproved(plan: Plan, state: State, event: Event) -> State:
    """Open from here on, until the point has a pass."""
    return state._replace(unproved=state.unproved | {event.point})  # type: ignore[attr-defined]


@effect
def take_warn(plan: Plan, state: State, event: Event) -> State:
    """The last reading counts: a warn takes back an earlier pass at its point."""
    point = event.point  # type: ignore[attr-defined]
    return state._replace(read=state.read - {point}, warned=state.warned | {point}, asked="")


@effect
def take_stop(plan: Plan, state: State, event: Event) -> State:
    point = getattr(event, "point", "")
    return state._replace(read=state.read - {point}, warned=state.warned - {point}, asked="")


@effect
def ask_again(plan: Plan, state: State, event: Event) -> State:
    return state._replace(asked=event.point)  # type: ignore[attr-defined]


@effect
def take_step(plan: Plan, state: State, event: Event) -> State:
    return state._replace(read=state.read | {event.step})  # type: ignore[attr-defined]


@effect
def take_made(plan: Plan, state: State, event: Event) -> State:
    steps = frozenset(event.steps)  # type: ignore[attr-defined]
    return state._replace(made=state.made | steps, undone=state.undone - steps)


@effect
def take_undone(plan: Plan, state: State, event: Event) -> State:
    """Leads are handled to put it back: what the stage reads without power is read again, and in a chassis that had
    power it is looked over where an earlier stage made it."""
    steps = frozenset(event.steps)  # type: ignore[attr-defined]
    state = state._replace(made=state.made - steps, undone=state.undone | steps)
    phase = state.at(plan)
    if state.off_before(plan) and holds("power_behind", plan, state):
        state = mark_unwatched(plan, state, event)
    if phase.kind == "power":
        return state._replace(again=state.checks(plan).ids, read=state.read - state.checks(plan).ids)
    points = frozenset(point.id for point in phase.points)
    return state._replace(read=state.read - points, warned=state.warned - points)


@effect
def take_capacitor(plan: Plan, state: State, event: Event) -> State:
    id = event.id  # type: ignore[attr-defined]
    high = "" if state.bench_high == id else state.bench_high
    return state._replace(bench_low=state.bench_low | {id}, bench_high=high)


@effect
def mark_capacitor(plan: Plan, state: State, event: Event) -> State:
    """Charged: an earlier reading of it counts no more."""
    id = event.id  # type: ignore[attr-defined]
    return state._replace(bench_low=state.bench_low - {id}, bench_high=id)


@effect
def take_trim_ht(plan: Plan, state: State, event: Event) -> State:
    trim = state.trim._replace(ht_v=event.value_v, inside=frozenset(), turned=False)  # type: ignore[attr-defined]
    return state._replace(trim=trim)


@effect
def take_trim_outside(plan: Plan, state: State, event: Event) -> State:
    inside = state.trim.inside - {event.trim}  # type: ignore[attr-defined]
    return state._replace(trim=state.trim._replace(inside=inside, turned=True))


@effect
def take_trim_inside(plan: Plan, state: State, event: Event) -> State:
    """The last pot of a pass ends the round, unless one had to be turned: then all are read once more."""
    trim = state.trim._replace(inside=state.trim.inside | {event.trim})  # type: ignore[attr-defined]
    if {each.id for each in state.at(plan).trims} <= trim.inside:
        done = 0 if trim.turned else 1
        trim = Trimming(round=trim.round + done, since_s=trim.since_s if trim.round else 0.0)
    return state._replace(trim=trim)


@effect
def take_pending(plan: Plan, state: State, event: Event) -> State:
    return state._replace(pending_v=event.value_v)  # type: ignore[attr-defined]


# --- from phase to phase ---


@effect
def enter_phase(plan: Plan, state: State, event: Event) -> State:
    """The phase that the event names; a plan that lost it leaves the work where it was."""
    ids = [phase.id for phase in plan.phases]
    to = event.phase  # type: ignore[attr-defined]
    return state._replace(phase=ids.index(to) if to in ids else state.phase, full_s=0.0, spared=frozenset())


@effect
def mark_unwatched(plan: Plan, state: State, event: Event) -> State:
    """What was looked over before counts no more."""
    over = plan.look_over.ids
    state = drop_end(plan, state, event) if state.at(plan).soak else state
    return state._replace(unwatched=True, read=state.read - over, warned=state.warned - over)


@effect
def end_look_over(plan: Plan, state: State, event: Event) -> State:
    return state._replace(unwatched=False)


@effect
def take_end(plan: Plan, state: State, event: Event) -> State:
    return state._replace(last_complete=True)


@effect
def forget_passes(plan: Plan, state: State, event: Event) -> State:
    """A changed build file: back to the first phase that it touches, to the very first where it touches none so far."""
    if event.keep:  # type: ignore[attr-defined]
        return state
    touched = event.touched  # type: ignore[attr-defined]
    done = plan.phases[: state.phase + 1]
    back_to = next((n for n, phase in enumerate(done) if phase.stage in touched), 0)
    before = {point.id for phase in plan.phases[:back_to] for point in phase.points}
    return drop_readings(plan, end_repair(plan, state, event), event)._replace(
        phase=back_to, last_complete=False, unproved=state.unproved & before, overruled=frozenset()
    )
