"""The command `wires`: its text, its JSON, one stage, and what it refuses."""

from __future__ import annotations

import json

import pytest

from benchtui.cli.main import main
from tests.builds.recorded import BUILDS

BUILD = str(BUILDS / "pp-6v6.toml")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(["wires", *arguments])
    return code, *capsys.readouterr()


def test_the_text_has_every_stage_with_its_wires_tags_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, words = run(capsys, BUILD)
    assert (code, words) == (0, "")
    for said in (
        "Cold checks", "mains inlet earth -> earth bolt", "green-and-yellow, AWG 18 or 0.75 mm2, 600 V", "Heaters",
        "tag v2_gl at V2: R12 one end, R13 one end", "MIL-STD-681", "local codes and licensed practice",
    ):  # fmt: skip
        assert said in out, said
    assert "R5 other end (supply)" in out, "what comes later is told with its stage"
    assert all(len(line) <= 100 for line in out.splitlines())


def test_one_stage_alone_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    out = run(capsys, BUILD, "--stage", "signal")[1]
    assert "terminals for LOAD hot -> tag fb at V1" in out and "earth bolt" not in out


def test_the_json_has_what_readme_says_and_plain_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, BUILD, "--json")
    told = json.loads(out)
    assert code == 0 and (told["schema"], told["build"]) == (1, "pp-6v6")
    assert {"id", "stage", "node", "from", "to", "use", "own_lead", "colour", "laid", "peak_v", "amps", "length_m",
            "length_known", "awg", "mm2", "drop_v", "insulation_v"} == set(told["wires"][0])  # fmt: skip
    earth = told["wires"][0]
    assert (earth["id"], earth["use"], earth["length_known"]) == ("wire mains.earth to earth bolt", "earth", True)
    assert {"tag", "stage", "node", "takes"} == set(told["tags"][0])


def test_an_unknown_stage_is_refused_with_those_that_are_known(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, words = run(capsys, BUILD, "--stage", "heater")
    assert (code, out) == (2, "") and "is no stage of this build" in words and "heaters" in words
