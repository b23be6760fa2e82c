"""An open app under test: keys struck by hands that keep time on a clock of their own, and the screen as text."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from textual import events
from textual.pilot import Pilot

from benchtui.tui.app import BenchApp
from benchtui.tui.talk import Session

NAMED = {" ": "space", ".": "full_stop", ",": "comma", "-": "minus", "\r": "enter"}


class Hands:
    """Two hands at the keys of `app`, a fifth of a second between strokes unless told otherwise."""

    def __init__(self) -> None:
        self.now_s = 1000.0
        self.app: BenchApp | None = None
        self.pilot: Pilot | None = None

    def clock(self) -> float:
        return self.now_s

    def post(self, key: str, *, gap_s: float = 0.2, struck_at: float | None = None) -> None:
        """Let the terminal deliver a key, without waiting for what comes of it."""
        assert self.app is not None and self.app._driver is not None
        self.now_s += gap_s
        named = NAMED.get(key, key)
        character = "\r" if named == "enter" else key if len(key) == 1 else None
        event = events.Key(named, character)
        event.time = self.now_s if struck_at is None else struck_at
        self.app._driver.send_message(event)

    async def key(self, key: str, *, gap_s: float = 0.2) -> None:
        """Strike a key and wait until all that follows from it is on the screen."""
        self.post(key, gap_s=gap_s)
        await self.settle()

    async def line(self, text: str) -> None:
        """Read the screen for a second, type a line as hands do, and end it with Enter."""
        self.now_s += 1.0
        for character in text:
            await self.key(character)
        await self.key("enter")

    async def paste(self, text: str) -> None:
        """Paste as a terminal that marks pasted text."""
        assert self.app is not None and self.app._driver is not None
        self.now_s += 1.0
        self.app._driver.send_message(events.Paste(text))
        await self.settle()

    async def settle(self) -> None:
        """Wait until the app has nothing left to do."""
        assert self.pilot is not None
        await self.pilot.pause()
        await self.pilot.pause()

    def text(self) -> str:
        """What is on the screen, row by row."""
        assert self.app is not None
        return screen_text(self.app)


def screen_text(app: BenchApp) -> str:
    """The text of each row of cells; the compositor is private to Textual, so it is asked in this place only."""
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


@asynccontextmanager
async def opened(session: Session, size: tuple[int, int] = (80, 24)) -> AsyncIterator[Hands]:
    """The app on `session` in a window of `size`, painted and ready."""
    hands = Hands()
    app = BenchApp(lambda: session, clock=hands.clock)
    async with app.run_test(size=size) as pilot:
        hands.app, hands.pilot = app, pilot
        while app.session is None:
            await pilot.pause()
        await hands.settle()
        yield hands
