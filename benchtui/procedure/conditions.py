"""Named conditions, each with what to say when it does not hold; guards.py and alarms.py enter them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from benchtui.procedure.events import Event
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import State

Test = Callable[[Plan, State, Event | None], bool]


@dataclass(frozen=True, slots=True)
class Guard:
    """A condition and what to say when it fails."""

    test: Test
    says: str


GUARDS: dict[str, Guard] = {}


def holds(name: str, plan: Plan, state: State, event: Event | None = None) -> bool:
    """Whether the named condition is borne out."""
    return GUARDS[name].test(plan, state, event) is True


def guard(says: str) -> Callable[[Test], Test]:
    """Enter a condition by its name."""

    def enter(test: Test) -> Test:
        GUARDS[test.__name__] = Guard(test, says)
        return test

    return enter
