"""Every figure of the report is in the record, the build file or the forecast; every reading of the record is in it.

Tables are read back from the Markdown, and the record's lines as JSON: neither goes through the code that wrote them.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from benchtui.assemble.checked import load_checked
from benchtui.forecast.gate import gate_forecast
from benchtui.forecast.margins import margins
from benchtui.papers.as_markdown import markdown
from benchtui.papers.blocks import Document
from tests.papers.walked import NAME

_PREFIX = {"": 1.0, "m": 1e-3, "µ": 1e-6, "k": 1e3, "M": 1e6}
_NUMBER = re.compile(r"(-?\d+(?:\.\d+)?) ?(m|µ|k|M)?(V|A|W|Ω|F|s)?\b")


@pytest.fixture(scope="module")
def events(folder: Path) -> list[dict]:
    return [json.loads(line) for line in (folder / f"{NAME}.bench").read_text("ascii").splitlines()]


@pytest.fixture(scope="module")
def text(document: Document) -> str:
    return markdown(document)


def tables(text: str) -> list[tuple[str, list[str], list[list[str]]]]:
    """(Heading above, head, rows) of each table, rows that go on below put together again."""
    found, heading, lines = [], "", [*text.splitlines(), ""]
    k = 0
    while k < len(lines):
        if lines[k].startswith("#"):
            heading = lines[k].lstrip("# ")
        if lines[k].startswith("|"):
            block = []
            while lines[k].startswith("|"):
                block.append([re.sub(r"\\(.)", r"\1", c).strip() for c in re.split(r"(?<!\\)\|", lines[k])[1:-1]])
                k += 1
            rule = next(n for n, row in enumerate(block) if all(re.fullmatch(r":?-+:?", c) for c in row))
            assert rule == 1, "a head is one line, or it is no table in Markdown"
            head = block[0]
            rows: list[list[str]] = []
            for row in block[rule + 1 :]:
                if row[0] or not rows:
                    rows.append(row)
                else:
                    rows[-1] = [" ".join(filter(None, pair)) for pair in zip(rows[-1], row, strict=True)]
            found.append((heading, head, rows))
        k += 1
    return found


def figures(cell: str) -> list[tuple[float, float]]:
    """(SI value, half of the last digit shown) of each number in a cell; a unit at the end counts for all."""
    last = [(m[2], m[3]) for m in _NUMBER.finditer(cell) if m[3]]
    prefix = last[-1][0] or "" if last else ""
    found = []
    for m in _NUMBER.finditer(cell):
        scale = _PREFIX[(m[2] or "") if m[3] else prefix]
        decimals = len(m[1].partition(".")[2])
        found.append((float(m[1]) * scale, 0.5000001 * 10.0**-decimals * scale))
    return found


def fits(cell: str, value: float | str) -> bool:
    """Whether the only number of a cell is `value` rounded."""
    value = float(value)
    if value in (float("inf"), float("-inf")) or value != value:
        return cell in ("open", "-")
    ((shown, half),) = figures(cell)
    return abs(shown - value) <= half and (shown != 0 or abs(value) < 1e-3)


def read_rows(text: str) -> dict[int, list[str]]:
    """Entry number = row, of all tables of readings."""
    return {int(row[0]): row for _, head, rows in tables(text) if "Measured" in head and head[0] == "#" for row in rows}


def test_every_reading_of_the_record_is_in_the_report_and_no_other(text: str, events: list[dict]) -> None:
    kinds = ("reading ", "mains read", "trim ", "capacitor ")
    assert read_rows(text).keys() == {event["n"] for event in events if event["kind"].startswith(kinds)}
    assert len(read_rows(text)) > 100


def test_each_row_says_what_its_entry_says(text: str, events: list[dict]) -> None:
    for event in events:
        row, data = read_rows_of(text).get(event["n"]), event["data"]
        if row is None or not event["kind"].startswith("reading "):
            continue
        _, _, _, measured, nominal, window, verdict = row
        typed = measured.partition(" = ")[0].removesuffix("Ω").removesuffix("V").strip()
        assert typed == data["text"]
        shown = measured.rpartition(" = ")[2]
        assert fits(shown, data["value"]) or float(data["value"]) == float("inf")
        assert fits(nominal, data["nominal"]), (row, data)
        ends = [float(data[key]) for key in ("low", "high")]
        if event["kind"] != "reading watched":
            assert window == "-" or windowed(window, *ends), (row, data)
        word = {"reading passed": "pass", "reading unproved": "not measured", "reading watched": "watched"}
        assert word[event["kind"]] in verdict


def windowed(cell: str, low: float, high: float) -> bool:
    found = figures(cell)
    ends = [end for end in (max(low, 0.0) if "Ω" in cell else low, high) if abs(end) != float("inf")]
    return len(found) == len(ends) and all(
        abs(shown - end) <= half for (shown, half), end in zip(found, ends, strict=True)
    )


_KNOWN: dict[str, dict[int, list[str]]] = {}


def read_rows_of(text: str) -> dict[int, list[str]]:
    return _KNOWN.setdefault(text, read_rows(text))


def test_it_says_that_it_was_finished_with_its_cover_on(text: str, events: list[dict]) -> None:
    assert events[-1]["kind"] == "finished shut"
    assert re.search(r"^- Finished 2023-\d\d-\d\d \d\d:\d\d, its cover on, ", text, re.MULTILINE)


def test_every_entry_of_the_record_is_told(text: str, events: list[dict]) -> None:
    told = {int(row[0]) for _, head, rows in tables(text) if head[0] == "#" for row in rows}
    assert told == {event["n"] for event in events}


def test_ratings_and_charges_are_those_of_the_forecast(text: str, folder: Path, events: list[dict]) -> None:
    build = load_checked(folder / f"{NAME}.toml").build
    read = [event["data"]["value_v"] for event in events if event["kind"] == "mains read"]
    due = margins(build, read[-1])
    head, rows = next((head, rows) for _, head, rows in tables(text) if "Margin" in head)
    assert head[2:4] == [f"At {read[-1]:g} V", f"At {1.1 * read[-1]:g} V"] and len(rows) == len(due)
    for (part, what, here, high, rating, margin, standing, letter), of in zip(rows, due, strict=True):
        assert (part, what, standing) == (of.part, of.quantity, of.standing)
        assert fits(here, of.here) and fits(high, of.high) and fits(rating.partition(" +-")[0], of.limit)
        assert 0.0 <= of.share - int(margin.removesuffix(" %")) / 100 < 0.01
        assert f"({letter}) {of.source}" in " ".join(text.split())
    gate = gate_forecast(build, "driver")
    held = next(rows for _, head, rows in tables(text) if head[0] == "Reservoir")
    assert [row[0].split() for row in held] == [list(each.parts) for each in gate.reservoirs]
    assert all(fits(row[2], each.highest_v) for row, each in zip(held, gate.reservoirs, strict=True))


def test_the_build_file_stands_at_the_end_as_it_is(text: str, folder: Path) -> None:
    *_, code = re.findall(r"^(```+)text\n(.*?)\n\1$", text, re.DOTALL | re.MULTILINE)
    assert code[1] == (folder / f"{NAME}.toml").read_text("utf-8").rstrip("\n")


def test_no_line_is_wider_than_a_terminal_but_those_of_the_build_file(text: str) -> None:
    before = text[: text.index("## The build file")]
    assert [line for line in before.splitlines() if len(line) > 80] == []


def test_the_same_record_gives_the_same_report(told, document: Document) -> None:
    from benchtui.papers.report import report

    assert report(told, "the program") == document
