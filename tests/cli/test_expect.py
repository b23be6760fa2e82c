"""`expect`: the contract that other programs read, its options, and what it refuses."""

from __future__ import annotations

import io
import json
from contextlib import redirect_stdout
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from benchtui.cli.main import main
from tests.reference.amplifiers import described, nominal

READING = ["point", "quantity", "unit", "nominal", "low", "high", "stop_low", "stop_high"]
STRESS = ["part", "quantity", "unit", "nominal", "low", "high", "limit"]
READING_QUANTITIES = {"dc", "ac", "ripple", "resistance"}
STRESS_QUANTITIES = {
    "winding_rms", "rectifier_peak", "rectifier_mean", "capacitor_ripple_rms", "capacitor_volts",
    "anode_dissipation", "screen_dissipation", "dissipation", "discharge_cold", "discharge_hot",
}  # fmt: skip


@cache
def expected(build: Path, *options: object) -> dict[str, Any]:
    printed = io.StringIO()
    with redirect_stdout(printed):
        assert main(["expect", str(build), *map(str, options), "--json"]) == 0
    return json.loads(printed.getvalue(), parse_constant=pytest.fail)


def readings(data: dict[str, Any], stage: str = "output") -> dict[str, dict[str, Any]]:
    found = next(entry for entry in data["stages"] if entry["stage"] == stage)
    return {reading["point"]: reading for reading in found["readings"]}


