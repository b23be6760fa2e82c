"""Panels of the build file: each slip is told with its line, what is wrong, and what would be right."""

from __future__ import annotations

import pytest

from benchtui.assemble.checked import load_text_checked
from benchtui.buildfile.problems import BuildFileError, Problem
from tests.buildfile.damage import EXAMPLE, changed, line_of, refusals, warnings

_BACK = 'edges = { top = { fold = "top" } }'
_TOP = 'edges = { top = { fold = "back" } }'
_POSTS = 'posts = { kind = "binding post"'


def told(found: list[Problem] | tuple[Problem, ...], text: str, marker: str, words: str) -> None:
    line = line_of(text, marker)
    assert [p for p in found if p.line == line and words in str(p)], [str(p) for p in found]


def other_edges(top: str, back: str) -> str:
    return changed(_TOP, f"edges = {{ {top} }}", changed(_BACK, f"edges = {{ {back} }}"))


@pytest.mark.parametrize(
    ("text", "marker", "words"),
    [
        (
            changed('part = "V1", at', 'part = "V9", at'),
            "bulb = {",
            'part "V9" is no part of this build, did you mean V1?',
        ),
        (changed('part = "T1", at', 'part = "W_HT", at'), "iron_1 = {", '"W_HT" is no part of this build'),
        (changed('part = "J1", at', 'part = "V1", at'), "jack = {", "sits at two places (line"),
        (
            changed('diameter = "13 mm"', 'diameter = "13 mm", size = ["1 mm", "1 mm"]'),
            "holder = {",
            "has both diameter",
        ),
        (changed(_POSTS, f'{_POSTS}, parts = ["RL"]'), _POSTS, "names 1 parts for 2 openings, none, or 2 are wanted"),
        (changed("posts = {", "jack = {"), 'jack = { kind = "binding', "has the name of a hole (line"),
        (
            changed('kind = "octal socket"', 'kind = "octal socket", hole = "1 mm"'),
            "bulb = {",
            "hole is not known here",
        ),
        (changed('diameter = "28.6 mm"', 'diameter = "28.6"'), "bulb = {", "has no unit"),
        (changed("count = 2, diameter", "count = 1, diameter"), _POSTS, "is too small, at least 2 is wanted"),
    ],
)
def test_what_sits_on_a_panel_is_there_once_and_fits(text: str, marker: str, words: str) -> None:
    told(refusals(text), text, marker, words)


@pytest.mark.parametrize(
    ("top", "back", "marker", "words"),
    [
        (
            'top = { fold = "back", lip = "9 mm" }',
            'top = { fold = "top" }',
            'edges = { top = { fold = "back"',
            "has fold and lip",
        ),
        ("top = {}", 'top = { fold = "top" }', "edges = { top = {}", "exactly one of fold, meets, against and lip"),
        ('top = { fold = "bakc" }', 'top = { lip = "9 mm" }', "edges = { top = { fold", "did you mean back?"),
        ('top = { fold = "top" }', 'top = { lip = "9 mm" }', "edges = { top = { fold", "is the panel itself"),
        (
            'top = { fold = "back" }',
            'top = { lip = "9 mm" }',
            "edges = { top = { fold",
            'one edge of back has fold = "top"',
        ),
        (
            'top = { fold = "back" }',
            'top = { against = "top" }',
            "edges = { top = { fold",
            'one edge of back has fold = "top"',
        ),
        (
            'top = { meets = "back" }',
            'top = { meets = "top" }',
            'edges = { top = { meets = "back',
            'back has against = "top"',
        ),
        (
            'top = { fold = "back" }, left = { fold = "back" }',
            'top = { fold = "top" }',
            "edges = { top = { fold",
            "at two edges",
        ),
        (
            'left = { fold = "back" }',
            'top = { fold = "top" }',
            'edges = { top = { fold = "top"',
            "is 260 mm long, the edge of top",
        ),
        (
            'top = { meets = "back", radius = "2 mm" }',
            'top = { against = "top" }',
            "edges = { top = { meets",
            "only a fold or a lip is bent",
        ),
        (
            'top = { lip = "9 mm", begins = "1 mm" }',
            'top = { lip = "9 mm" }',
            'edges = { top = { lip = "9 mm", b',
            "does not go with lip",
        ),
        (
            'top = { fold = "back", bare = true }',
            'top = { fold = "top" }',
            'edges = { top = { fold = "back',
            "only where two panels meet",
        ),
        (
            'left = { fold = "back", begins = "1 mm" }',
            'top = { fold = "top", begins = "2 mm" }',
            'edges = { top = { fold = "top"',
            "is told at both edges",
        ),
    ],
)
def test_edges_fit_each_other(top: str, back: str, marker: str, words: str) -> None:
    text = other_edges(top, back)
    told(refusals(text), text, marker, words)


