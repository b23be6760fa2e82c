"""A walk through the app by its keys: lines typed as hands type them, answers read off the screen at 80x24."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic

from benchtui.session.session import Session
from benchtui.session.view import View
from tests.screens.keys import Hands
from tests.walk.builder import Builder, Wait, told
from tests.walk.clock import StillClock
from tests.walk.walking import MOST_ANSWERS, pass_time

#: Longest real time that a forecast, or an answer, may take before the walk is given up.
HANG_S, ANSWER_HANG_S = 240.0, 30.0

_LOOK_S = 0.005


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
        app = self.hands.app
        assert app is not None
        await self._until(lambda: not app._computing and self._taking_keys(), HANG_S, "still computing")
        assert app._shown.view is not None
        return app._shown.view

    def _taking_keys(self) -> bool:
        app = self.hands.app
        view = app._shown.view if app else None
        if view is None or view.prompt.title == "Computing":
            return False
        return view.prompt.entry == "nothing" or app._armed_for == view.prompt.number

    async def _type(self, view: View, text: str) -> None:
        """A line as hands type it, a fifth of a second from key to key, with a second to read first."""
        app = self.hands.app
        assert app is not None
        self.hands.now_s += 1.0
        for character in text:
            self.hands.post(character)
        self.hands.post("enter")
        await self._until(lambda: app._shown.view.saved != view.saved, ANSWER_HANG_S, f"{text!r} was not taken")
        after = await self._painted()
        self.steps.append(Step(view, text, after, self.hands.text()))

    async def _wait(self, seconds: float) -> None:
        """A wait in steps that the session takes for watched ones; only its end is painted."""
        app = self.hands.app
        assert app is not None and isinstance(app.session, Session)
        pass_time(app.session, self.clock, seconds)
        app.show(app.session.view())
        await self._painted()

    async def _until(self, holds: Callable[[], bool], hang_s: float, trouble: str) -> None:
        """Let the app go on until `holds`; `trouble` is what is wrong if that takes longer than `hang_s`."""
        give_up = monotonic() + hang_s
        while not holds():
            if monotonic() > give_up:
                raise AssertionError(f"{trouble} after {hang_s:.0f} s\n{self.hands.text()}")
            await asyncio.sleep(_LOOK_S)

    async def _painted(self) -> View:
        """What is shown, once it is on the screen and stays: new sizes are laid out in a second pass."""
        app = self.hands.app
        assert app is not None
        while True:
            view = app._shown.view
            for _ in range(2):
                painted = asyncio.Event()
                app.call_after_refresh(painted.set)
                await asyncio.wait_for(painted.wait(), ANSWER_HANG_S)
            if view is not None and app._shown.view is view:
                return view
