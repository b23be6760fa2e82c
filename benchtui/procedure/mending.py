"""The effects around a search for a fault and a finished amplifier on the bench again: what is told and read again."""

from __future__ import annotations

from benchtui.procedure.events import Event
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import State
from benchtui.procedure.taken_back import effect


@effect
def take_found(plan: Plan, state: State, event: Event) -> State:
    """In a repair named parts ask what is read again; mended without the checks of an alarm, all of these are due."""
    named = frozenset(event.parts) if state.repair else frozenset()  # type: ignore[attr-defined]
    again = state.checks(plan).ids if state.repair and not (state.alarm and named) else frozenset()
    state = state._replace(found=True, cause_open=False, replaced=named, again=again, spared=frozenset())
    return state._replace(read=state.read - again)


@effect
def take_open(plan: Plan, state: State, event: Event) -> State:
    return state._replace(found=True, cause_open=True, replaced=frozenset(), spared=frozenset())


@effect
def take_exchange(plan: Plan, state: State, event: Event) -> State:
    return state._replace(exchange=event.exchange, tried=event.point)  # type: ignore[attr-defined]


@effect
def take_tried(plan: Plan, state: State, event: Event) -> State:
    return state._replace(tried="" if event.point == state.tried else state.tried)  # type: ignore[attr-defined]


@effect
def drop_exchange(plan: Plan, state: State, event: Event) -> State:
    """Leads and valves were handled: every check without power is read once more."""
    again = state.checks(plan).ids
    return state._replace(exchange="", tried="", again=again, read=state.read - again)


@effect
def take_retest(plan: Plan, state: State, event: Event) -> State:
    again = frozenset(event.again) & state.checks(plan).ids  # type: ignore[attr-defined]
    spared = frozenset(event.spared)  # type: ignore[attr-defined]
    return state._replace(replaced=frozenset(), again=again, spared=spared, read=state.read - again)


@effect
def begin_repair(plan: Plan, state: State, event: Event) -> State:
    return _begun(plan, end_repair(plan, state, event)._replace(alarm="repair", repair=True))


@effect
def begin_checkup(plan: Plan, state: State, event: Event) -> State:
    return _begun(plan, end_repair(plan, state, event)._replace(alarm="checkup", checkup=True))


def _begun(plan: Plan, state: State) -> State:
    """Back to the last phase with power, as after an alarm."""
    ids = [phase.id for phase in plan.phases]
    return state._replace(phase=ids.index(plan.whole.power.id)) if plan.whole else state


@effect
def take_told(plan: Plan, state: State, event: Event) -> State:
    return state._replace(told=state.told | frozenset(event.settles))  # type: ignore[attr-defined]


@effect
def end_repair(plan: Plan, state: State, event: Event) -> State:
    """The end of a check-up as well."""
    none: frozenset[str] = frozenset()
    return state._replace(
        alarm="", found=False, cause_open=False, repair=False, checkup=False, told=none, replaced=none, again=none,
        spared=none,
    )  # fmt: skip
