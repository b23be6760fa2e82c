"""Templates on paper, rendered to pixels and measured: every centre where the build file has it, sheets joined."""

from __future__ import annotations

from dataclasses import replace
from math import isnan, nan
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtui.buildfile.load import load
from benchtui.metalwork.as_pdf import pdf
from benchtui.metalwork.drawing import Box, Circle, Drawing, Line, Role, Words, around
from benchtui.metalwork.layout import plates
from benchtui.metalwork.sheets import OVERLAP_MM, PAPERS, Sheet, one_sheet, sheets
from benchtui.metalwork.template import template
from tests.metalwork import panels, pixels
from tests.metalwork.written import openings

NEAR_MM = 0.1
BUILDS = Path(__file__).parents[2] / "builds"

#: Larger than two sheets of paper either way round.
LARGE = """
[panel.top]
name = "Large plate"
size = ["340 mm", "290 mm"]
thickness = "2 mm"
material = "steel"
[panel.top.rows]
low = { kind = "hole", first = ["20 mm", "20 mm"], spacing = "60 mm", count = 6, diameter = "4.5 mm" }
middle = { kind = "hole", first = ["20 mm", "150 mm"], spacing = "38 mm", count = 9, diameter = "16 mm" }
side = { kind = "hole", first = ["190 mm", "40 mm"], spacing = "55 mm", along = "up", count = 5, diameter = "6.6 mm" }
"""


def drawn(chassis: str = panels.CHASSIS, panel: str = "top", *, mirrored: bool = False) -> Drawing:
    every = plates(panels.build(chassis))
    return template(next(each for each in every if each.name == panel), every, "from a test", mirrored=mirrored)


Place = tuple[float, float]


def joined(
    rendered: list[pixels.Page], across: int, *, mirrored: bool
) -> list[tuple[pixels.Page, tuple[float, float]]]:
    """Each page with where the panel's datum lies on it, in its own millimetres: by the crossed squares of its joints.

    A neighbour's squares are those on the side that faces it; the joint's two are taken in their order.
    """
    corner = {n: place for n, page in enumerate(rendered) if (place := pixels.datum(page, mirrored=mirrored))}
    squares = [pixels.squares(page) for page in rendered]
    while len(corner) < len(rendered):
        for here in list(corner):
            for there, axis, sign in (
                (here + 1, 0, 1),
                (here - 1, 0, -1),
                (here + across, 1, -1),
                (here - across, 1, 1),
            ):
                beside = axis == 1 or here // across == there // across
                if 0 <= there < len(rendered) and beside and there not in corner:
                    ours, theirs = _facing(squares[here], axis, sign), _facing(squares[there], axis, -sign)
                    shift = [sum(b[n] - a[n] for a, b in zip(ours, theirs, strict=True)) / 2 for n in (0, 1)]
                    corner[there] = (corner[here][0] + shift[0], corner[here][1] + shift[1])
    return [(page, corner[number]) for number, page in enumerate(rendered)]


def _facing(squares: list[tuple[float, float]], axis: int, sign: int) -> list[tuple[float, float]]:
    """The two squares of a joint: on one line, the furthest to that side."""
    furthest = max(sign * square[axis] for square in squares)
    two = sorted(square for square in squares if abs(sign * square[axis] - furthest) < 0.2)
    assert len(two) == 2
    return sorted(two, key=lambda square: square[1 - axis])


def apart(one: tuple[float, ...], other: Place) -> float:
    return max(abs(one[0] - other[0]), abs(one[1] - other[1]))


def measured(drawing: Drawing, paper: str, *, mirrored: bool = False) -> list[tuple[float, float, float]]:
    """Centre and diameter of every cross of the joined sheets, from the datum; those on two sheets once."""
    found: list[tuple[float, float, float]] = []
    made = sheets(drawing, paper)
    across = len({sheet.window.left for sheet in made})
    for page, (x0, y0) in joined(pixels.pages(pdf(made)), across, mirrored=mirrored):
        for x, y in pixels.crosses(page):
            place = (x0 - x if mirrored else x - x0), y - y0
            double = next((each for each in found if apart(each, place) < 1), None)
            diameter = pixels.diameter_mm(page, (x, y))
            if double is None:
                found.append((*place, diameter))
            else:
                assert apart(double, place) < NEAR_MM, "a cross on two sheets lies on itself"
                if isnan(double[2]):
                    found[found.index(double)] = (*place, diameter)
    return sorted(found)


def compare(found: list[tuple[float, float, float]], text: str, panel: str) -> None:
    expected = openings(text, panel)
    assert len(found) == len(expected)
    for x, y, diameter in expected:
        nearest = min(found, key=lambda each: abs(each[0] - x) + abs(each[1] - y))
        assert nearest[:2] == (pytest.approx(x, abs=NEAR_MM), pytest.approx(y, abs=NEAR_MM))
        if diameter is not None:
            assert nearest[2] == pytest.approx(diameter, abs=0.15)


@pytest.mark.parametrize(("name", "panel"), [("pp-6v6", "top"), ("se-stereo", "rear")])
def test_every_centre_of_a_demo_panel_is_within_a_tenth_of_its_file_on_joined_paper(name: str, panel: str) -> None:
    path = BUILDS / f"{name}.toml"
    every = plates(load(path).build)
    drawing = template(next(each for each in every if each.name == panel), every, "from a test")
    compare(measured(drawing, "a4"), path.read_text("utf-8"), panel)


def test_seen_from_inside_every_centre_is_where_the_sheet_turned_over_has_it() -> None:
    compare(measured(drawn(mirrored=True), "a4", mirrored=True), panels.text(), "top")


