"""All that may happen at the keys besides right answers: slips, pastes, held keys, STOP, odd windows, clocks, kills."""

from __future__ import annotations

from dataclasses import dataclass

from textual import events

from tests.keys import said
from tests.keys.typist import Typist
from tests.record.counts import count

_FUNCTION = (
    "f1", "f2", "f3", "f4", "f5", "f6", "f7", "f9", "f12", "escape", "up", "down", "pageup", "pagedown", "tab",
    "shift+tab", "left", "right", "home", "end", "delete", "backspace", "ctrl+a", "ctrl+e", "ctrl+u", "ctrl+z",
    "ctrl+p", "ctrl+l", "ctrl+d", "ctrl+s", "ctrl+w", "ctrl+k", "ctrl+v", "ctrl+x", "insert",
)  # fmt: skip

_HELD = ("0", "1", "9", "i", "enter", "enter", "backspace", "f3", "f5", "f8", "escape", "pagedown", "ctrl+q", "left")

_SIZES = ((80, 24), (80, 24), (80, 24), (120, 40), (100, 30), (60, 20), (40, 12), (39, 12), (40, 10), (20, 5), (10, 3),
          (3, 2), (1, 1), (2, 60), (200, 1), (200, 60))  # fmt: skip

#: A sleep, and a time without a look at the clock, after which nothing that was proved stands.
_SLEPT_S, _STOOD_STILL_S = 1.1, 10.5

WEIGHTS = {
    "useful": 60.0, "other": 5.0, "odd": 3.0, "nonsense": 1.5, "function": 4.0, "stop": 0.5, "paste": 5.0,
    "poured": 3.0, "held": 4.0, "held_over": 2.0, "ahead": 2.5, "window": 1.5, "focus": 0.7, "mouse": 0.7, "page": 1.0,
    "note": 0.6, "leave": 0.5, "drop": 0.7, "wall": 0.4, "sleep": 0.2, "stand_still": 0.2, "wake": 0.2,
    "idle": 0.3, "fail": 0.1, "disk_full": 0.1,
}  # fmt: skip
"""How often each thing is done; all but the useful times how wild the walk is."""


@dataclass(frozen=True)
class Kind:
    """How a walk goes: how wild (drawn, if not told), and the longest paste and flood."""

    wild: float | None = None
    pasted: int = 100_000
    poured: int = count(short=500, full=4_000)


