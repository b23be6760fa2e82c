"""`report` and `plot` from outside: records that are missing, damaged or of another kind, and names that are wrong."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from benchtui.cli.main import main
from benchtui.record import Journal
from tests.cli.running import ROOT


@pytest.fixture
def begun(tmp_path: Path) -> Path:
    """A build whose record has just begun."""
    path = tmp_path / "pp-6v6.toml"
    shutil.copyfile(ROOT / "builds" / path.name, path)
    header = {"build": "pp-6v6", "sha256": "0" * 64, "source": path.read_text("utf-8")}
    Journal.create(path.with_suffix(".bench"), header).close()
    return path


def test_without_a_record_it_says_how_to_begin_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(tmp_path / "a.toml")]) == 3
    told = capsys.readouterr()
    assert told.out == "" and "there is no record" in told.err and told.err.count("\n") == 1


def test_a_record_that_is_no_rehearsal_is_not_reported_as_one(begun: Path, capsys: pytest.CaptureFixture[str]) -> None:
    begun.with_suffix(".bench").rename(begun.with_suffix(".rehearsal"))
    begun.with_suffix(".bench.head").rename(begun.with_suffix(".rehearsal.head"))
    assert main(["report", str(begun), "--rehearsal"]) == 3
    assert "is not the record of a rehearsal" in capsys.readouterr().err


@pytest.mark.parametrize(
    "options",
    [["--lid", "x.bench"], ["--pdf", "a.toml"], ["--html", "a.bench"], ["--html", "a.html", "--lid", "a.html"]],
)
def test_a_name_that_is_no_paper_is_refused(
    options: list[str], begun: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["report", str(begun), *options]) == 2
    assert capsys.readouterr().out == ""


def test_a_file_of_somebody_else_is_left_alone(begun: Path, capsys: pytest.CaptureFixture[str]) -> None:
    theirs = begun.with_suffix(".md")
    theirs.write_text("mine", "utf-8")
    assert main(["report", str(begun), "--lid", str(theirs)]) == 3
    assert theirs.read_text("utf-8") == "mine" and "was not written by benchtui report" in capsys.readouterr().err


def test_a_damaged_record_is_reported_as_one_and_exits_3(begun: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = begun.with_suffix(".bench")
    record.write_bytes(record.read_bytes() + b'{"n":2,"x":1}\n')
    assert main(["report", str(begun), "--json"]) == 3
    told = capsys.readouterr()
    assert json.loads(told.out)["record"]["sound"] is False and "is damaged" in told.err


def test_a_record_just_begun_is_not_finished_and_read_while_it_is_written(
    begun: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Journal.open(begun.with_suffix(".bench")):
        assert main(["report", str(begun), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["record"]["finished"] is False and data["readings"] == []


@pytest.mark.parametrize(
    "options",
    [
        ["--valve", "V9"], ["--valve", "V4"], ["--stage", "cold"], ["--stage", "supply"],
        ["--kind", "readings"], ["--kind", "spectrum"], ["--kind", "fall", "--valve", "V2"],
        ["--kind", "response", "--stage", "driver"], ["--kind", "readings", "--stage", "nowhere"],
    ],
)  # fmt: skip
def test_plot_names_what_there_is_instead(options: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plot", str(ROOT / "builds" / "pp-6v6.toml"), *options]) == 2
    told = capsys.readouterr()
    assert told.out == "" and told.err.startswith("benchtui plot: ")


def test_plot_fits_a_terminal_and_says_what_is_computed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plot", str(ROOT / "builds" / "pp-6v6.toml"), "--valve", "V2"]) == 0
    out = capsys.readouterr().out
    assert "O  operating point, computed" in out and "load line for signals, computed" in out
    picture = out[: out.index("Valve amplifiers")]
    assert max(map(len, picture.splitlines())) <= 78 and picture.isascii()


@pytest.mark.parametrize(("kind", "said"), [("response", "3 dB down at"), ("fall", "Only a reading says")])
def test_plot_draws_what_is_computed_without_a_record(kind: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    build = str(ROOT / "builds" / "pp-6v6.toml")
    assert main(["plot", build, "--kind", kind]) == 0
    out = capsys.readouterr().out
    picture = out[: out.index("Valve amplifiers")]
    assert said in picture and max(map(len, picture.splitlines())) <= 78 and ", computed" in picture
    assert main(["plot", build, "--kind", kind, "--json"]) == 0
    (plot,) = json.loads(capsys.readouterr().out)["plots"]
    assert {series["told"] for series in plot["series"]} == {"computed"} and len(plot["series"][0]["points"]) > 50
