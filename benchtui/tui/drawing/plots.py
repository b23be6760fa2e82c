"""The page of ratings and plots: sentences, then rows of ratings or a picture in characters."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import PlotPage, RatingRow
from benchtui.tui.drawing.block import block, line
from benchtui.tui.look import Look
from benchtui.tui.plain import cut, wrapped

_STANDING, _PART, _READS, _LIMIT, _MARGIN = 9, 8, 9, 12, 7

#: Rows of a page that a picture's field leaves to its heading, its axes, and the first of its legend.
_AROUND, _LEAST, _MOST = 10, 8, 30


def plots(page: PlotPage, look: Look, height: int, width: int) -> Text:
    """The chosen figure; a picture's field is as high as `height` rows allow, with its legend and notes below."""
    inks, figure = look.inks, page.figure
    head = line(
        (" Ratings and plots ", inks.title), (f"  {page.number} of {page.of} ", inks.quiet),
        (look.words(page.title), inks.strong), ("   up and down to choose", inks.quiet),
    )  # fmt: skip
    drawn = [head, Text("")]
    drawn += _sentences(figure.lines, look, width)
    if figure.rows:
        drawn += [Text(""), _headings(figure.heads, look, width)]
        for row in figure.rows:
            drawn += _row(row, look, width)
        drawn += [Text(""), *_sentences(figure.notes, look, width)]
    if figure.drawing is not None:
        field = max(_LEAST, min(height - _AROUND, _MOST))
        rows = figure.drawing.lines(max(width - 2, 40), field, plain=not look.utf8)
        drawn += [_of_picture(row, look) for row in rows]
    return block(drawn, width)


def _sentences(said: tuple[str, ...], look: Look, width: int) -> list[Text]:
    rows = (row for each in said for row in wrapped(look.words(each), min(width - 2, 100)))
    return [line((f" {row}", look.inks.text)) for row in rows]


def _of_picture(row: list[tuple[str, str]], look: Look) -> Text:
    inks = look.inks
    by = {
        "measured": inks.warn, "computed": inks.text, "rating": inks.bad, "axis": inks.quiet, "label": inks.accent,
        "title": inks.strong, "text": inks.text,
    }  # fmt: skip
    return line((" ", ""), *((text, by.get(what, inks.text)) for text, what in row))


def _what(width: int) -> int:
    """Cells for what is rated."""
    return max(min(width - _STANDING - _PART - 2 * _READS - _LIMIT - _MARGIN - 8, 30), 8)


def _headings(heads: tuple[str, str], look: Look, width: int) -> Text:
    here, high = map(look.words, heads)
    said = (
        f" {'':<{_STANDING}} {'Part':<{_PART}} {'What':<{_what(width)}} {here:>{_READS}} {high:>{_READS}} "
        f"{'Rating':<{_LIMIT}} {'Margin':>{_MARGIN}}"
    )
    return line((said, look.inks.quiet))


def _row(row: RatingRow, look: Look, width: int) -> list[Text]:
    """A rating with its word and sign first; where it is not within, its source below."""
    inks, signs = look.inks, look.signs
    sign, ink = {
        "within": (signs.passes, inks.good),
        "close": (signs.warns, inks.warn),
        "past": (signs.stops, inks.bad),
        "unknown": (signs.unproved, inks.unproved),
    }[row.standing]
    first, *rest = wrapped(look.words(row.what), _what(width))
    part = cut(look.words(row.part), _PART, signs.ellipsis)
    drawn = [
        line(
            (f" {sign} {row.standing:<{_STANDING - 2}}", ink),
            (f" {part:<{_PART}} {first:<{_what(width)}} ", inks.text),
            (f"{look.words(row.here):>{_READS}} {look.words(row.high):>{_READS}} ", inks.strong),
            (f"{look.words(row.limit):<{_LIMIT}} ", inks.text),
            (f"{look.words(row.margin):>{_MARGIN}}", ink),
        )
    ]
    indent = " " * (_STANDING + _PART + 3)
    drawn += [line((f"{indent}{more}", inks.text)) for more in rest]
    if row.standing != "within":
        said = wrapped(look.words(f"rating: {row.source}"), max(width - len(indent) - 2, 20))
        drawn += [line((f"{indent}{more}", inks.quiet)) for more in said]
    return drawn
