"""Label, field and echo on one line, and under them the hint or what is to be said of the last keys."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical

from benchtui.tui.drawing.block import block, line
from benchtui.tui.look import Look
from benchtui.tui.plain import cut
from benchtui.tui.widgets.entry import Entry
from benchtui.tui.widgets.picture import Picture


def _label(said: str, look: Look, width: int) -> Text:
    label = line((f" {look.words(said)} ", look.inks.strong), (f"{look.signs.prompt} ", look.inks.accent))
    return block([label], width)


def _echo(unit: str, understood: str, clear: bool, look: Look, width: int) -> Text:
    ink = look.inks.accent if clear else look.inks.warn
    said = cut(look.words(understood), width - len(unit) - 5, look.signs.ellipsis)
    return block([line((f" {look.words(unit)}", look.inks.text), ("   " if unit else "", ""), (said, ink))], width)


def _hint(words: tuple[str, ...], said: str, loud: bool, look: Look, width: int) -> Text:
    inks = look.inks
    parts = [("type ", inks.text), *((f"  {look.words(word)}", inks.accent) for word in words), ("     ", "")]
    told = cut(look.words(said), width - 2, look.signs.ellipsis)
    return block([line((" ", ""), *(parts if words else ()), (told, inks.warn if loud else inks.quiet))], width)


class Field(Vertical):
    """A field with its words around; knows nothing of what is asked."""

    def __init__(self, *, id: str, look: Look) -> None:
        super().__init__(id=id)
        self._look = look
        self.entry = Entry(id=f"{id}-entry")
        self._label = Picture(id=f"{id}-label")
        self._echo = Picture(id=f"{id}-echo")
        self._hint = Picture(id=f"{id}-hint")

    def compose(self) -> ComposeResult:
        with Horizontal():
            yield self._label
            yield self.entry
            yield self._echo
        yield self._hint

    def label(self, said: str, *, long: bool) -> None:
        """The word in front of the field, and whether the field takes the whole width."""
        self._label.show(_label, said, self._look)
        self.set_class(long, "-long")

    def echo(self, unit: str, understood: str, *, clear: bool) -> None:
        """The unit behind the field and what is understood of the line so far."""
        self._echo.show(_echo, unit, understood, clear, self._look)

    def hint(self, said: str, *, words: tuple[str, ...] = (), loud: bool = False) -> None:
        """The line under the field: the words that may be typed, and what is said besides."""
        self._hint.show(_hint, words, said, loud, self._look)
