"""A document as one HTML file: styles and pictures are in it, nothing is fetched, and it prints as it shows."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from importlib.resources import files

from benchtui.papers.blocks import Block, Bullets, Code, Document, Heading, Paragraph, Picture, Table
from benchtui.plots.drawing import plot_drawing, strips_drawing, svg
from benchtui.plots.model import Plot
from benchtui.quantities.clean import clean


def html(document: Document, mark: str) -> str:
    """The whole file; `mark` says who wrote it. Raises ModuleNotFoundError without reportlab."""
    title, css = _text(document.title), files(__package__).joinpath("page.css").read_text("utf-8")
    lines = [
        "<!DOCTYPE html>", '<html lang="en">', "<head>", '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f'<meta name="generator" content="{_text(mark)}">', f"<title>{title}</title>",
        f"<style>\n{css}</style>", "</head>", f'<body class="{"sheet" if document.sheet else "report"}">',
        *(f'<p class="mark">{_text(each)}</p>' for each in document.marks),
        f"<h1>{title}</h1>",
    ]  # fmt: skip
    for number, block in enumerate(document.blocks):
        lines += _block(block, f"p{number}")
    return "\n".join([*lines, "</body>", "</html>", ""])


_LONGEST = 40
"""A word that is longer may be cut, such as a hash."""


def _block(block: Block, id: str) -> Iterator[str]:
    match block:
        case Heading(text, level):
            yield f"<h{level + 1}>{_text(text)}</h{level + 1}>"
        case Paragraph(text, kind):
            yield f'<p class="{kind}">{_text(text)}</p>'
        case Bullets(texts):
            yield "<ul>" + "".join(f"<li>{_text(text)}</li>" for text in texts) + "</ul>"
        case Table():
            yield from _table(block)
        case Picture(of):
            drawing = plot_drawing(of) if isinstance(of, Plot) else strips_drawing(of)
            notes = "".join(f"<p>{_text(note)}</p>" for note in of.notes)
            yield f"<figure><figcaption>{_text(of.title)}</figcaption>{svg(drawing, id)}{notes}</figure>"
        case Code(text):
            yield f"<pre>{chr(10).join(_text(line) for line in text.expandtabs(4).splitlines())}</pre>"


def _table(table: Table) -> Iterator[str]:
    def row(cells: tuple[str, ...], tag: str) -> str:
        shown = (_cell(tag, cell, number=k in table.numbers) for k, cell in enumerate(cells))
        return f"<tr>{''.join(shown)}</tr>"

    yield f'<div class="table"><table><thead>{row(table.head, "th")}</thead><tbody>'
    yield from (row(cells, "td") for cells in table.rows)
    yield "</tbody></table></div>"


def _cell(tag: str, cell: str, *, number: bool) -> str:
    long = max(map(len, cell.split()), default=0) > _LONGEST
    kind = ' class="w"' if long else ' class="n"' if number else ""
    return f"<{tag}{kind}>{_text(cell)}</{tag}>"


def _text(text: str) -> str:
    return escape(clean(text), quote=True)
