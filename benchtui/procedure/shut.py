"""The conditions around a soak: the cover screwed on, what is read from outside, its rounds, and the end unopened."""

from __future__ import annotations

from benchtui.procedure import events as e
from benchtui.procedure.conditions import guard
from benchtui.procedure.events import Event
from benchtui.procedure.plan import WINDING, Plan, Soak, Winding
from benchtui.procedure.state import State


def _soak(plan: Plan, state: State) -> Soak:
    """That of the present phase; where it has none, one that asks for nothing."""
    return state.at(plan).soak or Soak((0.0,))


def winding_due(plan: Plan, state: State) -> Winding | None:
    """The winding whose temperature is told in this phase, as long as nobody said that it is not measured."""
    return None if state.winding.left else _soak(plan, state).winding


@guard("here the amplifier runs with its cover screwed on: every screw in, then 'last screw'")
def screwed_down(plan: Plan, state: State, event: Event | None) -> bool:
    return state.at(plan).soak is None or (isinstance(event, e.Covered) and event.how == "last screw")


@guard("that is read from outside, after the last screw")
def screwed_on(plan: Plan, state: State, event: Event | None) -> bool:
    return state.at(plan).soak is not None and state.closing.cover


@guard("first read from outside, after the last screw, what is listed: every bond, and the insulation")
def outside_read(plan: Plan, state: State, event: Event | None) -> bool:
    return {point.id for point in _soak(plan, state).outside} <= state.read


@guard("no winding is read now")
def winding_asked(plan: Plan, state: State, event: Event | None) -> bool:
    return winding_due(plan, state) is not None and not state.winding.verdict


@guard("first the room's temperature: it is the winding's while that is cold")
def room_told(plan: Plan, state: State, event: Event | None) -> bool:
    return state.winding.room_c is not None


@guard("first the mains winding in ohms while it is cold, or say that its temperature is not measured")
def winding_cold(plan: Plan, state: State, event: Event | None) -> bool:
    return winding_due(plan, state) is None or state.winding.cold_ohm is not None


@guard("nobody knows how long the power has been off, or it is too long: the winding tells nothing any more")
def cooling(plan: Plan, state: State, event: Event | None) -> bool:
    due, off_s = winding_due(plan, state), state.winding.off_s
    return due is not None and off_s is not None and off_s < due.latest_s


@guard("that is too soon after the last one: the winding is read some time apart")
def winding_next(plan: Plan, state: State, event: Event | None) -> bool:
    return next_reading_s(plan, state) <= 0.0


@guard("first more readings of the winding as it cools")
def cooled_enough(plan: Plan, state: State, event: Event | None) -> bool:
    due, hot = winding_due(plan, state), state.winding.hot
    told = due is not None and len(hot) >= due.count and hot[-1][0] - hot[0][0] >= due.span_s
    return told and (event is None or getattr(event, "point", "") == WINDING)


@guard("there is no warn of the winding's temperature to accept")
def winding_warned(plan: Plan, state: State, event: Event | None) -> bool:
    return isinstance(event, e.Accepted) and event.point == WINDING and state.winding.verdict == "warned"


@guard("first the winding's temperature, or say that it is not measured")
def winding_settled(plan: Plan, state: State, event: Event | None) -> bool:
    return winding_due(plan, state) is None or state.winding.verdict == "read"


@guard("the next readings are due at their mark")
def mark_due(plan: Plan, state: State, event: Event | None) -> bool:
    return state.full_s >= next_mark_s(plan, state)


@guard("this amplifier was not run with its cover screwed on: it is finished through the whole gate")
def soaked(plan: Plan, state: State, event: Event | None) -> bool:
    return state.at(plan).soak is not None


def next_reading_s(plan: Plan, state: State) -> float:
    """Seconds until the cooling winding is read again: its readings share the span evenly."""
    due, hot, off_s = winding_due(plan, state), state.winding.hot, state.winding.off_s
    if due is None or off_s is None or not hot:
        return 0.0
    return hot[-1][0] + due.span_s / (due.count - 1) - off_s


def next_mark_s(plan: Plan, state: State) -> float:
    """Seconds of full mains at which the present round of readings is due."""
    marks_s = _soak(plan, state).marks_s
    return marks_s[min(state.soak.round, len(marks_s) - 1)]


def rounds_over(plan: Plan, state: State) -> bool:
    """Was every round read; where there is nothing to read, is the time over?"""
    phase = state.at(plan)
    if phase.soak is None:
        return True
    if not phase.points:
        return state.full_s >= phase.soak.marks_s[-1]
    return state.soak.round >= len(phase.soak.marks_s)
