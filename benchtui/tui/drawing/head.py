"""The top of every screen: where one is, what is saved, and the state of danger."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import Danger, View
from benchtui.tui.drawing.block import block, filled, line, spread
from benchtui.tui.drawing.letters import letters
from benchtui.tui.look import Look
from benchtui.tui.plain import cut


def head(view: View, look: Look, big: bool, width: int) -> Text:
    """Build, stage, step and number saved on one line, the danger strip under it; three rows high if `big`.

    On top of a rehearsal its mark.
    """
    return block(
        [*mark(view.rehearsal, look, width), _place(view, look, width), *danger(view.danger, look, big, width)], width
    )


def mark(said: str, look: Look, width: int) -> list[Text]:
    """The mark of a rehearsal over the whole width, hatched so that it is no danger strip without colour either."""
    if not said:
        return []
    hatched = f"/// {cut(look.words(said), max(width - 8, 9), look.signs.ellipsis)} ".ljust(width, "/")
    return [line((hatched, look.inks.rehearsal))]


def _place(view: View, look: Look, width: int) -> Text:
    inks, words = look.inks, look.words
    loose = f"{len(view.loose)} loose   " if view.loose else ""
    right = line((loose, inks.warn), (f"saved #{view.saved} ", inks.quiet))
    where = line((f"   {words(view.stage)}", inks.text), (f"   {words(view.step)}", inks.quiet))
    build = cut(words(view.build), max(width - right.cell_len - where.cell_len - 2, 6), look.signs.ellipsis)
    left = Text("", no_wrap=True, end="").join([line((f" {build}", inks.strong)), where])
    return spread(left, right, width)


def danger(state: Danger, look: Look, big: bool, width: int) -> list[Text]:
    """The danger strip over the whole width: sign, word and what was measured; the word is never cut for the detail."""
    ink, sign = {
        "danger": (look.inks.danger, look.signs.live),
        "caution": (look.inks.caution, look.signs.care),
        "calm": (look.inks.calm, look.signs.calm),
    }[state.level]
    detail = look.words(state.detail)
    large = letters(state.word, look) if big else None
    if large is not None and len(large[0]) + len(detail) + 8 <= width:
        tails = ("", f"    {state.word}   {detail}", "")
        return [filled(line((f"  {row}", ""), (tail, "")), width, ink) for row, tail in zip(large, tails, strict=True)]
    room = width - len(state.word) - 7
    told = cut(detail, max(room, 0), look.signs.ellipsis)
    return [filled(line((f" {sign} {state.word}   ", ""), (told, "not bold")), width, ink)]
