"""A panel of the chassis, drawn in characters, the opening that is worked on marked by its sign."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import Drawing
from benchtui.tui.drawing.block import block, line
from benchtui.tui.look import Look


def panel(drawing: Drawing, look: Look, height: int, width: int) -> Text:
    """The panel in at most `height` rows."""
    inks = look.inks
    by_role = {
        "present": inks.pin, "edge": inks.text, "bend": inks.accent, "behind": inks.quiet, "keep-out": inks.warn,
        "label": inks.strong, "legend": inks.quiet,
    }  # fmt: skip
    rows = drawing.lines(width - 2, height, plain=not look.utf8)
    drawn = [[(text, by_role.get(role, inks.text)) for text, role in row] for row in rows]
    return block([line((" ", ""), *row) for row in drawn], width)
