"""The page of ohms: what shows a wiring slip, then every pin, then what no ohms show."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import ChartPage, ChartRow
from benchtui.tui.drawing.block import block, line
from benchtui.tui.look import Look
from benchtui.tui.plain import wrapped

_PLACE, _READS, _WINDOW = 30, 9, 20


def chart(page: ChartPage, look: Look, width: int) -> Text:
    """Rows of place, reading, window and note, each group under its heading."""
    inks = look.inks
    drawn = [line((" Ohms ", inks.title)), Text("")]
    for said in page.lines:
        drawn += _paragraph(said, look, width)
    for title, rows in page.groups:
        drawn += [Text(""), line((f" {look.words(title)}", inks.strong))]
        for row in rows:
            drawn += _row(row, look, width)
    if page.unseen:
        drawn += [Text(""), line((" No ohms show", inks.strong))]
        for said in page.unseen:
            drawn += _paragraph(said, look, width)
    return block(drawn, width)


def _row(row: ChartRow, look: Look, width: int) -> list[Text]:
    """One row; a place or a note that is too long goes on below."""
    inks = look.inks
    place = wrapped(look.words(row.place), _PLACE) or [""]
    note = wrapped(look.words(row.note), max(width - _PLACE - _READS - _WINDOW - 6, 12)) or [""]
    reads, window = look.words(row.reads), look.words(row.window)
    drawn = []
    for k in range(max(len(place), len(note))):
        cells = (place[k] if k < len(place) else "", reads if k == 0 else "", window if k == 0 else "")
        drawn.append(
            line(
                (f"  {cells[0]:<{_PLACE}} ", inks.text),
                (f"{cells[1]:<{_READS}} ", inks.strong),
                (f"{cells[2]:<{_WINDOW}} ", inks.quiet),
                (note[k] if k < len(note) else "", inks.quiet),
            )
        )
    return drawn


def _paragraph(said: str, look: Look, width: int) -> list[Text]:
    return [line((f" {row}", look.inks.text)) for row in wrapped(look.words(said), min(width - 2, 100))]
