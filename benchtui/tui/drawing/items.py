"""The list that the present prompt belongs to, each item with its mark."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import ItemMark
from benchtui.tui.drawing.block import block, line
from benchtui.tui.look import Look
from benchtui.tui.plain import cut


def items(marks: tuple[ItemMark, ...], look: Look, height: int, width: int) -> Text:
    """Every item on a line of its own; where `height` is too small, those about the present one."""
    drawn = [_item(mark, look, width) for mark in marks]
    if len(drawn) <= height:
        return block(drawn, width)
    now = next((n for n, mark in enumerate(marks) if mark.state == "now"), 0)
    room = max(height - 2, 1)
    first = max(0, min(now - room // 2, len(drawn) - room))
    below = len(drawn) - first - room
    shown = drawn[first : first + room]
    if first:
        shown = [line((f"   {first} above", look.inks.quiet)), *shown]
    if below:
        shown = [*shown, line((f"   {below} below", look.inks.quiet))]
    return block(shown, width)


def _item(mark: ItemMark, look: Look, width: int) -> Text:
    inks, signs = look.inks, look.signs
    sign, ink, words_ink = {
        "done": (signs.done, inks.good, inks.quiet),
        "warned": (signs.warned, inks.warn, inks.quiet),
        "not measured": (signs.unproved, inks.unproved, inks.quiet),
        "now": (signs.now, inks.accent, inks.strong),
        "open": (signs.open, inks.quiet, inks.text),
    }[mark.state]
    said = cut(look.words(mark.text), width - 3, signs.ellipsis)
    detail = cut(look.words(mark.detail), width - len(said) - 5, signs.ellipsis) if mark.detail else ""
    return line((f" {sign} ", ink), (said, words_ink), (f"  {detail}", inks.quiet))
