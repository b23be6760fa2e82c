"""A panel in characters: to scale, within its cells, the present opening told by its sign."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtui.metalwork.drawn import drawn
from tests.metalwork import panels

PLATES = {name: panels.plate(name) for name in ("top", "rear", "side")}
CUTS = [(name, cut.name) for name, plate in PLATES.items() for cut in plate.cuts]


def text(name: str, present: str, columns: int = 76, rows: int = 14, *, plain: bool = False) -> list[str]:
    return ["".join(words for words, _ in line) for line in drawn(PLATES[name], present, columns, rows, plain=plain)]


def test_the_rear_panel_looks_like_this() -> None:
    assert text("rear", "PE", plain=True) == [
        "+" + "=" * 74 + "+",
        "|" + " " * 74 + "|",
        "|" + " " * 74 + "|",
        "|     +-----+" + " " * 62 + "|",
        "|    .|inlet| .    >@< PE" + " " * 50 + "|",
        "|     +-----+" + " " * 62 + "|",
        "|" + " " * 74 + "|",
        "|" + " " * 74 + "|",
        "0" + "-" * 74 + "+",
        "0 datum  @ here  =H bend",
    ]


@settings(max_examples=40)
@given(st.sampled_from(CUTS), st.integers(20, 200), st.integers(6, 60), st.booleans())
def test_it_keeps_to_its_cells_and_shows_the_present_opening_once(
    cut: tuple[str, str], columns: int, rows: int, plain: bool
) -> None:
    lines = text(*cut, columns, rows, plain=plain)
    assert len(lines) <= rows and max(map(len, lines)) <= columns
    here = "@" if plain else "\u25c9"
    assert sum(line.count(here) for line in lines[:-1]) == 1
    assert any(cut[1][: columns // 2] in line for line in lines)
    assert not plain or all(line.isascii() for line in lines)


def test_without_a_present_opening_none_is_marked() -> None:
    assert not any("@" in line for line in text("top", "", plain=True))


@pytest.mark.parametrize("tall", [1.5, 2.0, 2.5])
@pytest.mark.parametrize(("columns", "rows"), [(76, 14), (116, 34)])
def test_a_millimetre_is_as_long_upright_as_level(tall: float, columns: int, rows: int) -> None:
    for name, width, height in (("top", 330, 215), ("rear", 330, 70), ("side", 80, 60)):
        lines = drawn(PLATES[name], "", columns, rows, tall=tall)[:-1]
        across = sum(len(words) for words, _ in lines[0]) - 1
        up = (len(lines) - 1) * tall
        assert abs(across / width - up / height) * height <= 0.5 * tall + 0.5 * height / width


def test_what_it_shows_is_told_apart_without_colour() -> None:
    lines = text("top", "X1 screw 1", 116, 34, plain=True)
    picture = "\n".join(lines)
    for sign in ("@", "o" if "o" in "".join(lines[1:5]) else ".", "%", "H", ":", "="):
        assert sign in picture
    for name in ("X1", "X2", "X3", "window", "G 1", "G 5", "X1 screw 1"):
        assert name in picture
    assert lines[-1] == "0 datum  @ here  =H bend  ~: plate behind  % keep free"


def test_roles_go_with_the_signs() -> None:
    roles = {role for line in drawn(PLATES["top"], "X1", 116, 34) for _, role in line}
    assert roles == {"blank", "edge", "bend", "behind", "keep-out", "hole", "screw", "label", "present", "legend"}
