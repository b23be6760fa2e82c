"""The one way in which foreign text (build file, readings, record, errors) reaches the screen."""

from __future__ import annotations

from rich.cells import cell_len, chop_cells, set_cell_size
from rich.text import Text

from benchtui.quantities.clean import clean

_ASCII = str.maketrans({
    "\u03a9": "ohm", "\u03bc": "u", "\u00b5": "u", "\u00b0": "deg", "\u00b1": "+-", "\u2212": "-", "\u2013": "-",
    "\u2026": "...", "\u00d7": "x", "\u2264": "<=", "\u2265": ">=", "\u2248": "~",
})  # fmt: skip


def words(text: str, *, ascii_only: bool = False) -> str:
    """`text` on one line, cleaned of control and direction characters; in ASCII with stand-ins where asked."""
    shown = clean(text)
    return shown.translate(_ASCII).encode("ascii", "replace").decode() if ascii_only else shown


def plain(text: str, style: str = "", *, ascii_only: bool = False) -> Text:
    """`text` cleaned, as rich text whose markup is never parsed: `[R12]` and `[/]` stay as typed."""
    return Text(words(text, ascii_only=ascii_only), style=style, no_wrap=True, end="")


def wrapped(text: str, width: int) -> list[str]:
    """`text` in lines of at most `width` cells, broken at blanks, longer words broken anywhere."""
    width = max(width, 2)
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        if line and cell_len(line) + 1 + cell_len(word) <= width:
            line = f"{line} {word}"
            continue
        if line:
            lines.append(line)
        *full, line = chop_cells(word, width) or [""]
        lines.extend(full)
    return [*lines, line] if line or not lines else lines


def cut(text: str, width: int, ellipsis: str = "...") -> str:
    """`text` in at most `width` cells, with an ellipsis where something is left out."""
    if cell_len(text) <= width:
        return text
    room = width - cell_len(ellipsis)
    return set_cell_size(text, room).rstrip() + ellipsis if room > 0 else set_cell_size(text, max(width, 0))
