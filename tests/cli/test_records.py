"""`benchtui records`: several builds of one builder, each with its record, at a glance."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from benchtui.session.errors import BuildWrong
from benchtui.session.opening import open_session
from tests.cli.running import benchtui
from tests.session.made_up import BUILDS, Desk


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three builds: one never begun, one left with power on, one whose file is gone; and a file that is no build."""
    for name in ("pp-6v6", "pp-el34", "se-stereo"):
        shutil.copyfile(BUILDS / f"{name}.toml", tmp_path / f"{name}.toml")
    (tmp_path / "notes.toml").write_text("title = 'x'\n", "utf-8")
    live = Desk(tmp_path / "pp-6v6.toml", tmp_path)
    live.till(lambda view: view.danger.word == "LIVE")
    live.session.leaving("mains lead")
    live.drop()
    gone = Desk(tmp_path / "se-stereo.toml", tmp_path)
    gone.reach("Step 1")
    gone.drop()
    (tmp_path / "se-stereo.toml").unlink()
    return tmp_path


def test_each_build_is_told_with_its_stage_and_how_it_was_left(folder: Path) -> None:
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    done = benchtui("records", folder, "--json")
    assert done.returncode == 0 and done.stderr == ""
    live, new, gone = json.loads(done.stdout)["builds"]
    told = [live[key] for key in ("id", "stage", "stands", "loose")]
    assert told == ["pp-6v6", "mains", "POWER WAS ON", "mains lead"]
    assert live["last_s"] > 1_700_000_000.0 - 1.0
    assert (new["id"], new["record"], new["stands"]) == ("pp-el34", "", "not begun")
    assert (gone["id"], gone["file"], gone["stands"]) == ("se-stereo", "", "bare chassis")
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before, "a look changes nothing"


def test_the_list_for_people_names_what_is_loose_and_what_is_damaged(folder: Path) -> None:
    record = folder / "se-stereo.bench"
    data = bytearray(record.read_bytes())
    data[len(data) // 2] ^= 1
    record.write_bytes(data)
    done = benchtui("records", folder)
    assert done.returncode == 1
    assert "POWER WAS ON; loose: mains lead" in done.stdout and "not begun" in done.stdout
    assert "se-stereo.bench is damaged" in " ".join(done.stdout.split())


def test_an_empty_folder_and_one_that_is_none_are_said(tmp_path: Path) -> None:
    assert benchtui("records", tmp_path).stdout == "No build file and no record here.\n"
    done = benchtui("records", tmp_path / "nowhere")
    assert (done.returncode, done.stdout) == (3, "") and "a folder with builds is wanted" in done.stderr


def test_a_record_is_refused_to_the_file_of_another_build(folder: Path) -> None:
    shutil.copyfile(folder / "pp-el34.toml", folder / "pp-6v6.toml")
    before = (folder / "pp-6v6.bench").read_bytes()
    with pytest.raises(BuildWrong, match=r"its id is 'pp-el34', but .*pp-6v6.bench is the record of 'pp-6v6'"):
        open_session(folder / "pp-6v6.toml")
    assert (folder / "pp-6v6.bench").read_bytes() == before
    shutil.copyfile(BUILDS / "pp-6v6.toml", folder / "pp-6v6.toml")
    open_session(folder / "pp-6v6.toml").leave()
