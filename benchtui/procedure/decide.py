"""Decide what a command comes to, fold events into the state, and let the steady clock run. All pure."""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.procedure.commands import FACTS, Command
from benchtui.procedure.effects import apply, leave
from benchtui.procedure.events import Event
from benchtui.procedure.guards import GUARDS, holds
from benchtui.procedure.plan import Plan, clip_s, wait_s
from benchtui.procedure.state import Mode, State
from benchtui.procedure.table import TABLE
from benchtui.procedure.weigh import weigh


@dataclass(frozen=True, slots=True)
class Refusal:
    """A command that does not count: what was asked and one sentence that says why."""

    what: str
    why: str


def decide(plan: Plan, state: State, command: Command | Event) -> tuple[Event, ...] | Refusal:
    """The events that `command` gives in `state`, or the refusal; the state is not touched."""
    if isinstance(command, Command):
        event = weigh(plan, state, command)
    else:
        event = command if isinstance(command, FACTS) else f"{type(command).__name__} is no plain fact"
    name = type(command).__name__
    if isinstance(event, str):
        return Refusal(name, event)
    row = TABLE[state.mode].get(type(event))
    if row is None:
        return Refusal(name, _out_of_place(state.mode))
    for guard in row.guards:
        if not holds(guard, plan, state, event):
            return Refusal(name, GUARDS[guard].says)
    return (event,)


def fold(plan: Plan, state: State, event: Event) -> State:
    """`state` after `event`. What was recorded was decided once and is not weighed again."""
    row = TABLE[state.mode].get(type(event))
    if row is None:
        return state
    if row.to not in (None, state.mode):
        state = leave(state)
    for effect in row.effects:
        state = apply(effect, plan, state, event)
    return state if row.to is None else state._replace(mode=row.to)


def tick(plan: Plan, state: State, seconds: float) -> State:
    """`state` after `seconds` on the steady clock; never recorded, and nothing but time is added.

    Sums stop where more would change nothing.
    """
    if not seconds > 0:
        return state
    if state.mode is Mode.OFF_GATE:
        return _tick_gate(plan, state, seconds)
    if state.mode is Mode.HANDS:
        return state._replace(hands_s=min(state.hands_s + seconds, plan.settings.look_s))
    if state.mode is Mode.POWERED and not state.limited:
        phase = state.at(plan)
        most = max((phase.settle_s, *plan.trim_marks_s, *(phase.soak.marks_s if phase.soak else ())))
        state = state._replace(full_s=min(state.full_s + seconds, most))
        if state.trim.round:
            since_s = min(state.trim.since_s + seconds, plan.trim_marks_s[-1])
            return state._replace(trim=state.trim._replace(since_s=since_s))
    return state


def _tick_gate(plan: Plan, state: State, seconds: float) -> State:
    gate, phase = state.gate, state.at(plan)
    if state.winding.off_s is not None and phase.soak and phase.soak.winding:
        off_s = min(state.winding.off_s + seconds, phase.soak.winding.latest_s)
        state = state._replace(winding=state.winding._replace(off_s=off_s))
    if gate.plug:
        fastest_s = max(reservoir.fastest_s for reservoir in phase.reservoirs)
        state = state.with_gate(plug_s=min(gate.plug_s + seconds, plan.settings.early_share * fastest_s))
    if holds("round_1", plan, state) and state.mains != "never":
        state = state.with_gate(wait_s=min(gate.wait_s + seconds, wait_s(plan, phase)))
    if (gate.clip or gate.links) and holds("clip_on", plan, state) and holds("links_on", plan, state):
        state = state.with_gate(clip_s=min(gate.clip_s + seconds, clip_s(plan, phase)))
    return state


def _out_of_place(mode: Mode) -> str:
    return {
        Mode.BARE: "that has no place while the chassis is bare",
        Mode.OFF_GATE: "that has no place before the gate is through",
        Mode.HANDS: "that has no place while hands are in",
        Mode.CLOSING: "that has no place between hands out and power on",
        Mode.POWERED: "that has no place while power is on",
        Mode.HALT: "nothing is recorded any more, so nothing is taken: switch off, pull the plug",
        Mode.READONLY: "another program writes this record, so nothing is taken here",
        Mode.DONE: "the build is finished",
    }[mode]