def test_edges_of_two_lengths_are_fine_where_one_says_where_the_other_begins() -> None:
    assert not refusals(other_edges('left = { fold = "back", begins = "-40 mm" }', 'top = { fold = "top" }'))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            'material = "aluminium"\nedges = { top = { fold = "top"',
            'material = "steel"\nedges = { top = { fold = "top"',
            "material",
        ),
        (
            'thickness = "1.5 mm"\nmaterial = "aluminium"\nedges = { top = { fold = "top"',
            'thickness = "2 mm"\nmaterial = "aluminium"\nedges = { top = { fold = "top"',
            "thickness",
        ),
    ],
)
def test_what_is_bent_is_one_sheet(old: str, new: str, words: str) -> None:
    text = changed(old, new)
    told(refusals(text), text, 'edges = { top = { fold = "top"', f"a sheet that is bent has one {words}")


@pytest.mark.parametrize(
    ("old", "new", "marker", "words"),
    [
        (
            'size = ["260 mm", "180 mm"]',
            'size = ["260 mm", "1.8 m"]',
            'size = ["260 mm", "1.8 m"]',
            "15 mm to 1500 mm is usual",
        ),
        (
            'material = "aluminium"\nedges = { top = { fold = "back"',
            'material = "aluminium"\npaint = "1 mm"\nedges = { top = { fold = "back"',
            "paint =",
            "0 mm to 0.5 mm is usual",
        ),
    ],
)
def test_an_odd_size_is_taken_and_told(old: str, new: str, marker: str, words: str) -> None:
    text = changed(old, new)
    told(warnings(text), text, marker, words)


@pytest.mark.parametrize(
    ("old", "new", "marker", "words"),
    [
        ('kind = "octal socket"', 'kind = "octel socket"', "bulb = {", "did you mean octal socket?"),
        ('diameter = "28.6 mm"', 'diameter = "28.6 mm", thread = "M33"', "bulb = {", "is no thread in the library"),
        (_POSTS, 'posts = { kind = "bindign post"', "posts = {", "did you mean binding post?"),
    ],
)
def test_kinds_and_threads_are_in_the_library(old: str, new: str, marker: str, words: str) -> None:
    text = changed(old, new)
    assert not refusals(text), "the file alone knows no library"
    with pytest.raises(BuildFileError) as refused:
        load_text_checked(text, "first-steps.toml")
    told(refused.value.problems, text, marker, words)


def test_everything_wrong_with_panels_is_told_at_once() -> None:
    text = EXAMPLE.replace('part = "V1", at', 'part = "V9", at').replace('fold = "back"', 'fold = "rear"')
    assert {p.line for p in refusals(text)} >= {line_of(text, "bulb = {"), line_of(text, 'fold = "rear"')}


def test_a_length_that_no_chassis_has_is_refused() -> None:
    for old, new in (
        ('at = ["82 mm", "25 mm"]', 'at = ["9 m", "25 mm"]'),
        ('[["-19 mm", "0 mm"]', '[["-19 m", "0 mm"]'),
    ):
        text = changed(old, new)
        told(refusals(text), text, new, "is too large for a chassis, at most 5 m is wanted")


def test_more_openings_than_any_chassis_has_are_refused() -> None:
    rows = "".join(
        f'r{n} = {{ kind = "hole", first = ["1 mm", "1 mm"], spacing = "1 mm", count = 60, diameter = "1 mm" }}\n'
        for n in range(7)
    )
    text = changed("[panel.back.rows]\n", "[panel.back.rows]\n" + rows)
    assert any("has 429 openings, 400 are the most" in str(problem) for problem in refusals(text))
