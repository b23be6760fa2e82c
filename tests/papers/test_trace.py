"""Every figure of the report is in the record, the build file or the forecast; every reading of the record is in it.

Tables are read back from the Markdown, and the record's lines as JSON: neither goes through the code that wrote them.
"""

from __future__ import annotations

import json
import math
import re
from functools import lru_cache
from pathlib import Path

import pytest

from benchtui.assemble.checked import load_checked
from benchtui.forecast.gate import gate_forecast
from benchtui.forecast.margins import margins
from benchtui.papers.as_markdown import markdown
from benchtui.papers.blocks import Document, Picture
from benchtui.plots.model import Plot
from tests.builds.recorded import BUILDS
from tests.papers.walked import NAME

_PREFIX = {"": 1.0, "m": 1e-3, "µ": 1e-6, "k": 1e3, "M": 1e6}
_NUMBER = re.compile(r"(-?\d+(?:\.\d+)?) ?(m|µ|k|M)?(V|A|W|Ω|F|s)?\b")


@pytest.fixture(scope="module")
def events(folder: Path) -> list[dict]:
    return [json.loads(line) for line in (folder / f"{NAME}.bench").read_text("ascii").splitlines()]


@pytest.fixture(scope="module")
def text(document: Document) -> str:
    return markdown(document)


@lru_cache(maxsize=2)
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


@lru_cache(maxsize=2)
def read_rows(text: str) -> dict[int, list[str]]:
    """Entry number = row, of all tables of readings."""
    return {int(row[0]): row for _, head, rows in tables(text) if "Measured" in head and head[0] == "#" for row in rows}


def test_every_reading_of_the_record_is_in_the_report_and_no_other(text: str, events: list[dict]) -> None:
    kinds = ("reading ", "mains read", "trim ", "capacitor ")
    assert read_rows(text).keys() == {event["n"] for event in events if event["kind"].startswith(kinds)}
    assert len(read_rows(text)) > 100


def test_each_row_says_what_its_entry_says(text: str, events: list[dict]) -> None:
    for event in events:
        row, data = read_rows(text).get(event["n"]), event["data"]
        if row is None or not event["kind"].startswith("reading "):
            continue
        _, _, _, measured, nominal, window, verdict = row
        typed = measured.partition(" = ")[0].removesuffix("Ω").removesuffix("V").strip()
        assert typed == data["text"]
        shown = measured.rpartition(" = ")[2]
        assert fits(shown, data["value"]) or float(data["value"]) == float("inf")
        assert fits(nominal, data["nominal"]) or data["point"] == "winding temperature", (row, data)
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


def staged(events: list[dict]) -> list[tuple[str, dict]]:
    """(Stage, event): what a line that goes on to a phase says holds from the next line on."""
    found, stage = [], ""
    for event in events:
        found.append((stage, event))
        if "phase" in event["data"]:
            stage = event["data"]["phase"].partition(",")[0]
    return found


def table_of(text: str, heading: str) -> list[dict[str, str]]:
    """The rows of the table under a heading, as column = cell."""
    head, rows = next((head, rows) for above, head, rows in tables(text) if above == heading)
    return [dict(zip(head, row, strict=True)) for row in rows]


def shown_in(cell: str, value: float | str) -> bool:
    return fits(cell.rpartition(" = ")[2], value)


def test_the_sign_off_has_each_bond_and_insulation_that_was_read_last_and_no_other(
    text: str, events: list[dict]
) -> None:
    here = [event for stage, event in staged(events) if stage == "signoff" and "point" in event["data"]]
    ohms = [e for e in here if e["data"]["point"].startswith(("earth", "insulation", "bond "))]
    read = {e["data"]["point"]: (f"#{e['n']}", e["data"]) for e in ohms}
    rows = table_of(text, "Earth bond and insulation")
    assert len(rows) == len(read) > 5
    for row, (n, data) in zip(rows, read.values(), strict=True):
        assert row["Entry"] == n
        assert shown_in(row["Measured"], data["value"])
        assert row["Verdict"] == (f"not measured: no {data['instrument']}" if "instrument" in data else "pass")
        assert windowed(row["Window, computed"], float(data["low"]), float(data["high"]))


