"""Walk a plan in every way: every input in every state, with a watcher beside it."""

from __future__ import annotations

import gc
from dataclasses import dataclass, field

from benchtui.procedure.decide import Refusal, decide, fold, tick
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode, State
from tests.procedure.monitor import Monitor
from tests.procedure.rules import Rule
from tests.procedure.seen import TICK, Move, Seen
from tests.procedure.small import inputs, readings


@dataclass
class Walk:
    """What a walk found: states, transitions, the first few rules that were broken and by which step."""

    states: int = 0
    transitions: int = 0
    rules: list[Rule] = field(default_factory=list)
    broken: list[str] = field(default_factory=list)
    edges: list[list[int]] = field(default_factory=list)
    modes: list[Mode] = field(default_factory=list)

    def lost(self, goals: tuple[Mode, ...] = (Mode.HANDS, Mode.POWERED, Mode.DONE)) -> list[str]:
        """Rule 42: the goals that can't be reached from every state."""
        return [f"{goal} is not always within reach" for goal in goals if len(self._reaching(goal)) < len(self.edges)]

    def _reaching(self, goal: Mode) -> set[int]:
        """Every state from which a mode can be reached."""
        back: list[list[int]] = [[] for _ in self.modes]
        for at, there in enumerate(self.edges):
            for to in there:
                back[to].append(at)
        queue = [n for n, mode in enumerate(self.modes) if mode is goal]
        found = set(queue)
        while queue:
            for before in back[queue.pop()]:
                if before not in found:
                    found.add(before)
                    queue.append(before)
        return found


def take(plan: Plan, state: State, given: object) -> State:
    """`state` after one input, as the session would take it."""
    if given is TICK:
        return tick(plan, state, 1.0)
    events = decide(plan, state, given)  # type: ignore[arg-type]
    if type(events) is Refusal:
        return state
    for event in events:
        state = fold(plan, state, event)
    return state


def walk(
    plan: Plan, *, stop_at: int = 5, without: tuple[type, ...] = (), beside: tuple[object, ...] = (),
    first: tuple[object, ...] = (),
) -> Walk:  # fmt: skip
    """Breadth first from where the inputs `first` lead, every input in every state and those `beside` them; ends early
    after `stop_at` broken rules.

    Python's search for unused objects is put off meanwhile: of the millions that a walk keeps none is in a ring.
    """
    searched = gc.isenabled()
    gc.disable()
    try:
        return _walk(plan, stop_at, without, beside, first)
    finally:
        if searched:
            gc.enable()


def _walk(
    plan: Plan, stop_at: int, without: tuple[type, ...], beside: tuple[object, ...], first: tuple[object, ...]
) -> Walk:
    always = (*(one for one in inputs(plan) if not isinstance(one, without)), *beside)
    by_phase = [(*always, *readings(plan, n)) for n in range(len(plan.phases))]
    monitor, found = Monitor(plan), Walk()
    start = (State(), Seen())
    for one in first:
        after = take(plan, start[0], one)
        move = Move(start[1], start[0].mode, start[0].phase, one, after.mode, after.phase)
        start = (after, monitor.watch(move)[0])
    numbers, queue = {start: 0}, [start]
    found.modes.append(start[0].mode)
    for at, (state, seen) in enumerate(queue):
        there = {at}
        for one in by_phase[state.phase]:
            after = take(plan, state, one)
            move = Move(seen, state.mode, state.phase, one, after.mode, after.phase)
            after_seen, rules, asked = monitor.watch(move)
            found.transitions += 1
            if after is not state or after_seen is not seen:
                if asked:
                    rules += monitor.shown(asked, after)
                pair = (_told_apart(after), after_seen)
                number = numbers.get(pair)
                if number is None:
                    number = numbers[pair] = len(numbers)
                    queue.append(pair)
                    found.modes.append(after.mode)
                    rules += monitor.standing(after, after_seen)
                there.add(number)
            if rules:
                found.rules += rules
                found.broken += [f"{rule}: {one} in {state.mode}" for rule in rules]
                if len(found.broken) >= stop_at:
                    found.states = len(numbers)
                    return found
        found.edges.append([*there])
    found.states = len(numbers)
    return found


def _told_apart(state: State) -> State:
    """`state` without what only chooses the next question and no condition looks at."""
    if state.gate.charged or state.gate.fitted:
        return state.with_gate(charged="", fitted=False)
    return state
