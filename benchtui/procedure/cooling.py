"""The effects around a soak: its rounds of readings, and the mains winding cold and as it cools."""

from __future__ import annotations

from benchtui.procedure.events import Event
from benchtui.procedure.plan import WINDING, Plan
from benchtui.procedure.state import Soaking, State, Wound
from benchtui.procedure.taken_back import effect


@effect
def drop_outside(plan: Plan, state: State, event: Event) -> State:
    """What was read before the last screw says nothing of what it holds."""
    soak = state.at(plan).soak
    outside = frozenset(point.id for point in soak.outside) if soak else frozenset()
    return state._replace(read=state.read - outside, warned=state.warned - outside)


@effect
def take_round(plan: Plan, state: State, event: Event) -> State:
    """The last point of a round ends it: mains and points are due again at the next mark."""
    phase, points = state.at(plan), frozenset(point.id for point in state.at(plan).points)
    if phase.soak is None or not points <= state.read:
        return state
    over = min(state.soak.round + 1, len(phase.soak.marks_s))
    last = over == len(phase.soak.marks_s)
    return state._replace(soak=Soaking(over, stale=not last), read=state.read if last else state.read - points)


@effect
def take_room(plan: Plan, state: State, event: Event) -> State:
    return state._replace(winding=Wound(room_c=event.celsius))  # type: ignore[attr-defined]


@effect
def take_cold(plan: Plan, state: State, event: Event) -> State:
    return state._replace(winding=state.winding._replace(cold_ohm=event.ohm))  # type: ignore[attr-defined]


@effect
def begin_cooling(plan: Plan, state: State, event: Event) -> State:
    soak = state.at(plan).soak
    return state._replace(winding=state.winding._replace(off_s=0.0)) if soak and soak.winding else state


@effect
def take_hot(plan: Plan, state: State, event: Event) -> State:
    read = (event.after_s, event.ohm)  # type: ignore[attr-defined]
    return state._replace(winding=state.winding._replace(hot=(*state.winding.hot, read)))


@effect
def take_winding(plan: Plan, state: State, event: Event) -> State:
    return state._replace(winding=state.winding._replace(verdict="read"))


@effect
def warn_winding(plan: Plan, state: State, event: Event) -> State:
    return state._replace(winding=state.winding._replace(verdict="warned"))


@effect
def leave_winding(plan: Plan, state: State, event: Event) -> State:
    """Open at the end, as what was read for want of an instrument."""
    return state._replace(winding=state.winding._replace(left=True), unproved=state.unproved | {WINDING})


@effect
def drop_winding(plan: Plan, state: State, event: Event) -> State:
    """It may be another one."""
    return state._replace(winding=Wound())
