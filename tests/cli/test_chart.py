"""`expect --chart`: what an ohmmeter meets in a stage, as text and as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from benchtui.cli.answer import Exit
from tests.cli.running import ROOT, benchtui

BUILD = ROOT / "builds" / "pp-6v6.toml"


@pytest.fixture(scope="module")
def charted() -> dict[str, object]:
    run = benchtui("expect", BUILD, "--chart", "--stage", "output", "--json")
    assert (run.returncode, run.stderr) == (Exit.FINE, "")
    (stage,) = json.loads(run.stdout)["stages"]
    return stage


def test_every_wired_pin_of_a_socket_is_there(charted: dict[str, list[dict[str, object]]]) -> None:
    pins = {str(row["place"]).split()[0] for row in charted["chart"] if row["group"] == "V2 6V6GT"}
    assert pins == {"2", "3", "4", "5", "7", "8"}  # 1 and 6 of the octal base are not connected in this build


def test_a_cathode_reads_its_resistor(charted: dict[str, list[dict[str, object]]]) -> None:
    (row,) = [row for row in charted["chart"] if row["reading"] == "V2.8 ohm"]
    assert row["nominal"] == pytest.approx(470.0, rel=1e-3)  # R11 of the build file
    assert row["low"] < 470.0 < row["high"]


def test_text_and_json_tell_the_same(charted: dict[str, list[dict[str, object]]]) -> None:
    run = benchtui("expect", BUILD, "--chart", "--stage", "output")
    assert run.returncode == Exit.FINE
    missing = [row["place"] for row in charted["chart"] if f"  {row['place']} " not in run.stdout]
    assert not missing
    assert all(len(line) <= 100 for line in run.stdout.splitlines())


@pytest.mark.parametrize("option", [("--mains", "230"), ("--untrimmed",), ("--ideal-meter",)])
def test_what_belongs_to_the_powered_readings_is_refused(option: tuple[str, ...], tmp_path: Path) -> None:
    run = benchtui("expect", BUILD, "--chart", *option)
    assert (run.returncode, run.stdout) == (Exit.INPUT_WRONG, "")
    assert option[0] in run.stderr
    assert len(run.stderr.splitlines()) == 1
