"""Keys, pastes and windows as a terminal delivers them, each dealt with to the end before the next."""

from __future__ import annotations

import asyncio
import re
from collections import Counter, deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from unittest.mock import patch

from textual import events
from textual.geometry import Size
from textual.message import Message

from benchtui.session.session import Session
from benchtui.tui import app as app_module
from benchtui.tui.app import BenchApp
from benchtui.tui.aside import Done
from tests.keys.clock import WalkClock
from tests.keys.watcher import POWER_OFF, How, Violation, Watcher
from tests.screens.keys import Hands, screen_text

#: Real seconds after which an app that is still busy with a key counts as hung, and rounds of the loop likewise.
HANG_S, _MOST_ROUNDS = 60.0, 20_000

#: Rounds of the message loop without a message after which nothing is on its way any more.
_QUIET_ROUNDS = 8

#: How often the app looks at the clock.
_TICK_S = 0.25

#: Longer than any walk: only the walk's own clock moves the app.
_NEVER_S = 1e6


class Strokes:
    """One app after the other under test, its clock, its watcher, and counts and log of what was struck."""

    def __init__(self) -> None:
        self.clock = WalkClock()
        self.watcher = Watcher(self.clock)
        self.hands = Hands()
        self.keys: Counter[str] = Counter()
        self.log: deque[str] = deque(maxlen=60)
        self.jobs: deque[tuple[str, Callable[[], object], Callable[[Done], object]]] = deque()
        self.size = (80, 24)
        self._messages = 0
        self._ticked_s = 0.0

    @property
    def app(self) -> BenchApp:
        assert self.hands.app is not None
        return self.hands.app

    @property
    def session(self) -> Session:
        assert isinstance(self.app.session, Session)
        return self.app.session

    @property
    def gone(self) -> bool:
        """Has the app ended?"""
        return self.app._exit

    @contextmanager
    def by_hand_alone(self) -> Iterator[None]:
        """No timer and no thread moves an app opened in here: the same keys have the same effect each time."""
        with (
            patch.object(app_module, "_TICK_S", _NEVER_S),
            patch.object(app_module, "run_aside", lambda *job: self.jobs.append(job)),
            patch("textual.screen.UPDATE_PERIOD", _NEVER_S),
        ):
            yield

    # -- time

    def pass_(self, seconds: float) -> None:
        """Let time pass for hands and session alike; the app looks at the clock at its next tick."""
        self.clock.pass_(seconds)
        self.hands.now_s += seconds

    async def tick(self) -> None:
        """The app looks at the clock, as it does four times a second."""
        self._ticked_s = self.clock.passed_s
        self.app._tick()
        await self.dealt_with(paint=self.app._armed_for is None)
        self.look()

    # -- what is struck

    def post(self, key: str, how: How, gap_s: float) -> None:
        """Deliver a key `gap_s` after the one before, without waiting for what comes of it."""
        self.pass_(gap_s)
        self.keys[how] += 1
        self.log.append(f"{how} {key!r} +{gap_s:.3f}s  [{self.watcher.title}]")
        self.hands.post(key, gap_s=0.0)

    async def strike(self, key: str, *, how: How = "hand", gap_s: float = 0.2, paint: bool = True) -> None:
        """Strike a key, wait until all that follows is done (and painted), and hold it against the rules."""
        self.post(key, how, gap_s)
        await self.dealt_with(paint=paint)
        if self.app._armed_for is None and not self.gone and self.app._bench.asking:
            await self.dealt_with()  # a new prompt is painted at once
        self.judge(key, how)
        if not self.gone and self.clock.passed_s - self._ticked_s > _TICK_S:
            await self.tick()

    async def send(self, message: Message, told: str, how: How = "pasted") -> None:
        """Anything else that a terminal delivers: a paste, the mouse, the focus."""
        self.log.append(told)
        assert self.app._driver is not None
        self.app._driver.send_message(message)
        await self.dealt_with()
        self.judge("", how)

    async def resize(self, width: int, height: int) -> None:
        """The window is given another size."""
        self.log.append(f"window {width}x{height}")
        self.size = (width, height)
        assert self.app._driver is not None
        self.app._driver._size = self.size
        self.app.post_message(events.Resize(Size(width, height), Size(width, height)))
        await asyncio.sleep(0.02)  # Textual waits a moment for a window that is still being drawn larger
        await self.dealt_with()
        self.judge("", "unseen")

    async def deliver(self, *, fails: bool = False) -> None:
        """The work given out first comes to its end."""
        name, work, tell = self.jobs.popleft()
        if fails:
            tell(Done(name, error=ArithmeticError("made to fail")))
        else:
            tell(Done(name, result=work()))
        await self.dealt_with()

    # -- what came of it

    def judge(self, key: str, how: How) -> None:
        """Hold the effect of a key against the rules."""
        view = self.app._shown.view
        if view is None or self.gone or self.app.session is None:
            return
        character = {"space": " "}.get(key, key)
        self.watcher.struck(self.session, view, self.app._bench.answer.entry.value, key, character, how)
        if key == "f8" and self.app.size.width >= 60 and self.app.size.height >= 16:
            shown = screen_text(self.app)
            due = "Not saved: switch off" if view.danger.word == "NOT RECORDING" else POWER_OFF
            self.must(due in shown, f"STOP, and no power-off text on the screen:\n{shown}")

    def look(self) -> None:
        """Hold what is shown against the rules, no key having been struck."""
        view = self.app._shown.view
        if view is not None and self.app.session is not None:
            self.watcher.look(self.session, view)

    def must(self, holds: bool, rule: str) -> None:
        """Raise Violation, naming the rule, unless it `holds`."""
        if not holds:
            raise Violation(rule)

    async def dealt_with(self, *, paint: bool = True) -> None:
        """Wait until the app has nothing left to do, and let it paint."""
        try:
            await asyncio.wait_for(self._quiet(paint), HANG_S)
        except TimeoutError as error:
            raise Violation(f"the app hung for {HANG_S:.0f} s") from error
        if self.app._exception is not None:
            raise Violation(f"the app failed: {self.app._exception!r}") from self.app._exception
        if paint and not self.gone and self.app.session is not None and self.app._shown.view is not None:
            self._painted()

    async def _quiet(self, paint: bool) -> None:
        for _ in range(_MOST_ROUNDS):
            before = self._messages
            await self._rounds()
            if self._messages != before:
                continue
            if self.gone or self.app._exception is not None or not paint:
                return
            screen = self.app.screen
            screen._on_timer_update()
            await self._rounds()
            if self._messages == before and not screen._callbacks:
                return
        raise Violation("the app never comes to rest")

    async def _rounds(self) -> None:
        for _ in range(_QUIET_ROUNDS):
            await asyncio.sleep(0)

    def count(self, message: Message) -> None:
        """A message arrived somewhere in the app."""
        self._messages += 1

    def _painted(self) -> None:
        """What the screen says is so: the danger by its word, and what is saved by the record on the disk."""
        view, size = self.app._shown.view, self.app.size
        assert view is not None
        shown = screen_text(self.app)
        if size.width >= 40 and size.height >= 12:
            self.must(view.danger.word in shown, f"{view.danger.word} is not on the screen:\n{shown}")
            self.must(f"saved #{view.saved} " in shown, f"saved #{view.saved} is not on the screen:\n{shown}")
        elif size.width >= 20 and size.height >= 6:
            self.must(view.danger.word in shown, f"{view.danger.word} is not on the small screen:\n{shown}")
        on_disk = self.session._journal.path.read_bytes().count(b"\n")
        for number in re.findall(r"saved #(\d+)", shown):
            self.must(int(number) <= on_disk, f"saved #{number} shown, {on_disk} events on the disk")
