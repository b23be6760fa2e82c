"""The conditions around an alarm, a repair and an exchange: what was found, what is read again, what is put back."""

from __future__ import annotations

from benchtui.procedure import events as e
from benchtui.procedure.conditions import guard
from benchtui.procedure.events import Event
from benchtui.procedure.plan import Plan, always_read
from benchtui.procedure.state import State


@guard("the limiter was bright or a reading stopped the work: the gate, the checks without power, and what was found")
def no_alarm(plan: Plan, state: State, event: Event | None) -> bool:
    return not state.alarm


@guard("no reading has stopped the work since the last power")
def stopped_by_reading(plan: Plan, state: State, event: Event | None) -> bool:
    return state.alarm == "stop"


@guard("power went off on an alarm: first every check without power again, and what was found")
def alarm_cleared(plan: Plan, state: State, event: Event | None) -> bool:
    if state.at(plan).kind == "hands" or not (state.alarm or state.cause_open or state.again):
        return True
    return state.due(plan).ids <= state.read and (state.found or not state.asks_cause)


@guard("first settle what is read again after what was replaced")
def retest_settled(plan: Plan, state: State, event: Event | None) -> bool:
    return not state.replaced


@guard("the cause is not found, or something is exchanged: power comes back through a limiter only")
def limiter_if_open(plan: Plan, state: State, event: Event | None) -> bool:
    unsure = state.cause_open or bool(state.exchange)
    return isinstance(event, e.PowerOn) and (bool(event.limiter.strip()) or not unsure)


@guard("say in words what was found")
def said(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.CauseFound) and bool(event.text.strip())


@guard("nothing is asked about a cause now")
def cause_asked(plan: Plan, state: State, event: Event | None) -> bool:
    return state.asks_cause


@guard("nothing of this build has power, so there is nothing that can stop working, or be read with power again")
def power_in_plan(plan: Plan, state: State, event: Event | None) -> bool:
    return plan.whole is not None


@guard("that is not asked now")
def story_open(plan: Plan, state: State, event: Event | None) -> bool:
    asked = frozenset(plan.story) - state.told if state.repair else frozenset()
    return isinstance(event, e.Told) and event.question in asked


@guard("that is not what was named as replaced")
def named_replaced(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.Retest) and bool(state.replaced) and frozenset(event.parts) == state.replaced


@guard("limits, grid bias and what is read under the limiter are always read again")
def guarded_again(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.Retest) and not always_read(state.at(plan)) & set(event.spared)


@guard("something is exchanged to find a fault: first put it back, with hands in, and say so")
def nothing_exchanged(plan: Plan, state: State, event: Event | None) -> bool:
    return not state.exchange


@guard("nothing is exchanged")
def something_exchanged(plan: Plan, state: State, event: Event | None) -> bool:
    return bool(state.exchange)
