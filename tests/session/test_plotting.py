"""Ratings and plots in the app: computed beside once they are looked at, with what this record has read."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.assemble.checked import load_checked
from benchtui.buildfile.models import Build
from benchtui.forecast.margins import margins
from benchtui.session.figured import Drawn, figured
from tests.session.made_up import Desk

BUILDS = Path(__file__).parents[2] / "builds"


@pytest.fixture(scope="module")
def build() -> Build:
    return load_checked(BUILDS / "pp-6v6.toml").build


def asked(desk: Desk) -> list[tuple[object, ...]]:
    return [what[1:] for what in desk.forecaster.asked if what[0] == "figure"]


def test_nothing_is_computed_for_the_page_before_it_is_looked_at(desk: Desk) -> None:
    desk.compute()
    assert asked(desk) == []
    assert "being computed" in desk.session.plots(0).figure.lines[0]
    desk.compute()
    assert asked(desk) == [("ratings", None)], "no mains was read: the rated one counts"
    assert desk.session.plots(0).figure.lines == ("made up: ratings",)


def test_the_figures_are_counted_round_ratings_first_and_the_fall_last(desk: Desk) -> None:
    pages = [desk.session.plots(n) for n in range(desk.session.plots(0).of + 1)]
    titles = [page.title for page in pages]
    assert titles[0] == titles[-1] == "Ratings with their margins" and titles[-2] == "How the reservoirs empty"
    assert "Load line of V2 (6V6GT)" in titles and "Response" in titles
    assert [page.number for page in pages] == [*range(1, len(pages)), 1]


def test_ratings_go_by_the_mains_read_last_and_load_lines_by_what_was_read(desk: Desk) -> None:
    desk.till(lambda view: view.step == "read" and view.danger.word == "LIVE" and "HT" == view.prompt.title)
    desk.type("100")
    for chosen in (0, 3):
        desk.session.plots(chosen)
        desk.compute()
    (ratings, mains_v), (load, section, volts) = asked(desk)[-2:]
    assert (ratings, load, section) == ("ratings", "load", "V2") and mains_v == pytest.approx(230.0, abs=10.0)
    assert ("ht", 100.0) in dict(volts)["supply"]


def test_a_figure_that_fails_says_so_and_is_not_asked_again(desk: Desk) -> None:
    desk.session.plots(0)
    job = desk.session.pending_diagnosis()
    assert job is not None
    desk.session.take_diagnosis(None)
    assert desk.session.plots(0).figure.lines == ("It could not be computed.",)
    assert desk.session.pending_diagnosis() is None


def test_the_table_is_that_of_the_margins_rounded_down(build: Build) -> None:
    figure, found = figured(build, "ratings", 225.0), margins(build, 225.0)
    assert figure.heads == ("225 V", "253 V") and "as read last" in figure.lines[0]
    assert [(row.part, row.what, row.standing) for row in figure.rows] == [
        (each.part, each.quantity, each.standing) for each in found
    ]
    shares = [int(row.margin.removesuffix(" %")) / 100 for row in figure.rows]
    assert all(0.0 <= each.share - share < 0.01 for each, share in zip(found, shares, strict=True))
    assert figure.least.startswith(f"Least margin: {found[0].part}")


def test_a_load_line_has_the_point_that_was_read(build: Build) -> None:
    """R11, 470 ohm: 15.6 V are 33.2 mA of cathode current."""
    volts = (("driver", (("v2_k", 15.6), ("v2_a", 258.0))),)
    drawing = figured(build, "load", "V2", volts).drawing
    assert isinstance(drawing, Drawn)
    (measured,) = [mark for mark in drawing.plot.marks if mark.told == "measured"]
    assert measured.x == pytest.approx(242.4) and 25.0 < measured.y < 33.2
    rows = drawing.lines(78, 12, plain=True)
    assert ("M", "measured") in [piece for row in rows for piece in row]
    assert max(sum(len(text) for text, _ in row) for row in rows) <= 78


def test_a_response_has_the_corners_that_were_read(build: Build) -> None:
    from benchtui.forecast.signal_path import signal_paths

    (path,) = signal_paths(build)
    drawing = figured(build, "response", path, (8.0, 60e3)).drawing
    assert isinstance(drawing, Drawn)
    assert [(mark.told, mark.x) for mark in drawing.plot.marks] == [("measured", 8.0), ("measured", 60e3)]
    assert {series.told for series in drawing.plot.series} == {"computed"}


def test_what_has_no_figure_says_why(build: Build) -> None:
    assert figured(build, "load", "V4a", ()).lines == ("V4a carries no current in any stage that is read.",)