class Mishaps(Typist):
    """A method for each thing that may happen, by the names of WEIGHTS."""

    kind: Kind

    async def between(self) -> None:
        """Something that comes between two keys of a line."""
        name = self.rng.choice(("stop", "function", "window", "drop", "leave", "focus", "mouse", "wake", "stand_still"))
        await getattr(self, name)()

    async def other(self) -> None:
        await self.line(said.other(self.rng, self.view().prompt, self.text()), careful=True)

    async def odd(self) -> None:
        await self.line(self.rng.choice(said.ODD))

    async def nonsense(self) -> None:
        await self.line(said.nonsense(self.rng), enter=self.rng.random() < 0.8)

    async def function(self) -> None:
        for _ in range(self.rng.choice((1, 1, 2, 4))):
            if not self.gone:
                await self.strike(self.rng.choice(_FUNCTION), gap_s=self.rng.uniform(0.05, 0.6))

    async def stop(self) -> None:
        await self.strike("f8", gap_s=self.rng.uniform(0.01, 0.5))

    async def paste(self) -> None:
        text = said.pasted(self.rng, self.text(), self.kind.pasted)
        self.pass_(self.rng.uniform(0.1, 2.0))
        await self.send(events.Paste(text), f"paste of {len(text)} characters: {text[:30]!r}")
        await self._perhaps_enter()

    async def _perhaps_enter(self) -> None:
        """Enter after what a machine typed, soon or late, at times held down."""
        if self.rng.random() < 0.8:
            await self.strike("enter", gap_s=self.rng.choice((0.02, 0.1, 0.3, 0.7)))
            for _ in range(self.rng.choice((0, 0, 0, 12))):
                if not self.gone:
                    await self.strike("enter", how="held", gap_s=0.03, paint=False)

    async def poured(self) -> None:
        """A paste into a terminal that does not mark it: keys as fast as they come."""
        text = said.pasted(self.rng, self.text(), self.kind.poured).replace("\n", "\r").lstrip("\r")
        text = text[: self.kind.poured]
        self.pass_(self.rng.uniform(0.1, 2.0))
        if len(text) < 2:
            return await self.line(text)  # a first key is a key, whoever struck it; so none here is a line end
        self.log.append(f"{len(text)} keys poured in: {text[:30]!r}")
        gap_s = self.rng.choice((0.0, 0.0005, 0.002, 0.004, 0.01))
        kept = list(self.log)
        for character in text:
            self.post(character, "poured", gap_s)
        self.log.clear()
        self.log.extend(kept)
        await self.dealt_with()
        self.judge("", "poured")
        await self._perhaps_enter()

    async def held(self) -> None:
        """A key held down: the first stroke is one by hand, the others the keyboard's."""
        key = self.rng.choice(_HELD)
        live = self.view().danger.level == "danger"
        left = self.app._shown.pane == "leave"
        self.pass_(self.rng.uniform(0.1, 1.0))
        for n in range(self.rng.choice((2, 5, 20, 40))):
            if not self.gone:
                first = n == 0
                await self.strike(key, how="hand" if first else "held", gap_s=0.5 if first else 0.03, paint=first)
        self.must(not (key == "ctrl+q" and live and not left and self.gone), "a held key left the app")
        if not self.gone:
            await self._perhaps_enter()

    async def held_over(self) -> None:
        """The right answer, and Enter stays down."""
        await self.line(self.text(), enter=False)
        for n in range(self.rng.choice((4, 13, 36))):
            if not self.gone:
                first = n == 0
                await self.strike("enter", how="hand" if first else "held", gap_s=0.2 if first else 0.03, paint=first)

    async def ahead(self) -> None:
        """The right answer, and what comes next typed before it is asked."""
        await self.line(self.text(), enter=False)
        if self.gone or self.over or not self.app._bench.answer.entry.value.strip():
            return  # with nothing to send the prompt would stay in sight, and what follows be its answer
        if self.rng.random() < 0.5:
            await self.strike("enter")
            for key in (*self.text(), "enter"):
                if not self.gone:  # the question is there by now, and nobody can have read it
                    await self.strike(key, gap_s=self.rng.uniform(0.03, 0.09), paint=False)
            return
        self.post("enter", "hand", 0.2)
        for text in self.rng.choices(said.READY, k=self.rng.choice((1, 2))):
            for key in (*text, "enter"):
                self.post(key, "hand", self.rng.uniform(0.03, 0.15))
        await self.dealt_with()
        self.judge("enter", "hand")

    async def window(self) -> None:
        some = (self.rng.randrange(1, 201), self.rng.randrange(1, 61))
        await self.resize(*self.rng.choice((*_SIZES, some, some)))

    async def focus(self) -> None:
        await self.send(events.AppBlur(), "focus lost", "unseen")
        if self.rng.random() < 0.7:
            await self.send(events.AppFocus(), "focus back", "unseen")

    async def mouse(self) -> None:
        size = self.app.size
        x, y = self.rng.randrange(size.width), self.rng.randrange(size.height)
        for kind in self.rng.choice(
            ((events.MouseDown, events.MouseUp), (events.MouseMove,), (events.MouseScrollDown,))
        ):
            event = kind(None, x, y, 0, 0, self.rng.choice((0, 1, 3)), False, False, False, x, y)
            await self.send(event, f"{kind.__name__} at {x}, {y}", "unseen")

    async def page(self) -> None:
        """A page is opened over the prompt, and typed at."""
        await self.strike(self.rng.choice(("f1", "f2", "f4", "f5", "f6", "f7")))
        await self.line(self.text())
        if self.rng.random() < 0.7 and not self.gone:
            await self.strike("escape")

    async def note(self) -> None:
        await self.strike("f3", gap_s=0.5)
        await self.line(self.rng.choice((said.nonsense(self.rng), "hum at half past", self.rng.choice(said.READY))))
        if self.rng.random() < 0.8 and not self.gone:
            await self.strike("escape")

    async def leave(self) -> None:
        key = self.rng.choice(("ctrl+q", "ctrl+c"))
        await self.strike(key, gap_s=0.3)
        if not self.gone and self.view().tag and self.rng.random() < 0.4:
            await self.line(self.rng.choice(("nothing", "feedback lead", said.nonsense(self.rng))))
        if not self.gone and self.rng.random() < 0.7:
            await self.strike(key, gap_s=self.rng.choice((0.1, 0.7)))

    async def drop(self) -> None:
        """The program is killed."""
        self.log.append("killed")
        self.over = True

    async def wall(self) -> None:
        by_s = self.rng.choice((-1e9, -86400.0, -3600.0, -1.0, 1.0, 3600.0, 86400.0))
        self.log.append(f"clock set by {by_s:.0f} s")
        self.clock.set_wall(by_s)
        await self.tick()

    async def sleep(self) -> None:
        seconds = self.rng.choice((0.5, 1.5, 60.0, 90000.0))
        self.log.append(f"asleep for {seconds} s")
        self.clock.sleep(seconds)
        if seconds > _SLEPT_S:
            self.watcher.unwatched()
        await self.tick()

    async def stand_still(self) -> None:
        seconds = self.rng.uniform(8.0, 400.0)
        self.log.append(f"the program stands still for {seconds:.0f} s")
        self.pass_(seconds)
        if seconds > _STOOD_STILL_S:
            self.watcher.unwatched()
        await self.tick()

    async def wake(self) -> None:
        self.log.append("stopped and woken")
        self.watcher.unwatched()
        self.app._touched()
        await self.dealt_with()
        self.look()

    async def idle(self) -> None:
        await self.wait(self.rng.choice((5.0, 60.0, 200.0, 1900.0)))

    async def fail(self) -> None:
        if self.jobs:
            self.log.append("a forecast fails")
            await self.deliver(fails=True)

    async def disk_full(self) -> None:
        """From here on nothing can be written."""
        pen = self.session._journal._pen

        def write(*_: object) -> None:
            raise OSError(28, "No space left on device")

        if pen is not None:
            self.log.append("the disk is full")
            pen.write = write  # type: ignore[method-assign]
            await self.line(self.text())
