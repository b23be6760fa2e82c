"""README.md says what is so: its made parts, commands, options, exit codes, key names and JSON."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import fields

import pytest

from benchtui.buildfile.load import load
from benchtui.buildfile.models import Build
from benchtui.cli.answer import Exit
from benchtui.cli.commands import unbuilt
from benchtui.cli.main import main
from benchtui.cli.parsing import COMMANDS
from benchtui.diagnosis.kinds import kinds
from benchtui.forecast.given import read_given
from benchtui.session.overview import Standing
from benchtui.tui.drawing.foot import KEYS
from tests.cli import readme
from tests.cli.readme import EXAMPLE, ROOT

TEXT = readme.text()
LINES = TEXT.splitlines()


@pytest.mark.parametrize("name", ["example", "fields", "notes", "kinds"])
def test_made_part_is_up_to_date(name: str) -> None:
    assert readme.part(name) == readme.made()[name], "run python -m tests.cli.readme"


def test_both_set_up_lines_are_there_and_ci_runs_the_second() -> None:
    lines = [line.strip() for line in LINES if line.startswith("    python3 -m venv")]
    assert len(lines) == 2
    assert lines[0].endswith("benchtui builds/pp-6v6.toml")
    assert lines[1].endswith("python -m pytest -n auto")
    assert lines[1] in (ROOT / ".ci" / "run").read_text("utf-8").splitlines()


def test_no_registry_is_named() -> None:
    told = TEXT + (ROOT / ".ci" / "run").read_text("utf-8") + (ROOT / "pyproject.toml").read_text("utf-8")
    assert re.findall(r"index-url|find-links|https?://(?!toml\.io)\S+", told) == []


def test_every_command_is_told() -> None:
    told = set(re.findall(r"`(?:benchtui )?([a-z]+)(?: BUILD)?`", TEXT))
    assert {*COMMANDS, *unbuilt.PURPOSES} <= told


@pytest.mark.parametrize("command", ["", *COMMANDS])
def test_every_option_is_told(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    main([command, "--help"] if command else ["--help"])
    options = set(re.findall(r"--[a-z-]+", capsys.readouterr().out)) - {"--help", "--version"}
    assert {option for option in options if option not in TEXT} == set()


def test_every_exit_code_is_told() -> None:
    told = {int(code) for code in re.findall(r"^\| (\d+) \|", TEXT, re.MULTILINE)}
    assert told == set(Exit)


def test_every_table_of_a_build_file_is_told() -> None:
    head = TEXT[TEXT.index("## The build file") : TEXT.index("### A small example")]
    plain = {"format", "id", "name", "notes"}
    assert {key for key in Build.model_fields if f"[{key}" not in head} == plain


def test_toml_blocks_are_toml() -> None:
    blocks = re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)
    assert len(blocks) == 2
    for block in blocks:
        tomllib.loads(block)


def test_json_blocks_have_the_keys_of_the_contracts() -> None:
    blocks = re.findall(r"```json\n(.*?)```", TEXT, re.DOTALL)
    check, expect, record, diagnosed, listed, identified = (json.loads(block) for block in blocks)
    assert list(check) == ["schema", "build", "findings"]
    assert list(expect) == ["schema", "build", "mains_v", "stages"]
    assert list(diagnosed) == ["schema", "verdict", "points", "faults", "next"]
    assert {fault["fault"] for fault in diagnosed["faults"]} <= kinds().keys() | {"none"}
    assert list(identified) == ["schema", "notes", "parts"]
    assert list(identified["parts"][0]) == ["part", "kind", "findings", "next", "section", "slip"]
    assert list(listed["builds"][0]) == [field.name for field in fields(Standing)]
    assert set(record) == {"schema", "stage", "mains_v", "readings", "earlier", "fuses", "symptoms", "further"}


def test_the_record_shown_is_one_that_is_taken() -> None:
    build = load(EXAMPLE).build
    shown = json.loads(re.findall(r"```json\n(.*?)```", TEXT, re.DOTALL)[2])
    names = {"v2_cathode": "v1_cathode", "F2": "F1"}
    text = json.dumps(shown)
    for theirs, ours in names.items():
        text = text.replace(theirs, ours)
    assert read_given(text, build).readings == {"ht": 298.0, "v1_cathode": 19.2}


def test_every_key_is_told() -> None:
    told = set(re.findall(r"^\| ([A-Z]\S*) \|", TEXT, re.MULTILINE))
    assert {key for key, _ in KEYS} | {"F8", "Esc", "Ctrl+Q"} <= told


def test_the_screen_shown_is_80_by_24() -> None:
    head, body = TEXT.index("has been typed"), TEXT.index("Typing a number")
    lines = [line.removeprefix("    ") for line in TEXT[head:body].splitlines()[2:-1]]
    assert len(lines) == 24
    assert max(map(len, lines)) <= 80