def test_four_sheets_of_letter_paper_join_to_the_panel_of_the_file() -> None:
    drawing = drawn(LARGE)
    assert len(sheets(drawing, "letter")) == 4
    compare(measured(drawing, "letter"), panels.text(LARGE), "top")


@pytest.mark.parametrize("paper", PAPERS)
def test_both_bars_measure_100_mm_and_the_page_is_the_paper(paper: str) -> None:
    page = pixels.pages(pdf(sheets(drawn(panel="side"), paper)))[0]
    assert pixels.bars(page) == (pytest.approx(100.0, abs=NEAR_MM), pytest.approx(100.0, abs=NEAR_MM))
    size = [count * each for count, each in zip(page.dark.shape[::-1], page.pixel_mm, strict=True)]
    assert sorted(size) == pytest.approx(sorted(PAPERS[paper]), abs=0.01)


def test_a_page_that_the_printer_shrank_in_one_direction_shows_it_in_its_bars() -> None:
    sheet = sheets(drawn(panel="side"), "a4")[0]
    shrunk = [
        replace(page, pixel_mm=(page.pixel_mm[0] * 0.985, page.pixel_mm[1])) for page in pixels.pages(pdf([sheet]))
    ]
    across, up = pixels.bars(shrunk[0])
    assert across == pytest.approx(98.5, abs=NEAR_MM) and up == pytest.approx(100.0, abs=NEAR_MM)


def test_the_same_panel_gives_the_same_bytes() -> None:
    assert pdf(sheets(drawn(), "a4")) == pdf(sheets(drawn(), "a4"))


def test_letters_that_a_reader_of_pdf_lacks_do_not_stop_the_paper() -> None:
    chassis = panels.CHASSIS.replace('"Top plate"', '"\u4e0a \u03a9 (a) \\\\ <b>&"')
    assert len(pixels.pages(pdf(sheets(drawn(chassis), "a4")))) == 2


@given(
    st.floats(10, 900), st.floats(10, 700),
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=1, max_size=8), st.sampled_from(list(PAPERS)),
)  # fmt: skip
def test_every_centre_cross_stands_whole_on_a_sheet_and_two_squares_on_each_joint(
    width: float, height: float, places: list[tuple[float, float]], paper: str
) -> None:
    box = Box(0.0, 0.0, width, height).grown(9.0)
    made = sheets(Drawing("p", "p", "p", (), box, ()), paper)
    for x, y in places:
        cross = Box(x * width, y * height, x * width, y * height).grown(5.0)
        assert any(sheet.window.holds(cross) for sheet in made)
    for sheet in made:
        assert sheet.window.width <= sheet.width_mm and sheet.window.height <= sheet.height_mm
        assert sheet.at[0] + sheet.window.width <= sheet.width_mm - 7.9 and sheet.at[1] >= 43.9
    squares = [around(mark) for mark in made[0].drawn if mark.role is Role.REGISTER and isinstance(mark, Line)]
    whole = [[sheet for sheet in made if sheet.window.holds(each)] for each in squares[::2]]
    assert all(len(each) == 2 for each in whole)
    joints = sum(neighbours(a, b) for a in made for b in made)
    assert len(whole) == 2 * joints


def neighbours(a: Sheet, b: Sheet) -> bool:
    """Whether `b` stands to the right of or above `a`, sharing an overlap."""
    right = abs(b.window.left - (a.window.right - OVERLAP_MM)) < 1e-6 and a.window.bottom == b.window.bottom
    above = abs(b.window.bottom - (a.window.top - OVERLAP_MM)) < 1e-6 and a.window.left == b.window.left
    return right or above


def test_words_of_a_sheet_stay_on_it_and_off_the_drawing() -> None:
    chassis = panels.CHASSIS.replace('"Top plate"', f'"{"m" * 100}"')
    told = replace(drawn(chassis), minded=("The review of the layout found: 12 stop, 34 warn. " * 2, *drawn().minded))
    for sheet in (*sheets(told, "a4"), *sheets(told, "letter"), one_sheet(told), one_sheet(drawn(panel="side"))):
        paper = Box(4.0, 4.0, sheet.width_mm - 4.0, sheet.height_mm - 4.0)
        shown = Box(*sheet.at, sheet.at[0] + sheet.window.width, sheet.at[1] + sheet.window.height)
        for mark in sheet.marks:
            taken = around(mark)
            width = taken.width / 0.6 * 0.52 if isinstance(mark, Words) and not mark.turn_deg else taken.width
            assert paper.holds(taken._replace(right=taken.left + width)), mark
            assert not shown.meets(taken), mark


@pytest.mark.parametrize("mirrored", [False, True])
def test_labels_lie_on_no_opening_and_on_no_other_label_and_those_of_edges_outside(mirrored: bool) -> None:
    drawing = drawn(mirrored=mirrored)
    edges = [mark for mark in drawing.marks if isinstance(mark, Words) and mark.turn_deg]
    assert len(edges) == 2 and not any(around(mark).meets(Box(0, 0, 330, 215)) for mark in edges)
    labels = [around(mark) for mark in drawing.marks if isinstance(mark, Words) and mark.role is Role.TEXT]
    holes = [around(mark) for mark in drawing.marks if isinstance(mark, Circle)]
    assert not any(label.meets(hole) for label in labels for hole in holes)
    assert not any(a.meets(b) for number, a in enumerate(labels) for b in labels[number + 1 :])


def test_what_is_not_there_is_seen_as_nothing() -> None:
    page = pixels.pages(pdf([Sheet(100.0, 100.0, Box(0, 0, 80, 80), (10, 10), (), ())]))[0]
    assert pixels.crosses(page) == pixels.squares(page) == [] and pixels.datum(page, mirrored=False) is None
    assert all(map(isnan, (*pixels.bars(page), pixels.diameter_mm(page, (50.0, 50.0)), nan)))
