"""Openings in millimetres: rows, turned parts, paint, and what a guide is."""

from __future__ import annotations

import pytest

from benchtui.metalwork.layout import Cut, Plate, plates
from tests.metalwork.layouts import built
from tests.metalwork.sound import with_panels

_PANEL = '[panel.top]\nname = "Top"\nsize = ["200 mm", "150 mm"]\nthickness = "2 mm"\nmaterial = "steel"\n'


def laid_out(table: str, line: str, more: str = "") -> Plate:
    (plate,) = plates(built(with_panels(f"{_PANEL}{more}\n[panel.top.{table}]\n{line}\n")))
    return plate


def at(cuts: tuple[Cut, ...]) -> list[tuple[float, float]]:
    return [(round(cut.x_mm, 6), round(cut.y_mm, 6)) for cut in cuts]


def test_a_row_goes_on_by_its_spacing() -> None:
    row = 'kind = "hole", first = ["20 mm", "30 mm"], spacing = "10 mm", count = 3, diameter = "5 mm"'
    assert at(laid_out("rows", f"a = {{ {row} }}").cuts) == [(20, 30), (30, 30), (40, 30)]
    assert at(laid_out("rows", f'a = {{ {row}, along = "up" }}').cuts) == [(20, 30), (20, 40), (20, 50)]


def test_screws_turn_with_their_part_against_the_clock() -> None:
    socket = 'kind = "octal socket", at = ["100 mm", "70 mm"], diameter = "28.6 mm", screws = [["19 mm", "0 mm"]]'
    assert at(laid_out("holes", f"v = {{ {socket} }}").cuts) == [(100, 70), (119, 70)]
    assert at(laid_out("holes", f"v = {{ {socket}, turn = 90 }}").cuts) == [(100, 70), (100, 89)]


def test_a_double_post_has_two_holes_that_turn_with_it() -> None:
    post = 'kind = "double binding post", at = ["100 mm", "70 mm"], diameter = "8 mm"'
    assert at(laid_out("holes", f"p = {{ {post} }}").cuts) == [(90.475, 70), (109.525, 70)]
    assert at(laid_out("holes", f"p = {{ {post}, turn = 90 }}").cuts) == [(100, 60.475), (100, 79.525)]


def test_paint_makes_every_hole_wider_by_both_its_sides() -> None:
    socket = 'kind = "octal socket", at = ["100 mm", "70 mm"], diameter = "28 mm", screws = [["19 mm", "0 mm"]]'
    main, screw = laid_out("holes", f"v = {{ {socket} }}", 'paint = "0.1 mm"').cuts
    assert (main.diameter_mm, screw.diameter_mm) == (pytest.approx(28.2), pytest.approx(3.6))  # M3, ISO 273: 3.4 mm


def test_only_what_the_library_guesses_is_a_guide() -> None:
    line = 'kind = "octal socket", at = ["100 mm", "70 mm"]'
    assert [cut.guide for cut in laid_out("holes", f"v = {{ {line} }}").cuts] == [True, True, True]
    assert [cut.guide for cut in laid_out("holes", f'v = {{ {line}, diameter = "28 mm" }}').cuts] == [False, True, True]
    assert [cut.guide for cut in laid_out("holes", f"v = {{ {line}, screws = [] }}").cuts] == [True]


def test_an_earth_bolt_is_drilled_for_its_thread_which_is_no_guess() -> None:
    line = 'kind = "earth bolt", at = ["100 mm", "70 mm"]'
    (four,) = laid_out("holes", f"e = {{ {line} }}").cuts
    (five,) = laid_out("holes", f'e = {{ {line}, thread = "M5" }}').cuts
    assert (four.diameter_mm, four.guide, five.diameter_mm) == (4.5, False, 5.5)  # ISO 273, medium


def test_inches_and_centimetres_come_out_in_millimetres() -> None:
    (cut,) = laid_out("holes", 'h = { kind = "hole", at = ["2 in", "3 cm"], diameter = "0.25 in" }').cuts
    assert (cut.x_mm, cut.y_mm, cut.diameter_mm) == (pytest.approx(50.8), pytest.approx(30), pytest.approx(6.35))
