"""The page of suspects: what may be wrong when a reading is off, and where to read next."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import View
from benchtui.tui.drawing.block import block, line
from benchtui.tui.look import Look
from benchtui.tui.plain import wrapped

_NOTHING = "Nothing read so far is off. When a reading is, what may be wrong stands here, with what to read next."
_ABOUT = (
    "Computed from this build with each fault in it, for single faults; an aid. Power off and the gate come before "
    "anything inside."
)


def suspects(view: View, look: Look, width: int) -> Text:
    """Each suspect with its share and evidence, then the next reading and what it would mean."""
    inks, found, wide = look.inks, view.suspects, min(width, 102)
    drawn = [line((" What may be wrong ", inks.title)), Text("")]
    if found.trouble or not found.likely:
        drawn += _lines(found.trouble or _NOTHING, inks.text, look, 1, wide)
        return block(drawn, width)
    for each in found.likely:
        first, *rest = wrapped(look.words(each.says), wide - 10)
        drawn.append(line((f" {100.0 * each.share:4.0f} %  ", inks.accent), (first, inks.strong)))
        drawn += [line((" " * 9 + row, inks.strong)) for row in rest]
        for evidence in each.evidence:
            drawn += _lines(evidence, inks.quiet, look, 9, wide)
    if found.next:
        drawn += [Text(""), line((" Next ", inks.title))]
        drawn += _lines(f"{found.next.says}.", inks.strong, look, 1, wide)
        if found.next.kind == "ohms":
            drawn += _lines(f"red {found.next.red}, black {found.next.black}", inks.text, look, 1, wide)
        for outcome in found.next.outcomes:
            drawn += _lines(outcome, inks.text, look, 3, wide)
    return block([*drawn, Text(""), *_lines(_ABOUT, inks.quiet, look, 1, wide)], width)


def _lines(said: str, ink: str, look: Look, indent: int, width: int) -> list[Text]:
    return [line((" " * indent + row, ink)) for row in wrapped(look.words(said), width - indent - 1)]