def refused(capsys: pytest.CaptureFixture[str], build: Path, *options: object) -> str:
    assert main(["expect", str(build), *map(str, options)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    return told.err


def record(folder: Path, **data: object) -> Path:
    path = folder / "record.json"
    path.write_text(json.dumps({"readings": {}} | data), "utf-8")
    return path


@pytest.fixture(params=["cathode_bias", "fixed_bias"])
def build(request: pytest.FixtureRequest) -> Path:
    return request.getfixturevalue(request.param)


def test_document_has_the_keys_of_the_contract_and_no_others(build: Path) -> None:
    data = expected(build)
    assert list(data) == ["schema", "build", "mains_v", "stages"]
    assert (data["schema"], data["mains_v"]) == (1, 230.0)
    for stage in data["stages"]:
        assert list(stage) == ["stage", "readings", "stresses"]
        assert all(list(reading) == READING for reading in stage["readings"])
        assert all(list(stress) == STRESS for stress in stage["stresses"])
        assert {reading["quantity"] for reading in stage["readings"]} <= READING_QUANTITIES
        assert {stress["quantity"] for stress in stage["stresses"]} <= STRESS_QUANTITIES
        units = {item["unit"] for item in (*stage["readings"], *stage["stresses"])}
        assert units <= {"V", "A", "W", "ohm", "s"}


@pytest.mark.parametrize(("name", "fixture"), [("a", "cathode_bias"), ("c", "fixed_bias")])
def test_ids_are_those_of_the_build_file(name: str, fixture: str, request: pytest.FixtureRequest) -> None:
    data = expected(request.getfixturevalue(fixture))
    powered = [stage["stage"] for stage in data["stages"] if stage["stresses"]]
    assert powered == list(described(name)["stages"])
    for stage in powered:
        assert set(readings(data, stage)) == set(nominal(name)[stage]["test_points"])


def test_windows_hold_their_nominal_reading(build: Path) -> None:
    data = expected(build)
    beside = [
        (stage["stage"], item)
        for stage in data["stages"]
        for item in stage["readings"]
        if not (item["low"] <= item["nominal"] <= item["high"])
    ]
    assert beside == []


def test_one_stage_alone(fixed_bias: Path) -> None:
    data = expected(fixed_bias, "--stage", "supply")
    assert [stage["stage"] for stage in data["stages"]] == ["supply"]


def test_measured_mains_move_the_readings_and_narrow_the_windows(cathode_bias: Path) -> None:
    rated = readings(expected(cathode_bias, "--stage", "output"))["bp1"]
    data = expected(cathode_bias, "--stage", "output", "--mains", "241.5")
    high = readings(data)["bp1"]
    assert data["mains_v"] == 241.5
    assert high["nominal"] / rated["nominal"] == pytest.approx(1.05, abs=0.01)
    assert high["high"] - high["low"] < 0.6 * (rated["high"] - rated["low"])


def test_a_meter_that_draws_nothing_reads_a_grid_more_negative(fixed_bias: Path) -> None:
    loaded = readings(expected(fixed_bias, "--stage", "output", "--mains", 230))["v3_grid"]
    ideal = readings(expected(fixed_bias, "--stage", "output", "--mains", 230, "--ideal-meter"))
    assert ideal["v3_grid"]["nominal"] < 1.01 * loaded["nominal"] < 0


def test_untrimmed_leaves_the_pots_where_they_start(fixed_bias: Path) -> None:
    trimmed = readings(expected(fixed_bias, "--stage", "output"))["v3_cathode"]
    untrimmed = readings(expected(fixed_bias, "--stage", "output", "--untrimmed"))["v3_cathode"]
    target = described("c")["bias_adjust"][0]["target_v"]
    assert trimmed["nominal"] == pytest.approx(target, rel=0.01)
    assert untrimmed["nominal"] < 0.8 * target


def test_a_record_gives_stage_and_mains(cathode_bias: Path, tmp_path: Path) -> None:
    path = record(tmp_path, schema=1, stage="supply", mains_v=224.5, readings={"bp1": 361.0})
    data = expected(cathode_bias, "--given", path)
    assert data["mains_v"] == 224.5
    assert [stage["stage"] for stage in data["stages"]] == ["supply"]


def test_a_record_and_options_that_agree_are_fine(cathode_bias: Path, tmp_path: Path) -> None:
    path = record(tmp_path, stage="supply", mains_v=224.5)
    data = expected(cathode_bias, "--given", path, "--stage", "supply", "--mains", "224.5 V")
    assert data["mains_v"] == 224.5


@pytest.mark.parametrize(
    ("options", "words"), [(["--stage", "output"], "contradict"), (["--mains", "230"], "contradict")]
)
def test_a_record_and_an_option_that_contradict_are_refused(
    options: list[str], words: str, cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = record(tmp_path, stage="supply", mains_v=224.5)
    assert words in refused(capsys, cathode_bias, "--given", path, *options)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--stage", "outputs"], "no stage outputs, its stages are"),
        (["--mains", "230,5"], "230.5"),
        (["--mains", "nan"], "nan"),
        (["--mains", "0"], "more than 0"),
        (["--mains", "-230"], "more than 0"),
        (["--mains", "2300"], "up to 345 V"),
        (["--given", "nowhere.json"], "nowhere.json"),
        (["--given", "/"], "cannot be read"),
    ],
)
def test_a_wrong_option_is_refused_in_one_sentence(
    options: list[str], words: str, cathode_bias: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = refused(capsys, cathode_bias, *options)
    assert words in said
    assert said.count("\n") == 1


def test_all_faults_of_a_record_are_told_each_with_its_file(
    cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = record(tmp_path, stage="supply", colour="red", readings={"bp1": "360", "nowhere": 1})
    said = refused(capsys, cathode_bias, "--given", path).splitlines()
    assert len(said) == 3
    assert all(str(path) in line for line in said)


@pytest.mark.parametrize("data", [b"\xff\xfe{\x00}\x00", b"{" + b" " * 300_000 + b"}", b""])
def test_a_file_that_is_no_record_is_refused_in_one_sentence(
    data: bytes, cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "record.json"
    path.write_bytes(data)
    assert refused(capsys, cathode_bias, "--given", path).count("\n") == 1


def test_a_wrong_build_file_is_told_on_stderr_alone(wrong_build: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = refused(capsys, wrong_build, "--json")
    assert f"{wrong_build}:" in said
    assert "4,7k" in said


def test_text_for_people_names_stage_point_window_and_caution(
    cathode_bias: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["expect", str(cathode_bias), "--stage", "output", "--mains", "230"]) == 0
    text = capsys.readouterr().out
    assert "mains 230 V" in text
    line = next(line for line in text.splitlines() if "v2_cathode" in line)
    assert "17.8 V" in line
    assert "lethal" in text
