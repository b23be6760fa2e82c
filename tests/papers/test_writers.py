"""Names and notes are foreign text: in no format may they become markup, and no format may lose them."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pypdfium2
import pytest

from benchtui.papers.as_html import html
from benchtui.papers.as_markdown import markdown
from benchtui.papers.as_pdf import pdf
from benchtui.papers.blocks import Bullets, Code, Document, Heading, Paragraph, Picture, Table
from benchtui.plots.model import Axis, Mark, Plot, Series, Strip, Strips

HOSTILE = (
    "<script>alert(1)</script>", "a | b", "`code`", "[x](http://y)", "**bold** _it_", "# no heading", "&amp; &lt;",
    "]]> --> <!-- x", "<b>para</b> <font size=40>", "```", "1. no list", "\x1b[31m\u202e", "$(x) %s {y} \\",
)  # fmt: skip
MARK = "REHEARSAL: there was no amplifier"


def plot(title: str = "A plot") -> Plot:
    x, y = Axis("volts", "V", 0.0, 100.0), Axis("current", "mA", 1.0, 100.0, log=True)
    series = Series("curve", "computed", tuple((float(k), 1.0 + k) for k in range(90)), ".", "-5 V")
    return Plot(title, x, y, (series,), (Mark("point", "measured", 50.0, 30.0, "M"),), notes=(title,))


def paper(text: str, **settings: object) -> Document:
    rows = (("1", text), ("2", "plain"))
    strip = Strip(text, 5.0, 5.0, 4.0, 6.0, ("5.00 V", "4.00 to 6.00 V"))
    blocks = (
        Paragraph(text, "caution"), Heading(text), Paragraph(text), Bullets((text,)), Table(("#", text[:40]), rows),
        Picture(plot(text)), Picture(Strips(text, (strip,))), Code(text),
    )  # fmt: skip
    return Document(text, text, blocks, **settings)  # type: ignore[arg-type]


class Elements(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def handle_comment(self, data: str) -> None:
        self.tags.append("comment")


def parsed(text: str) -> Elements:
    found = Elements()
    found.feed(text)
    return found


@pytest.mark.parametrize("text", HOSTILE)
def test_html_has_the_same_elements_whatever_is_typed(text: str) -> None:
    made, plain = (parsed(html(paper(each), "mark")) for each in (text, "plain words"))
    assert made.tags == plain.tags
    if text.isprintable():
        assert "".join(made.words).count(text) >= 8


def test_html_fetches_nothing() -> None:
    text = html(paper("plain"), "mark")
    assert not re.search(r"(src|href)\s*=|@import|url\(", re.sub(r'url\(["\']?#|xmlns(:\w+)?="[^"]*"', "", text))


@pytest.mark.parametrize("text", HOSTILE)
def test_markdown_escapes_what_it_would_read_as_its_own(text: str) -> None:
    lines = markdown(paper(text)).splitlines()
    fence, inside = "", False
    for line in lines:
        if re.match("^```", line) and (not inside or line == fence):
            fence, inside = re.match("^`+", line)[0], not inside  # type: ignore[index]
            continue
        if inside:
            continue
        assert not line.startswith("# ") or line == lines[0]
        body = line.lstrip("#> -|").strip("* ")
        assert not re.search(r"(?<!\\)[<`\[\]]", body), line
        if line.startswith("| 1"):
            assert len(re.split(r"(?<!\\)\|", line)) == 4, line
    assert not inside


@pytest.mark.parametrize("text", HOSTILE)
def test_a_pdf_shows_what_was_typed_and_no_markup(text: str) -> None:
    made = pypdfium2.PdfDocument(pdf(paper(text), "mark"))
    shown = "".join(page.get_textpage().get_text_range() for page in made)
    words = re.findall(r"[a-z]{2,}", text) if text.isprintable() else ["U+001B"]
    assert all(word in shown for word in words)


@pytest.mark.parametrize("text", ["plain", "x " * 3000])
def test_a_mark_stands_on_every_page(text: str) -> None:
    made = pypdfium2.PdfDocument(pdf(paper(text, marks=(MARK,)), "mark"))
    assert all(MARK in page.get_textpage().get_text_range() for page in made)
    assert markdown(paper(text, marks=(MARK,))).count(MARK) == 2, "the title's and that of the only part"


def test_the_same_document_gives_the_same_bytes() -> None:
    assert pdf(paper("plain"), "mark") == pdf(paper("plain"), "mark")
    assert html(paper("plain"), "mark") == html(paper("plain"), "mark")


def test_no_table_runs_off_a_page_of_pdf() -> None:
    long = tuple((f"{'word ' * 30}{k}", "Q" * 90, "1.234 kohm") for k in range(40))
    made = pypdfium2.PdfDocument(pdf(Document("t", "t", (Table(("a", "b", "c"), long),)), "mark"))
    for page in made:
        text = page.get_textpage()
        right = max(text.get_charbox(k)[2] for k in range(text.count_chars()))
        assert right <= page.get_width() - 36


def test_a_sheet_shrinks_to_one_page() -> None:
    rows = tuple((str(k), "a test point", "100 V") for k in range(58))
    assert len(pypdfium2.PdfDocument(pdf(Document("t", "t", (Table(("a", "b", "c"), rows),)), "m"))) == 2
    assert len(pypdfium2.PdfDocument(pdf(Document("t", "t", (Table(("a", "b", "c"), rows),), sheet=True), "m"))) == 1
