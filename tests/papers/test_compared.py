"""The section of a report on what has moved since the last sign-off, from a record that is made up."""

from __future__ import annotations

from pathlib import Path

from benchtui.buildfile.load import load
from benchtui.papers.blocks import Heading, Paragraph, Table
from benchtui.papers.compared import compared_parts
from benchtui.papers.history import Entry, History
from benchtui.papers.source import Source
from benchtui.procedure import events as e
from benchtui.procedure.state import State

BUILD = load(Path(__file__).parents[2] / "builds" / "pp-6v6.toml").build
YEAR = 366 * 86400.0


def read(id: str, value: float, plain: float) -> e.PointRead:
    return e.PointPassed(id, f"{value}", value, plain, 0.0, 999.0, (), plain)


def told(*happened: tuple[float, str, e.Event]) -> Source:
    """A record of (years, stage, event), all with power on."""
    entries = tuple(
        Entry(n, 1.7e9 + years * YEAR, "", {}, "", stage, True, "soak" if stage == "signoff" else "power", 0, event)
        for n, (years, stage, event) in enumerate(happened, 1)
    )
    return Source(Path("amp.bench"), BUILD, "", "", History(entries, (), State(), {}, {}), False)


FIRST = (
    (0, "signal", e.MainsRead("230", 230.0)), (0, "driver", read("v2_cathode", 20.0, 20.0)),
    (0, "signal", read("ht", 300.0, 300.0)), (0, "signoff", read("load_ac", 0.001, 0.0)),
    (0, "signoff", e.FinishedShut()),
)  # fmt: skip
BACK = (
    (2, "signoff", e.BroughtBack(1)), (2, "signal", e.MainsRead("242", 242.0)),
    (2, "signal", read("v2_cathode", 16.0, 21.5)), (2, "signal", read("ht", 316.0, 316.0)),
    (2, "signoff", read("load_ac", 0.001, 0.0)),
)  # fmt: skip


def test_a_record_that_nothing_came_back_in_has_no_such_section() -> None:
    assert list(compared_parts(told(*FIRST))) == []


def test_each_reading_stands_beside_that_of_the_sign_off_with_both_mains_and_how_far_it_has_moved() -> None:
    blocks = list(compared_parts(told(*FIRST, *BACK)))
    assert isinstance(blocks[0], Heading)
    table = next(block for block in blocks if isinstance(block, Table))
    assert table.rows == (
        ("Cathode of V2", "20.00 V", "16.00 V", "230 V, 242 V", "26 % down"),
        ("HT", "300.0 V", "316.0 V", "230 V, 242 V", "as before"),
        ("AC across the load, in the soak", "1.000 mV", "1.000 mV", "230 V, 242 V", "as before"),
    )
    texts = [block.text for block in blocks if isinstance(block, Paragraph)]
    assert texts[0].startswith("Check-up 1 against sign-off 1 of 2023-11-14.")
    assert texts[1] == "Moved, and it means something: Cathode of V2 26 % down. As before: 2 of 3."
    assert texts[2].startswith("Cathode of V2, 26 % down: The valve wears.")


def test_the_first_sign_off_is_named_where_it_is_another() -> None:
    later = (
        (2, "signoff", e.FinishedShut()),
        (3, "signoff", e.BroughtBack(2)),
        (3, "signal", read("ht", 314.0, 316.0)),
    )
    table = next(block for block in compared_parts(told(*FIRST, *BACK, *later)) if isinstance(block, Table))
    assert table.rows == (("HT", "316.0 V", "314.0 V", "242 V, 242 V", "as before", "300.0 V"),)
