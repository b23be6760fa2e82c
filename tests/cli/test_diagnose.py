"""`diagnose`: the contract that other programs read, many records at once, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from benchtui.cli.main import main
from benchtui.diagnosis.kinds import kinds
from tests.record.counts import count
from tests.reference import amplifiers

SOUND = next(r for r in amplifiers.healthy("a") if r["stage"] == "supply")
#: One half of the rectifier dead, and a bleeder of ten times its value.
FAULTY = [r for r in amplifiers.faults("a") if r["case"] in (48, 76)]


def record(of: dict[str, Any]) -> dict[str, Any]:
    fuses = {"fuses": {"F1": "blown"}} if of.get("fuse_ht") == "blown" else {}
    return {"stage": of["stage"], "mains_v": of["mains_v"], "readings": of["readings"], **fuses}


def written(folder: Path, *records: dict[str, Any], indent: int | None = None) -> Path:
    path = folder / "readings.json"
    path.write_text("\n".join(json.dumps(each, indent=indent) for each in records) + "\n", "utf-8")
    return path


def answered(capsys: pytest.CaptureFixture[str], code: int, *arguments: object) -> str:
    assert main(["diagnose", *map(str, arguments)]) == code
    told = capsys.readouterr()
    assert told.err == ""
    return told.out


def refused(capsys: pytest.CaptureFixture[str], *arguments: object) -> str:
    assert main(["diagnose", *map(str, arguments)]) == 2
    told = capsys.readouterr()
    assert told.out == "" and "Traceback" not in told.err
    return told.err


def test_one_line_a_record_with_the_keys_of_the_contract(
    cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path, record(SOUND), *map(record, FAULTY))
    lines = answered(capsys, 1, cathode_bias, "--readings", path, "--json").splitlines()
    data = [json.loads(line, parse_constant=pytest.fail) for line in lines]
    assert [each["verdict"] == "pass" for each in data] == [True, False, False]
    for each, of in zip(data, (SOUND, *FAULTY), strict=True):
        assert list(each) == ["schema", "verdict", "points", "faults", "next"]
        assert set(each["points"]) == set(of["readings"])
        assert all(list(point) == ["verdict", "low", "high"] for point in each["points"].values())
        shares = [fault["probability"] for fault in each["faults"]]
        assert shares == sorted(shares, reverse=True) and sum(shares) == pytest.approx(1.0, abs=1e-3)
        names = {fault["fault"] for fault in each["faults"]}
        assert {"none", "unknown"} <= names <= kinds().keys() | {"none", "unknown"}
    for each, of in zip(data[1:], FAULTY, strict=True):
        best = [fault["part"] for fault in each["faults"][:3]]
        assert {of["part"], *of["also"]} & set(best)
        if each["next"] is not None:
            assert list(each["next"]) == ["kind", "state", "point", "text", "outcomes"]
            assert each["next"]["kind"] in ("live", "again", "ohms", "exchange")
    assert data[0]["next"] is None


def test_one_record_over_many_lines_and_as_text(
    cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path, record(FAULTY[0]), indent=1)
    text = answered(capsys, 1, cathode_bias, "--readings", path)
    assert ": warn" in text.splitlines()[0] and "explains" in text and " %  " in text
    assert "lethal" in text


def test_sound_readings_end_with_code_0(cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "Nothing is wrong" in answered(capsys, 0, cathode_bias, "--readings", written(tmp_path, record(SOUND)))


def test_a_symptom_of_an_amplifier_that_worked_is_weighed(
    cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path, {"stage": "supply", "readings": {}, "symptoms": ["hum"]})
    (line,) = answered(capsys, 1, cathode_bias, "--readings", path, "--json").splitlines()
    none = next(each for each in json.loads(line)["faults"] if each["fault"] == "none")
    assert json.loads(line)["verdict"] == "warn" and none["probability"] < 0.2


def test_the_stage_may_be_named_outside(cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, {key: value for key, value in record(SOUND).items() if key != "stage"})
    answered(capsys, 0, cathode_bias, "--readings", path, "--stage", "supply")
    assert '"stage" is wanted' in refused(capsys, cathode_bias, "--readings", path)
    path = written(tmp_path, record(SOUND))
    assert "contradict" in refused(capsys, cathode_bias, "--readings", path, "--stage", "output")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "this is not one JSON record"),
        ("[1]", "one JSON object is wanted"),
        ('{"stage": "supply", "readings": {"bp9": 1}}', "no point"),
        ('{"stage": "nowhere", "readings": {}}', "no stage"),
        ('{"stage": "supply", "readings": {"bp1": "OL"}}', "which only a resistance can be"),
        ('{"stage": "supply", "readings": {}}\n{"stage": "supply"}\n', ':2: the record has no "readings"'),
        ('{"stage": "supply", "readings": {}, "fuses": {"F9": "blown"}}', "no fuse"),
        ('{"stage": "supply", "readings": {}, "symptoms": ["whistle"]}', '"whistle" is no symptom, those known are'),
    ],
)
def test_a_wrong_record_is_refused_with_its_place(
    text: str, said: str, cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "readings.json"
    path.write_text(text, "utf-8")
    told = refused(capsys, cathode_bias, "--readings", path)
    assert said in told and str(path) in told and told.startswith("benchtui diagnose: ")


def test_without_readings_it_says_what_is_wanted(cathode_bias: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "--readings" in refused(capsys, cathode_bias)
    assert "cannot be read" in refused(capsys, cathode_bias, "--readings", "/nowhere/at/all.json")


@pytest.mark.skipif(not count(short=False, full=True), reason="twenty seconds: BENCHTUI_LONG=1")
def test_what_next_asked_for_comes_back_as_it_was_named(
    cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two open resistors that read alike: ohms tell which, and come back with kind, state and point of `next`."""
    of = record(next(r for r in amplifiers.faults("a") if (r["part"], r["fault"]) == ("R13", "resistor open")))
    (line,) = answered(capsys, 1, cathode_bias, "--readings", written(tmp_path, of), "--json").splitlines()
    asked = json.loads(line)["next"]
    assert asked["kind"] == "ohms" and {each["faults"][0]["part"] for each in asked["outcomes"]} == {"R12", "R13"}
    made = {key: asked[key] for key in ("kind", "state", "point")} | {"value": "OL"}
    path = written(tmp_path, of | {"further": [made]})
    (line,) = answered(capsys, 1, cathode_bias, "--readings", path, "--json").splitlines()
    assert (best := json.loads(line)["faults"][0])["part"] == asked["point"] and best["probability"] > 0.9


@pytest.mark.parametrize(
    ("further", "says"),
    [
        ({}, '"further" is {}, a list of readings is wanted'),
        ([{"kind": "ohms"}], "is no table of kind, state, point, value"),
        ([{"kind": "smell", "state": "output", "point": "R12", "value": 1}], '"kind" is "smell", one of live, again'),
        ([{"kind": "ohms", "state": "output", "point": "R12", "value": -1}], "below zero"),
        ([{"kind": "live", "state": "output", "point": "bp1", "value": "OL"}], "a number in volts or ohms is wanted"),
        ([{"kind": "ohms", "state": "output", "point": "R99", "value": 1}], "no place in ohms is called 'R99'"),
    ],
)
def test_a_wrong_further_reading_is_refused_by_place(
    further: object, says: str, cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path, {"stage": "output", "readings": {}, "further": further})
    assert says in (told := refused(capsys, cathode_bias, "--readings", path, "--json")) and str(path) in told
