"""Lines of text put together into a block that fits a width."""

from __future__ import annotations

from collections.abc import Iterable

from rich.cells import cell_len
from rich.text import Text


def line(*parts: tuple[str, str]) -> Text:
    """One line of (words, style) parts; the words are shown as they are, never read as markup."""
    made = Text(no_wrap=True, end="")
    for said, style in parts:
        made.append(said, style)
    return made


def block(lines: Iterable[Text], width: int) -> Text:
    """`lines` one under the other, each cut at `width` cells so that none wraps."""
    made = list(lines)
    for one in made:
        one.truncate(max(width, 0), overflow="crop")
    joined = Text("\n", no_wrap=True, end="").join(made)
    joined.no_wrap = True
    return joined


def spread(left: Text, right: Text, width: int, style: str = "") -> Text:
    """`left` and `right` at the two ends of a line of `width` cells; the left one is cut where both don't fit."""
    room = width - right.cell_len
    kept = left.copy()
    if kept.cell_len > room - 1:
        kept.truncate(max(room - 1, 0), overflow="ellipsis" if room > 4 else "crop")
    gap = Text(" " * max(room - kept.cell_len, 0), style)
    return Text("", no_wrap=True, end="").join([kept, gap, right])


def filled(one: Text, width: int, style: str) -> Text:
    """`one` padded with blanks to `width` cells and laid on `style`, its own styles on top."""
    padded = one.copy()
    padded.append(" " * max(width - one.cell_len, 0))
    padded.stylize_before(style)
    return padded


def rows(drawn: Text) -> int:
    """How many lines a block has; an empty one has none."""
    return drawn.plain.count("\n") + 1 if drawn.plain else 0


def centred_at(said: str, column: int, width: int) -> int:
    """The column at which `said` begins when centred on `column` and kept inside `width`."""
    length = cell_len(said)
    return max(0, min(column - length // 2, width - length))
