"""A walk through the app by its keys: lines typed as hands type them, answers read off the screen at 80x24."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from benchtui.session.session import Session
from benchtui.session.view import View
from tests.screens.keys import Hands
from tests.walk.builder import Builder, Wait, told
from tests.walk.clock import StillClock
from tests.walk.walking import MOST_ANSWERS, pass_time

#: Longest real time that a forecast may take before the walk is given up.
HANG_S = 240.0

_LOOK_S = 0.02


@dataclass(frozen=True)
class Step:
    """A line that was typed, with the picture before and after it and the screen after it."""

    before: View
    typed: str
    after: View
    screen: str


@dataclass
class AppWalk:
    """The hands at the app, the builder whose hands they are, and the still clock of the session."""

    hands: Hands
    builder: Builder
    clock: StillClock
    steps: list[Step] = field(default_factory=list)

    async def go(self, until: Callable[[View], bool] = lambda view: False) -> list[Step]:
        """Walk until the build is finished, or until `until` holds of what is shown."""
        waits = 0
        while True:
            view = await self.view()
            if view.prompt.title == "Finished" or until(view):
                return self.steps
            act = self.builder.does(view)
            if isinstance(act, Wait):
                waits += 1
                await self._wait(act.seconds)
            else:
                waits = 0
                await self._type(view, act)
            if waits > 100 or len(self.steps) > MOST_ANSWERS:
                raise AssertionError(f"the walk leads nowhere\n{told(view)}\n{self.hands.text()}")

    async def view(self) -> View:
        """What is shown once nothing is being computed any more, and the field takes keys for it."""
        app, pilot = self.hands.app, self.hands.pilot
        assert app is not None and pilot is not None
        for _ in range(int(HANG_S / _LOOK_S)):
            view = app._shown.view
            if view is not None and not app._computing and view.prompt.title != "Computing":
                if view.prompt.entry == "nothing" or app._armed_for == view.prompt.number:
                    return view
            await pilot.pause(_LOOK_S)
        raise AssertionError(f"still computing after {HANG_S:.0f} s\n{self.hands.text()}")

    async def _type(self, view: View, text: str) -> None:
        """A line as hands type it, a fifth of a second from key to key, with a second to read first."""
        self.hands.now_s += 1.0
        for character in text:
            self.hands.post(character)
        self.hands.post("enter")
        await self.hands.settle()
        after = self.hands.app._shown.view if self.hands.app else None
        if after is None or after.saved == view.saved:
            raise AssertionError(f"{text!r} was not taken\n{self.hands.text()}")
        self.steps.append(Step(view, text, after, self.hands.text()))

    async def _wait(self, seconds: float) -> None:
        """A wait in steps that the session takes for watched ones; only its end is painted."""
        app = self.hands.app
        assert app is not None and isinstance(app.session, Session)
        pass_time(app.session, self.clock, seconds)
        app.show(app.session.view())
        await self.hands.settle()
