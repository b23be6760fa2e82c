"""`check`: the contract that other programs read, and which findings make it exit 1."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from benchtui.cli.main import main
from benchtui.forecast import review
from benchtui.forecast.results import Finding

KEYS = ["severity", "stage", "part", "rule", "text", "value", "limit", "source"]


def finding(severity: str, value: float | None = 510.0) -> Finding:
    return Finding(severity, "supply", "C1", "capacitor_volts", "510 V of 450 V", value, 450.0, "marked on it")


@pytest.fixture(autouse=True)
def nothing_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def found(monkeypatch: pytest.MonkeyPatch, *findings: Finding) -> None:
    monkeypatch.setattr(review, "review", lambda build: findings)


@pytest.mark.parametrize(
    ("severities", "code"), [([], 0), (["note"], 0), (["note", "warn"], 1), (["stop"], 1), (["warn"], 1)]
)
def test_notes_alone_are_fine(
    severities: list[str],
    code: int,
    cathode_bias: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    found(monkeypatch, *map(finding, severities))
    assert main(["check", str(cathode_bias), "--json"]) == code
    assert len(json.loads(capsys.readouterr().out)["findings"]) == len(severities)


def test_document_has_the_keys_of_the_contract_and_no_others(
    cathode_bias: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["check", str(cathode_bias), "--json"])
    data = json.loads(capsys.readouterr().out, parse_constant=pytest.fail)
    assert list(data) == ["schema", "build", "findings"]
    assert data["schema"] == 1
    assert data["findings"], "the gate's minutes at least are a note"
    for entry in data["findings"]:
        assert list(entry) == KEYS
        assert entry["severity"] in ("note", "warn", "stop")
        assert entry["text"]
        assert entry["source"]


def test_worst_findings_come_first_in_both_forms(
    cathode_bias: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    found(monkeypatch, finding("note"), finding("warn"), finding("stop"))
    main(["check", str(cathode_bias), "--json"])
    data = json.loads(capsys.readouterr().out)
    assert [entry["severity"] for entry in data["findings"]] == ["stop", "warn", "note"]
    main(["check", str(cathode_bias)])
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines[2:5]] == ["stop", "warn", "note"]
    assert "supply C1: 510 V of 450 V [marked on it]" in lines[2]
    assert "1 stop, 1 warn, 1 note." in lines
    assert "lethal" in "\n".join(lines)


def test_a_number_that_is_not_known_is_null(
    cathode_bias: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    found(monkeypatch, finding("warn", value=float("nan")))
    main(["check", str(cathode_bias), "--json"])
    entry = json.loads(capsys.readouterr().out, parse_constant=pytest.fail)["findings"][0]
    assert (entry["value"], entry["limit"]) == (None, 450.0)


def test_what_is_odd_in_the_file_is_a_warn_with_its_line(
    cathode_bias: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = cathode_bias.read_text("utf-8")
    odd = tmp_path / "odd.toml"
    odd.write_text(text.replace('value = "16 uF"', 'value = "1 F"'), "utf-8")
    assert main(["check", str(odd), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    entry = next(entry for entry in data["findings"] if entry["rule"] == "build_file")
    assert entry["severity"] == "warn"
    assert "C1" in entry["part"]
    assert entry["source"].startswith(f"{odd}:")


def test_a_wrong_build_file_is_refused_with_all_its_faults(
    wrong_build: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(wrong_build), "--json"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.splitlines()) > 1
    assert all(line.startswith(str(wrong_build)) for line in told.err.splitlines())
