"""Kept answers: found again only while nothing has changed that they depend on, and never in the way."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from benchtui.cli import kept as module
from benchtui.cli.answer import Answer, Exit
from benchtui.cli.kept import kept
from tests.cli.running import benchtui


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache" / "benchtui"


@pytest.fixture
def build(tmp_path: Path) -> Path:
    path = tmp_path / "build.toml"
    path.write_text("one", "utf-8")
    return path


class Counted:
    """Computes an answer, and counts how often."""

    def __init__(self, code: int = Exit.FINE) -> None:
        self.times, self._code = 0, code

    def __call__(self) -> Answer:
        self.times += 1
        return Answer(self._code, f"computed {self.times}", "µ words")


def test_the_same_question_is_computed_once(folder: Path, build: Path) -> None:
    compute = Counted()
    first = kept(["json"], [build], compute)
    assert kept(["json"], [build], compute) == first == Answer(Exit.FINE, "computed 1", "µ words")
    assert compute.times == 1


@pytest.mark.parametrize("change", ["word", "file", "program", "package"])
def test_after_any_change_it_is_computed_again(
    folder: Path, build: Path, monkeypatch: pytest.MonkeyPatch, change: str
) -> None:
    compute, words = Counted(), ["json"]
    kept(words, [build], compute)
    if change == "word":
        words = ["json", "mains=230"]
    elif change == "file":
        build.write_text("two", "utf-8")
    elif change == "program":
        monkeypatch.setattr(module, "__file__", str(build.parent / "cli" / "kept.py"))
    else:
        monkeypatch.setattr(module, "version", lambda name: f"{name} of tomorrow")
    assert kept(words, [build], compute).out == "computed 2"


def test_a_file_that_changes_while_it_is_computed_leaves_nothing_behind(folder: Path, build: Path) -> None:
    def compute() -> Answer:
        build.write_text("changed", "utf-8")
        return Answer(Exit.FINE, "of one of the two")

    kept([], [build], compute)
    assert not list(folder.glob("*"))


def test_findings_are_kept_with_their_code(folder: Path, build: Path) -> None:
    compute = Counted(Exit.FINDINGS)
    assert kept([], [build], compute) == kept([], [build], compute) == Answer(Exit.FINDINGS, "computed 1", "µ words")


def test_a_refusal_is_not_kept(folder: Path, build: Path) -> None:
    compute = Counted(Exit.INPUT_WRONG)
    kept([], [build], compute)
    assert kept([], [build], compute).out == "computed 2"


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: text[: len(text) // 2],
        lambda text: text.replace("computed 1", "computed 9"),
        lambda text: "[]",
        lambda text: "",
    ],
)
def test_a_damaged_one_is_computed_again(folder: Path, build: Path, damage: Callable[[str], str]) -> None:
    compute = Counted()
    kept([], [build], compute)
    (place,) = folder.glob("*.json")
    place.write_text(damage(place.read_text("utf-8")), "utf-8")
    assert kept([], [build], compute).out == "computed 2"
    assert kept([], [build], compute).out == "computed 2"


def test_where_nothing_can_be_kept_it_is_computed(build: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(build))  # a file where the folder should be
    compute = Counted()
    assert [kept([], [build], compute).out for _ in range(2)] == ["computed 1", "computed 2"]


def test_only_the_newest_stay(folder: Path, build: Path) -> None:
    for number in range(module.MOST + 3):
        kept([str(number)], [build], Counted())
    assert len(list(folder.glob("*"))) == module.MOST


def test_expect_says_the_same_the_second_time(folder: Path, cathode_bias: Path) -> None:
    environ = {"XDG_CACHE_HOME": str(folder.parent)}
    runs = [benchtui("expect", cathode_bias, "--stage", "supply", "--json", environ=environ) for _ in range(2)]
    assert (runs[0].returncode, runs[0].stdout, runs[0].stderr) == (0, runs[1].stdout, runs[1].stderr)
    assert len(list(folder.glob("*.json"))) == 1
    other = benchtui("expect", cathode_bias, "--stage", "supply", "--json", "--mains", "200", environ=environ)
    assert other.stdout != runs[0].stdout
