"""Two channels from one description: names, nodes, references and the lines they come from."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.buildfile.channels import expand
from benchtui.buildfile.load import load, load_text
from benchtui.buildfile.stages import stages
from tests.buildfile.damage import changed, line_of, refusals

STEREO_PATH = Path(__file__).with_name("stereo.toml")
STEREO = STEREO_PATH.read_text("utf-8")


@pytest.fixture(scope="module")
def loaded():
    return load(STEREO_PATH)


def test_each_part_is_there_once_for_every_channel(loaded) -> None:
    build = loaded.build
    assert set(build.resistor) == {"R1"} | {f"R1{n}{c}" for n in (1, 2, 3, 4) for c in "LR"}
    assert set(build.output_transformer) == {"T2L", "T2R"}
    assert build.valve["V2R"].sections == ("V2xR",)


def test_nodes_with_a_dot_belong_to_the_channel_and_others_are_shared(loaded) -> None:
    build = loaded.build
    assert build.resistor["R11L"].nodes == ("k.L", "0")
    assert build.valve["V2R"].pins == {"2": "h_a", "7": "0", "3": "a.R", "4": "g2.R", "5": "g.R", "8": "k.R"}
    assert build.output_transformer["T2L"].ht == "ht"
    assert build.point["cathode_R"].red == "k.R"


def test_references_with_a_dot_belong_to_the_channel(loaded) -> None:
    build = loaded.build
    assert build.adjust["trimR"].pot == "P1R"
    assert build.adjust["trimL"].point == "cathode_L"
    assert build.point["cathode_L"].socket == "V2L.8"
    assert build.point["cathode_L"].stages == ("output", "alone_L")
    assert build.stage["output"].valves_out == ("V2L",)


def test_names_for_the_screen_tell_the_channel(loaded) -> None:
    assert loaded.build.point["cathode_R"].name == "Cathode of V2, right"
    assert loaded.build.stage["alone_L"].title == "One channel alone, left"
    assert loaded.build.point["cathode_R"].red_at == "top of R11, right"


def test_own_stages_of_the_channels_follow_each_other(loaded) -> None:
    walked = [stage.id for stage in stages(loaded.build)]
    assert walked == ["parts", "metal", "cold", "mains", "supply", "alone_L", "alone_R", "output", "signoff"]


@pytest.mark.parametrize("letter", ["L", "R"])
def test_each_expanded_key_has_the_line_of_the_original(loaded, letter: str) -> None:
    line = line_of(STEREO, "R11 = {")
    assert loaded.lines.line(("resistor", f"R11{letter}", "value")) == line
    assert loaded.lines.line(("resistor", f"R11{letter}", "nodes", 1)) == line
    assert loaded.lines.line(("point", f"cathode_{letter}", "red")) == line_of(STEREO, 'red = ".k"')


def test_a_fault_in_each_is_told_once_with_its_own_place() -> None:
    text = changed('value = "470R"', 'value = "470"', STEREO)
    (problem,) = refusals(text)
    assert (problem.line, problem.place) == (line_of(text, "R11 = {"), "each.resistor.R11.value")


def test_a_transformer_in_each_has_windings_of_its_own() -> None:
    data = {
        "channels": {"L": "left", "R": "right"},
        "each": {"transformer": {"T1": {"windings": {"W1": {"nodes": [".a", "0"]}}}}},
    }
    found = expand(data)
    assert found.data["transformer"]["T1R"] == {"windings": {"W1R": {"nodes": ["a.R", "0"]}}}
    path = ("transformer", "T1L", "windings", "W1L", "nodes", 0)
    assert found.written_at(path) == ("each", "transformer", "T1", "windings", "W1", "nodes", 0)


def test_expanding_leaves_the_file_as_it_was() -> None:
    data = {"channels": {"L": "left"}, "resistor": {"R1": {}}, "each": {"resistor": {"R2": {"nodes": [".a"]}}}}
    expand(data)
    assert data["resistor"] == {"R1": {}}
    assert data["each"]["resistor"]["R2"] == {"nodes": [".a"]}


@pytest.mark.parametrize(
    ("old", "new", "marker", "words"),
    [
        ('[channels]\nL = "left"\nR = "right"\n', "", "[each.resistor]", "needs 1 to 8 named channels"),
        ('L = "left"', "L = 1", "[each.resistor]", "needs 1 to 8 named channels"),
        ("[each.load]", "[each.lode]", "[each.lode]", "did you mean load?"),
        ("[each.load]", "[each.each.load]", "[each.each.load]", "can't be written once"),
        ("[each.load]", "[each.meter]", "[each.meter]", "can't be written once"),
        ("R1 = {", "R11L = {", "R11 = {", "gives R11L, which is there already (line"),
        ('nodes = [".k", "0"]', 'nodes = ["..k", "0"]', "R11 = {", "begins with a dot"),
        ('valves_out = ["V2L"]', 'valves_out = [".V2"]', "valves_out", "only inside [each...]"),
        ('valves_out = ["V2L"]', 'valves_out = ["V2"]', "valves_out", "did you mean V2"),
        ('red = ".k"', 'red = "k"', 'red = "k"', "is no node"),
        ('pot = ".P1"', 'pot = "P1"', "trim = {", "is no pot"),
    ],
)
def test_what_can_not_be_expanded_is_refused(old: str, new: str, marker: str, words: str) -> None:
    text = changed(old, new, STEREO)
    assert [p for p in refusals(text) if p.line == line_of(text, marker) and words in str(p)], refusals(text)


def test_one_channel_is_enough() -> None:
    text = changed('R = "right"\n', "", STEREO)
    assert set(load_text(text, "amp.toml").build.valve) == {"V2L"}
