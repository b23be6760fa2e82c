"""A document as PDF: A4 pages, headings that stay with what follows, tables that repeat their head."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from html import escape
from io import BytesIO
from typing import Any

from benchtui.papers.blocks import Block, Bullets, Code, Document, Heading, Paragraph, Picture, Table
from benchtui.plots.drawing import WIDTH as DRAWN
from benchtui.plots.drawing import plot_drawing, strips_drawing
from benchtui.plots.model import Plot
from benchtui.quantities.letters import western

_MARGIN, _FOOT = 42.0, 30.0

_TOP_OF_SHEET = 26.0
"""A sheet begins higher and ends lower: it is one page."""

_PAGE = (595.28, 841.89)
_TEXT = _PAGE[0] - 2 * _MARGIN - 12.0

_SCALES = (1.0, 0.92, 0.85, 0.78, 0.72, 0.66, 0.62)
"""How far the letters of a sheet may shrink, so that it is one page; below that it is two."""

_FONT, _BOLD, _MONO = "Helvetica", "Helvetica-Bold", "Courier"
_CODE_COLUMNS = 105


def pdf(document: Document, mark: str) -> bytes:
    """The whole file; `mark` says who wrote it. The same document gives the same bytes.

    Raises ModuleNotFoundError without reportlab.
    """
    made = b""
    for scale in _SCALES if document.sheet else (1.0,):
        made, pages = _built(document, mark, scale)
        if pages == 1:
            break
    return made


def _built(document: Document, mark: str, scale: float) -> tuple[bytes, int]:
    from reportlab.platypus import SimpleDocTemplate

    out = BytesIO()
    top = (_TOP_OF_SHEET if document.sheet else _MARGIN) + 14.0 * len(document.marks)
    bottom = _FOOT + (10.0 if document.sheet else _MARGIN - _FOOT / 2)
    made = SimpleDocTemplate(
        out, pagesize=_PAGE, leftMargin=_MARGIN, rightMargin=_MARGIN, topMargin=top, bottomMargin=bottom,
        title=western(document.title), creator=mark, author="",
        invariant=1, pageCompression=1,
    )  # fmt: skip
    frame = partial(_frame, document)
    made.build(list(_story(document, scale)), onFirstPage=frame, onLaterPages=frame)
    return out.getvalue(), made.page


def _frame(document: Document, canvas: Any, made: Any) -> None:
    """What stands on every page: the marks on top, name and number below."""
    canvas.saveState()
    for number, mark in enumerate(document.marks):
        canvas.setFont(_BOLD, 10)
        above = _TOP_OF_SHEET if document.sheet else _MARGIN
        canvas.drawCentredString(_PAGE[0] / 2, _PAGE[1] - above + 6 - 14.0 * number, western(mark))
    canvas.setFont(_FONT, 8)
    canvas.drawString(_MARGIN, _FOOT, western(document.running)[:100])
    canvas.drawRightString(_PAGE[0] - _MARGIN, _FOOT, f"page {made.page}")
    canvas.restoreState()


def _story(document: Document, scale: float) -> Iterator[Any]:
    """All that flows, headings kept with what follows: a picture is a group already, so they go into it."""
    from reportlab.platypus import KeepTogether

    yield _words(document.title, _BOLD, 17 * scale, after=8 * scale)
    headings: list[Any] = []
    for block in document.blocks:
        made = list(_block(block, scale))
        if isinstance(block, Heading):
            headings += made
            continue
        if isinstance(block, Picture):
            yield KeepTogether([*headings, *made])
        else:
            yield from (*headings, *made)
        headings = []
    yield from headings


def _block(block: Block, scale: float) -> Iterator[Any]:
    from reportlab.platypus import Spacer

    size = 9.5 * scale
    match block:
        case Heading(text, level):
            before = (14 if level == 1 else 9) * scale
            yield _words(text, _BOLD, (13 if level == 1 else 10.5) * scale, before=before, after=3 * scale, keep=True)
        case Paragraph(text, "caution"):
            yield _words(text, _BOLD, size, before=5 * scale, after=12 * scale, boxed=True)
        case Paragraph(text, kind):
            keep = text.endswith(":")
            yield _words(text, _FONT, size * (0.88 if kind == "small" else 1.0), after=4 * scale, keep=keep)
        case Bullets(texts):
            for text in texts:
                yield _words(text, _FONT, size, after=2 * scale, bullet=True)
            yield Spacer(1, 3 * scale)
        case Table():
            yield _table(block, 8.0 * scale)
            yield Spacer(1, 6 * scale)
        case Picture(of):
            drawing = plot_drawing(of) if isinstance(of, Plot) else strips_drawing(of)
            drawing.hAlign = "LEFT"
            drawing.renderScale = min(1.0, _TEXT / DRAWN)
            notes = [_words(note, _FONT, 8 * scale, after=1) for note in of.notes]
            yield from (_words(of.title, _BOLD, size, before=6, after=3), drawing, *notes, Spacer(1, 8))
        case Code(text):
            yield from _code(text)


def _words(
    text: str, font: str, size: float, *, before: float = 0.0, after: float = 0.0, keep: bool = False,
    boxed: bool = False, bullet: bool = False, right: bool = False,
) -> Any:  # fmt: skip
    """A paragraph of foreign text: its markup is escaped, its letters are those that every reader has."""
    from reportlab.lib.enums import TA_LEFT, TA_RIGHT
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph as Flowing

    style = ParagraphStyle(
        "words", fontName=font, fontSize=size, leading=1.25 * size, spaceBefore=before, spaceAfter=after,
        keepWithNext=keep, alignment=TA_RIGHT if right else TA_LEFT, splitLongWords=1,
        borderWidth=1.2 if boxed else 0, borderPadding=5 if boxed else 0, borderColor="black" if boxed else None,
        leftIndent=10 if bullet else 0, bulletIndent=0,
    )  # fmt: skip
    return Flowing(escape(western(text), quote=False), style, bulletText="-" if bullet else None)


def _table(table: Table, size: float) -> Any:
    from reportlab.platypus import Table as Grid

    cells = [
        [_words(cell, _BOLD if not n else _FONT, size, right=k in table.numbers) for k, cell in enumerate(row)]
        for n, row in enumerate((table.head, *table.rows))
    ]
    grid = Grid(cells, colWidths=_widths(table, size), repeatRows=1, hAlign="LEFT", splitInRow=1)
    pad = 0.2 * size
    grid.setStyle([
        ("VALIGN", (0, 0), (-1, -1), "TOP"), ("LINEBELOW", (0, 0), (-1, 0), 0.8, "black"),
        ("LINEBELOW", (0, 1), (-1, -1), 0.25, "grey"), ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 5), ("TOPPADDING", (0, 0), (-1, -1), pad),
        ("BOTTOMPADDING", (0, 0), (-1, -1), pad),
    ])  # fmt: skip
    return grid


def _widths(table: Table, size: float) -> list[float]:
    """Widths that fill the page at most: as wide as the cells, else the widest give way down to their longest word."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    def wide(text: str) -> float:
        return stringWidth(western(text), _BOLD, size) + 9.5

    columns = list(zip(table.head, *table.rows, strict=True))
    wanted = [max(map(wide, column)) for column in columns]
    least = [min(max(wide(w) for cell in column for w in (cell.split() or [""])), _TEXT / 3) for column in columns]
    over = sum(wanted) - _TEXT
    while over > 0.5:
        room = [(w, k) for k, w in enumerate(wanted) if w > least[k] + 0.5]
        if not room:
            return [w * _TEXT / sum(wanted) for w in wanted]
        widest = max(room)[1]
        step = min(over, 4.0, wanted[widest] - least[widest])
        wanted[widest] -= step
        over -= step
    return wanted


def _code(text: str) -> Iterator[Any]:
    """A file line by line, long lines going on below, in pieces that a page can break between."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Preformatted

    style = ParagraphStyle("code", fontName=_MONO, fontSize=7.2, leading=8.6)
    lines = [piece for line in text.expandtabs(4).splitlines() for piece in _pieces(western(line))]
    for start in range(0, len(lines), 40):
        yield Preformatted("\n".join(lines[start : start + 40]), style)


def _pieces(line: str) -> Sequence[str]:
    step = _CODE_COLUMNS
    return [line[k : k + step] if not k else f"    {line[k : k + step]}" for k in range(0, max(len(line), 1), step)]
