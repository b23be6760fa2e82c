"""A document as Markdown that reads as well in a terminal of 80 columns as rendered.

A cell that is too long goes on in the row below, whose other cells are empty, so that no line is wider than the page.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence

from benchtui.papers.blocks import Block, Bullets, Code, Document, Heading, Paragraph, Picture, Table
from benchtui.plots.model import Plot
from benchtui.plots.text import plot_lines, strip_lines
from benchtui.quantities.clean import clean

WIDTH = 80

#: What Markdown, or the HTML in it, would read as its own.
_SPECIAL = re.compile(r"([\\`*\[\]<>|~&]|(?<![^\W_])_|_(?![^\W_]))")
_LEADING = re.compile(r"^(\s*)([+-](?=\s|$)|#+(?=\s|$)|[=-]+$)")
_NUMBERED = re.compile(r"^(\s*\d+)([.)])(?=\s|$)")


def markdown(document: Document) -> str:
    """The whole document, without a line end at its end."""
    lines = [f"# {escaped(document.title)}", ""]
    for mark in document.marks:
        lines += [*_wrapped(f"**{escaped(mark)}**", ""), ""]
    for block in document.blocks:
        lines += [*_block(block, document.marks), ""]
    return "\n".join(lines[:-1])


def escaped(text: str) -> str:
    """Foreign text on one line that Markdown shows as it is."""
    return _begun(_in_line(text))


def _in_line(text: str) -> str:
    return _SPECIAL.sub(r"\\\1", clean(text))


def _begun(line: str) -> str:
    """A line that begins no list, heading or rule."""
    return _NUMBERED.sub(r"\1\\\2", _LEADING.sub(r"\1\\\2", line))


def _block(block: Block, marks: Sequence[str]) -> Iterator[str]:
    match block:
        case Heading(text, level):
            yield f"{'#' * (level + 1)} {escaped(text)}"
            if level == 1:
                for mark in marks:  # Markdown has no pages: each part carries what a page would
                    yield from ("", *_wrapped(f"**{escaped(mark)}**", ""))
        case Paragraph(text, "caution"):
            yield from (f"> {line}" for line in _wrapped(f"**{escaped(text)}**", "", WIDTH - 2))
        case Paragraph(text):
            yield from _wrapped(escaped(text), "")
        case Bullets(texts):
            for text in texts:
                yield from _wrapped(escaped(text), "- ")
        case Table():
            yield from table_lines(block)
        case Picture(of):
            yield from _fenced(plot_lines(of) if isinstance(of, Plot) else strip_lines(of))
        case Code(text):
            yield from _fenced([clean(line) for line in text.expandtabs(4).splitlines()])


def table_lines(table: Table) -> Iterator[str]:
    """A table with pipes, at most 80 wide where its longest words let it."""
    rows = [tuple(_in_line(cell) for cell in row) for row in (table.head, *table.rows)]
    widths = _widths(rows)
    head, *body = rows
    yield from _row(head, widths, table.numbers)
    yield (
        "|"
        + "|".join(
            f" {'-' * (width - 1)}: " if k in table.numbers else f" {'-' * width} " for k, width in enumerate(widths)
        )
        + "|"
    )
    for row in body:
        yield from _row(row, widths, table.numbers)


def _widths(rows: Sequence[Sequence[str]]) -> list[int]:
    """Widths of the columns: as wide as their cells; what is too much for a page goes where it costs few lines."""
    wide = [max(3, *map(len, column)) for column in zip(*rows, strict=True)]
    words = [[len(w) for cell in column for w in cell.split()] for column in zip(*rows, strict=True)]
    heads = map(len, rows[0])  # a head has one line in Markdown
    least = [max(3, head, min(max(lengths, default=3), _LONGEST)) for head, lengths in zip(heads, words, strict=True)]
    least[0] = max(least[0], min(wide[0], _LONGEST))  # what stands first tells rows from lines that go on
    for _ in range(sum(wide) + 3 * len(wide) + 1 - WIDTH):
        tried = [(_lines(rows, wide, k), -w, k) for k, w in enumerate(wide) if w > least[k]]
        if not tried:
            break
        wide[min(tried)[2]] -= 1
    return wide


_LONGEST = 26
"""A word that is longer may be cut, such as a hash."""


def _lines(rows: Sequence[Sequence[str]], wide: Sequence[int], narrower: int) -> int:
    """About how many lines the rows take with one column narrower by a character."""
    widths = [w - (k == narrower) for k, w in enumerate(wide)]
    return sum(max(-(-len(cell) // w) for cell, w in zip(row, widths, strict=True)) for row in rows)


def _row(cells: Sequence[str], widths: Sequence[int], numbers: frozenset[int]) -> Iterator[str]:
    parts = [_cell(cell, width) for cell, width in zip(cells, widths, strict=True)]
    for k in range(max(map(len, parts))):
        shown = [part[k] if k < len(part) else "" for part in parts]
        padded = [
            cell.rjust(width) if n in numbers else cell.ljust(width)
            for n, (cell, width) in enumerate(zip(shown, widths, strict=True))
        ]
        yield f"| {' | '.join(padded)} |"


def _cell(cell: str, width: int) -> list[str]:
    """Lines of a cell, none of which ends in the middle of an escape."""
    found: list[str] = []
    for line in textwrap.wrap(cell, width, break_long_words=False, break_on_hyphens=False) or [""]:
        while len(line) > width:
            cut = width - (len(line[:width]) - len(line[:width].rstrip("\\"))) % 2
            found.append(line[:cut])
            line = line[cut:]
        found.append(line)
    return found


def _wrapped(text: str, lead: str, width: int = WIDTH) -> list[str]:
    lines = textwrap.wrap(
        text, width, initial_indent=lead, subsequent_indent=" " * len(lead), break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip
    return [lines[0], *map(_begun, lines[1:])] if lines else [""]


def _fenced(lines: Sequence[str]) -> list[str]:
    """Lines as they are, behind a fence that none of them closes."""
    longest = max((len(run) for line in lines for run in re.findall("`+", line)), default=0)
    fence = "`" * max(3, longest + 1)
    return [f"{fence}text", *lines, fence]
