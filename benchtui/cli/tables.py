"""Plain text for people: columns that line up, sentences that wrap."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

_WIDTH = 100
_GAP = "  "


def columns(head: Sequence[str], rows: Sequence[Sequence[str]], *, indent: int = 2) -> list[str]:
    """Lines of a table, each column as wide as its longest cell."""
    widths = [max(len(cell) for cell in column) for column in zip(head, *rows, strict=True)]
    return [
        " " * indent + _GAP.join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in (head, *rows)
    ]


def hanging(text: str, indent: str, *, width: int = _WIDTH) -> list[str]:
    """`text` wrapped behind `indent`, further lines under its first word."""
    return textwrap.wrap(
        text,
        width,
        initial_indent=indent,
        subsequent_indent=" " * len(indent),
        break_long_words=False,
        break_on_hyphens=False,
    )
