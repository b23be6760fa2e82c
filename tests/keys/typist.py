"""Hands that type what a builder would, with care or interrupted, and wait where only waiting is due."""

from __future__ import annotations

from abc import abstractmethod
from random import Random

from benchtui.session.view import View
from tests.keys import said
from tests.keys.strokes import Strokes
from tests.walk.builder import Builder, NotUnderstood, Wait

#: How often something comes between two keys of a line.
_INTERRUPTED = 0.01

#: How often Enter comes late, and the app is too busy to look at the clock meanwhile.
_LATE = 0.04

#: Here nothing that is typed is recorded.
NOT_TAKING = ("NOT RECORDING", "READ ONLY")


class Typist(Strokes):
    """Hands at the keys whose right answers a simulated `builder` knows; `wild`: how often something comes between."""

    rng: Random
    wild: float
    over: bool = False
    """The program is to end now."""

    builder: Builder

    @abstractmethod
    async def between(self) -> None:
        """Something that comes between two keys of a line."""

    def view(self) -> View:
        """What is shown."""
        view = self.app._shown.view
        assert view is not None
        return view

    def right(self) -> str | Wait:
        """What the builder would type now; a wait where nothing is typed."""
        view, rig = self.view(), self.builder.rig
        word = view.danger.word
        rig.plugged = rig.powered = word.startswith("LIVE")
        rig.limited = word == "LIVE, LIMITED"
        if word == "CLOSING" and view.prompt.title not in ("Clip off", "Clip and links off"):
            rig.clip, rig.links = None, ()
        try:
            act = self.builder.does(view)
        except (NotUnderstood, AssertionError, AttributeError, KeyError, ValueError, TypeError):
            due = (f"{view.prompt.scale.nominal:.4g}",) if view.prompt.scale else view.prompt.words
            act = self.rng.choice(due or said.WORDS)
        if view.prompt.title == "What was it?":
            return "a whisker of solder"
        return act

    async def line(self, text: str, *, careful: bool = False, enter: bool = True) -> None:
        """Type a line as hands do; on the way anything may come between."""
        self.pass_(1.0)
        number, saved = self.view().prompt.number, self.view().saved
        for character in text:
            await self.strike(character, gap_s=self.rng.uniform(0.09, 0.35), paint=self.rng.random() < 0.05)
            if self.gone:
                return
            if self.rng.random() < _INTERRUPTED * self.wild:
                careful = False
                await self.between()
                if self.gone or self.over or self.rng.random() < 0.5:
                    return
        view = self.view()
        careful = careful and self.app._bench.asking and view.prompt.number == number and view.prompt.entry != "nothing"
        if not enter:
            return
        late = self.rng.random() < _LATE
        await self.strike("enter", gap_s=self.rng.uniform(3.0, 9.5) if late else 0.2)
        if careful and text.strip() and self.view().danger.word not in NOT_TAKING:
            self.must(self.view().saved > saved, f"{text!r} was typed with care at {view.prompt.title!r}, and lost")

    async def wait(self, seconds: float) -> None:
        """Let a wait pass, watched; only its end is painted."""
        while seconds > 0:
            self.pass_(min(seconds, 8.0))
            self.session.tick()
            seconds -= 8.0
        self.app.show(self.session.view())
        await self.dealt_with()
        self.look()

    def text(self) -> str:
        """The right answer as text, a plain number where only waiting is due."""
        right = self.right()
        return right if isinstance(right, str) else "0.1"
