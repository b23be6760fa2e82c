"""Where the probes go, what the meter is set to, and in a rehearsal what it shows."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import Probes
from benchtui.tui.drawing.block import block, line
from benchtui.tui.look import Look
from benchtui.tui.plain import wrapped

_NAME_WIDTH = 9


def meter(seen: tuple[str, ...], look: Look, width: int) -> Text:
    """What a rehearsal's meter shows, or what is to be seen, the first line the loudest."""
    drawn = []
    for number, said in enumerate(seen):
        ink = look.inks.meter if number == 0 else look.inks.text
        drawn += [line((f" {row}", ink)) for row in wrapped(look.words(said), width - 2)]
    return block(drawn, width)


def probes(where: Probes | None, look: Look, width: int) -> Text:
    """Red, black, meter and hand, each with its name in front; one that has no words has no row."""
    if where is None:
        return Text("")
    inks = look.inks
    drawn = []
    for name, ink, said in (
        ("red", inks.bad, where.red),
        ("black", inks.strong, where.black),
        ("meter", inks.accent, where.meter),
        ("hand", inks.accent, where.hand),
    ):
        for number, row in enumerate(wrapped(look.words(said), width - _NAME_WIDTH - 1) if said else ()):
            drawn.append(line((f" {name if number == 0 else '':<{_NAME_WIDTH - 1}}", ink), (row, inks.text)))
    return block(drawn, width)
