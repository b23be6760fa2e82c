"""Walk a plan in every way: every input in every state, with a watcher beside it."""

from __future__ import annotations

from dataclasses import dataclass, field

from benchtui.procedure.ask import gate_items
from benchtui.procedure.decide import Refusal, decide, fold, tick
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode, State
from tests.procedure.monitor import Monitor, Seen
from tests.procedure.small import inputs, readings

#: Gate item = what of the watcher's account bears it out.
_BORNE = {
    "plug_out": lambda m, s: s.plug,
    "meter_proved": lambda m, s: s.dc and (s.ac or s.told == "never"),
    "mains_dead": lambda m, s: s.dead or s.told == "never",
    "round_1": lambda m, s: m.ids <= s.first,
    "wait_over": lambda m, s: s.waited >= 2,
    "round_2": lambda m, s: m.ids <= s.second,
    "clip_on": lambda m, s: s.clip or (s.told == "never" and not m.fitted),
    "clip_time": lambda m, s: m.clip_done(s),
    "meter_again": lambda m, s: s.dc2 and (s.ac2 or s.told == "never"),
}


@dataclass
class Walk:
    """What a walk found: states, transitions, and the first few steps that broke a rule."""

    states: int = 0
    transitions: int = 0
    broken: list[str] = field(default_factory=list)
    edges: dict[int, list[int]] = field(default_factory=dict)
    modes: list[Mode] = field(default_factory=list)


def take(plan: Plan, state: State, given: object) -> State:
    """`state` after one input, as the session would take it."""
    if given == ("tick",):
        return tick(plan, state, 1.0)
    events = decide(plan, state, given)  # type: ignore[arg-type]
    if isinstance(events, Refusal):
        return state
    for event in events:
        state = fold(plan, state, event)
    return state


def walk(plan: Plan, *, stop_at: int = 5, without: tuple[type, ...] = ()) -> Walk:
    """Breadth first from the start, every input in every state; ends early after `stop_at` broken rules."""
    always = tuple(one for one in inputs(plan) if not isinstance(one, without))
    by_phase = [(*always, *readings(plan, n)) for n in range(len(plan.phases))]
    monitor, found = Monitor(plan), Walk()
    start = (State(), Seen())
    numbers, queue = {start: 0}, [start]
    found.modes.append(start[0].mode)
    for at, (state, seen) in enumerate(queue):
        found.edges[at] = []
        for one in by_phase[state.phase]:
            after = take(plan, state, one)
            after_seen, rules = monitor.step(seen, state.mode, state.phase, one, after.mode, after.phase)
            found.transitions += 1
            pair = (_told_apart(after), after_seen)
            number = at if after is state and after_seen is seen else numbers.get(pair)
            if number is None:
                number = numbers[pair] = len(numbers)
                queue.append(pair)
                found.modes.append(after.mode)
                rules = (*rules, *_shown_unborne(monitor, plan, after, after_seen), *_shown_proved(after, after_seen))
            if rules:
                found.broken += [f"{rule}: {one} in {state.mode}" for rule in rules]
                if len(found.broken) >= stop_at:
                    found.states = len(numbers)
                    return found
            found.edges[at].append(number)
    found.states = len(numbers)
    return found


def _told_apart(state: State) -> State:
    """`state` without what only chooses the next question and no condition looks at."""
    if state.gate.charged or state.gate.fitted:
        return state.with_gate(charged="", fitted=False)
    return state


def _shown_proved(state: State, seen: Seen) -> list[str]:
    """What was read without the instrument that proves it is open, in every mode and to the end."""
    return [f"{point} shown as measured" for point in seen.unproved - state.unproved]


def _shown_unborne(monitor: Monitor, plan: Plan, state: State, seen: Seen) -> list[str]:
    """Rule 38: no item shows as done that the inputs do not bear out."""
    if state.mode is not Mode.OFF_GATE:
        return []
    return [
        f"38 {item.name} shown as done"
        for item in gate_items(plan, state)
        if item.done and not _BORNE[item.name](monitor, seen)
    ]
