"""Effects that take back: what no longer counts. Nothing is ever removed from the record."""

from __future__ import annotations

from collections.abc import Callable

from benchtui.procedure.events import Event
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Closing, Gate, State, Trimming

Effect = Callable[[Plan, State, Event], State]

EFFECTS: dict[str, Effect] = {}


def effect(change: Effect) -> Effect:
    """Enter an effect of the table by its name."""
    EFFECTS[change.__name__] = change
    return change


@effect
def drop_gate(plan: Plan, state: State, event: Event) -> State:
    return state._replace(gate=Gate())


@effect
def drop_closing(plan: Plan, state: State, event: Event) -> State:
    return state._replace(closing=Closing())


@effect
def drop_clip_place(plan: Plan, state: State, event: Event) -> State:
    return state._replace(clip_off=False)


@effect
def drop_pending(plan: Plan, state: State, event: Event) -> State:
    return state._replace(pending_v=None)


@effect
def drop_readings(plan: Plan, state: State, event: Event) -> State:
    state = state._replace(bench_low=frozenset(), bench_high="")
    return state._replace(read=frozenset(), warned=frozenset(), asked="", trim=Trimming(), mains_v=None)


@effect
def drop_power_readings(plan: Plan, state: State, event: Event) -> State:
    """After a restart cold readings stand, those of a powered phase do not."""
    return drop_readings(plan, state, event) if state.at(plan).kind == "power" else state


@effect
def drop_alarm(plan: Plan, state: State, event: Event) -> State:
    return state._replace(alarm="", found=False)


@effect
def drop_spared(plan: Plan, state: State, event: Event) -> State:
    """Something reads badly, or nobody knows what became of it: nothing is left out any more."""
    return state._replace(spared=frozenset())


@effect
def drop_end(plan: Plan, state: State, event: Event) -> State:
    """With it what was read of a winding after it; what it read cold stands."""
    winding = state.winding._replace(off_s=None, hot=(), verdict="")
    return state._replace(last_complete=False, winding=winding)


@effect
def drop_cooling(plan: Plan, state: State, event: Event) -> State:
    """Nobody knows how long the power has been off."""
    return state._replace(winding=state.winding._replace(off_s=None))


@effect
def drop_rounds(plan: Plan, state: State, event: Event) -> State:
    """Both rounds, the wait, and what must come after them."""
    gate = state.gate._replace(first=frozenset(), wait_s=0.0, second=frozenset())
    return drop_again(plan, drop_clip(plan, state._replace(gate=gate), event), event)


@effect
def drop_meter(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(dc=False, ac=False, dc_again=False, ac_again=False)


@effect
def drop_mains(plan: Plan, state: State, event: Event) -> State:
    return state.with_gate(mains=False)


@effect
def drop_clip(plan: Plan, state: State, event: Event) -> State:
    """The clip, and the links with it."""
    return state.with_gate(clip=False, links=False, clip_s=0.0, shunted="")


@effect
def drop_again(plan: Plan, state: State, event: Event) -> State:
    """The later meter proof must come after the last reading."""
    return state.with_gate(dc_again=False, ac_again=False)


@effect
def drop_clip_off_and_after(plan: Plan, state: State, event: Event) -> State:
    return state._replace(closing=Closing(back=state.closing.back))


@effect
def drop_ohms_and_cover(plan: Plan, state: State, event: Event) -> State:
    return state.with_closing(ohms=False, cover=False)
