"""A document as data: a list of blocks, made once, that each writer puts into its own format.

Texts are as the builder typed them: a writer escapes whatever its format would read as its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from benchtui.plots.model import Plot, Strips


@dataclass(frozen=True)
class Heading:
    text: str
    level: int = 1


@dataclass(frozen=True)
class Paragraph:
    """Some sentences; a "caution" stands out, a "small" one is beside the matter."""

    text: str
    kind: Literal["plain", "caution", "small"] = "plain"


@dataclass(frozen=True)
class Bullets:
    """Sentences of equal rank."""

    texts: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """Rows under their `head`, all of the same length; `numbers` are the columns that line up at their right edge."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Picture:
    of: Plot | Strips


@dataclass(frozen=True)
class Code:
    """A file as it is, line by line."""

    text: str


Block = Heading | Paragraph | Bullets | Table | Picture | Code


@dataclass(frozen=True)
class Document:
    """`running` stands on every page, `marks` there too and loudly: what must never be overlooked. `sheet`: all of it
    belongs on one page."""

    title: str
    running: str
    blocks: tuple[Block, ...]
    marks: tuple[str, ...] = ()
    sheet: bool = False
