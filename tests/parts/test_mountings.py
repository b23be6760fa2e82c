"""What goes through a panel: every row can be laid out, says where it is from, and fits the other tables."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

from benchtui.parts import valves
from benchtui.parts.bases import base
from benchtui.parts.errors import PartError
from benchtui.parts.mountings import mounting, mountings
from benchtui.parts.screws import threads

ROWS = list(mountings())
GROUPS = {
    "mains",
    "fuse",
    "input",
    "output",
    "valve",
    "transformer",
    "choke",
    "capacitor",
    "control",
    "earth",
    "bond",
    "grommet",
    "fixing",
    "plain",
}

# sizes as sockets and connectors are known to need them, from memory: mm, least and most
KNOWN = [
    ("noval socket", 19.0, 22.2),
    ("B7G socket", 15.9, 15.9),
    ("octal socket", 25.4, 30.0),
    ("phono socket", 6.4, 10.0),
    ("6.35 mm jack", 9.5, 11.5),
    ("potentiometer", 7.0, 10.0),
    ("fuse holder", 12.5, 16.0),
]


@pytest.mark.parametrize("name", ROWS)
def test_every_row_has_a_guide_or_says_what_the_file_must_tell(name: str) -> None:
    row = mounting(name)
    drilled_for_thread = row.group in ("earth", "bond", "fixing") and row.thread is not None
    assert row.hole_mm or row.cut_out_mm or drilled_for_thread or {"size", "screws"} & set(row.needs)
    assert row.group in GROUPS
    sized = row.hole_mm or row.cut_out_mm or row.behind_mm or row.front_mm
    assert row.source.startswith("from memory: ") or "common practice, no source" in row.source or not sized


@pytest.mark.parametrize("name", ROWS)
def test_every_row_fits_itself(name: str) -> None:
    row = mounting(name)
    guide = row.hole_mm or (row.cut_out_mm[0] if row.cut_out_mm else None)
    if row.range_mm is not None and guide is not None:
        assert row.range_mm[0] <= guide <= row.range_mm[1]
    assert row.thread is None or row.thread in threads()
    assert not row.screws_mm or row.thread is not None, "a screw without a thread has no hole"
    for x, y in row.screws_mm:
        assert row.behind_mm and abs(x) < row.behind_mm[0] / 2 and abs(y) < row.behind_mm[1] / 2


@pytest.mark.parametrize(("name", "least", "most"), KNOWN)
def test_known_sizes_lie_within_the_range(name: str, least: float, most: float) -> None:
    low, high = mounting(name).range_mm or (0.0, 0.0)
    assert low <= least and most <= high


def test_every_base_with_pins_has_a_socket() -> None:
    codes = tomllib.loads(files("benchtui.parts").joinpath("bases.toml").read_text("utf-8"))
    with_pins = {code for code in codes if base(code).angles}
    assert {row.base for row in mountings().values() if row.base} == with_pins
    assert {valves.find(name).base for name in valves.names()} - {"axial"} <= with_pins


def test_double_binding_posts_stand_as_double_plugs_want_them() -> None:
    """3/4 in between the pins of a double plug; read in a secondary text."""
    (left, _), (right, _) = mounting("double binding post").at_mm
    assert right - left == pytest.approx(0.75 * 25.4)


def test_an_unknown_kind_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(PartError, match=r"octal sokcet.*noval socket"):
        mounting("octal sokcet")


def test_readme_names_every_kind_and_no_other() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    named = readme.split("Kinds: ")[1].split(".\n\n")[0]
    assert set(re.findall(r"`([^`]+)`", named.replace("\n", " "))) == set(mountings())