def test_fuses_soak_and_winding_are_what_their_entries_say(text: str, events: list[dict]) -> None:
    by_n = {f"#{event['n']}": event["data"] for event in events}
    fuses = {n: data["says"] for n, data in by_n.items() if data.get("step", "").startswith("fuse ")}
    assert {row["Entry"]: row["Read from its cap"] for row in table_of(text, "Fuses as printed")} == fuses
    assert {row["Fuse"]: row["By the build file"] for row in table_of(text, "Fuses as printed")} == {
        "F1": "T 630 mA 250 V", "F2": "T 250 mA 500 V",
    }  # fmt: skip
    winding = table_of(text, "The mains winding")
    due = [f"#{e['n']}" for e in events if e["kind"] in ("room read", "winding cold", "winding hot")]
    assert [row["Entry"] for row in winding] == due and len(due) == 6
    for row in winding:
        data = by_n[row["Entry"]]
        assert figures(row["Measured"].replace("degC", ""))[0][0] == data.get("ohm", data.get("celsius"))
    assert f"{events[-2]['data']['value']:.1f} °C at switch-off, computed from these ohms" in " ".join(text.split())
    (soak,) = table_of(text, "The soak")
    for n, end in zip(soak["Entries"].split(" to "), ("First", "Last"), strict=True):
        assert by_n[n]["point"] == "load_ac" and fits(soak[end], by_n[n]["value"])


def test_test_points_and_signal_readings_are_the_last_of_their_stages(text: str, events: list[dict]) -> None:
    passed = [(stage, e["data"]) for stage, e in staged(events) if e["kind"] == "reading passed"]
    last = {(stage, data["point"]): data for stage, data in passed}
    build = load_checked(BUILDS / f"{NAME}.toml").build
    ids = {point.name: id for id, point in build.point.items() if "driver" in point.stages}
    for row in table_of(text, "Test points"):
        id = next(id for name, id in ids.items() if row["Where"].startswith(f"{name}: "))
        assert shown_in(row["Measured"], last["driver", id]["value"])
        assert row["Read so"] == "-" or shown_in(row["Read so"], last["supply", id]["value"])
    signal = [data for (stage, id), data in last.items() if id.startswith("signal ")]
    rows = table_of(text, "Signal")
    assert len(rows) == len(signal) > 8
    for row, data in zip(rows, signal, strict=True):
        assert shown_in(row["Measured"], data["value"]) and fits(row["Computed"], data["nominal"])
        assert windowed(row["Healthy"], float(data["low"]), float(data["high"]))


def test_what_a_signal_reading_amounts_to_is_reckoned_from_it_and_the_level_it_was_read_at(text: str) -> None:
    """Watts are volts squared over 8 ohm, gain is volts over the level, decibels 20 times its logarithm."""
    row = next(row for row in table_of(text, "Signal") if row["What"] == "Load volts, feedback closed")
    volts, level = (figures(row[head])[0][0] for head in ("Measured", "Input"))
    watts, gain, db = re.search(r"(\S+ mW) .*; gain (\S+), (\S+) dB;", row["Amounts to"]).groups()  # type: ignore[union-attr]
    assert fits(watts, volts**2 / 8.0) and fits(gain, volts / level)
    assert float(db) == pytest.approx(20.0 * math.log10(volts / level), abs=0.051)


def test_the_pins_of_each_valve_are_those_of_its_type(text: str) -> None:
    """6V6GT and 12AX7 as every valve data book has them: RCA RC-30, from memory."""
    pins = {row["Valve"]: row["Pins from below"] for row in table_of(text, "Valves")}
    assert "2 heater, 3 anode, 4 screen, 5 grid" in pins["V2"] and "7 heater, 8 cathode" in pins["V2"]
    assert "6 anode 1, 7 grid 1, 8 cathode 1, 9 heater centre tap" in pins["V1"]


def test_every_plot_says_of_each_line_whether_it_was_measured_or_computed(document: Document) -> None:
    plots = [block.of for block in document.blocks if isinstance(block, Picture) and isinstance(block.of, Plot)]
    assert len(plots) == 6, "four load lines, the response, the fall"
    for plot in plots:
        assert all(said.endswith((", measured", ", computed", ", rating")) for _, said, _ in plot.legend)
    measured = [plot for plot in plots if any(mark.told == "measured" for mark in plot.marks)]
    assert len(measured) == 4, "each valve's operating point was read"


def test_holes_made_in_one_go_are_each_told_under_their_work_which_is_told_once(text: str, events: list[dict]) -> None:
    (drilled,) = [e for e in events if e["kind"] == "made" and len(e["data"]["steps"]) > 100]
    done = [row for _, head, rows in tables(text) if "Done or looked at" in head for row in rows]
    cell = next(row[2] for row in done if row[0] == str(drilled["n"]))
    count, _, works = cell.partition(", ")
    holes = [hole for work in works.split("; ") for hole in work.partition(": ")[2].split(", ")]
    assert int(count) == len(holes) == len(drilled["data"]["steps"])
    assert works.count("mark: ") == 1 and "punch 28.6 mm: v2, v3, v4" in works
