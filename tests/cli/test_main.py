"""Every way in gives an exit code of the contract and one sentence, never a traceback."""

from __future__ import annotations

import argparse

import pytest

from benchtui.cli import main as program
from benchtui.cli.answer import Answer
from benchtui.cli.commands import check, unbuilt
from benchtui.cli.main import main
from tests.cli.running import benchtui


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["a.toml", "--nonsense"], "--nonsense"),
        (["check"], "BUILD"),
        (["check", "a.toml", "b.toml"], "b.toml"),
        (["chek", "a.toml"], "a.toml"),
        (["expect", "a.toml", "--main", "230"], "--main"),
        (["expect", "a.toml", "--mains"], "--mains"),
        (["expect", "a.toml", "--stage"], "--stage"),
    ],
)
def test_wrong_usage_is_one_sentence_and_exit_2(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert said in told.err
    assert told.err.count("\n") == 1


@pytest.mark.parametrize("command", unbuilt.PURPOSES)
def test_a_command_whose_place_is_kept_says_that_it_is_not_built(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command, "builds/any.toml", "--json"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert f"benchtui {command} is not built yet" in told.err


@pytest.mark.parametrize("arguments", [[], ["--help"], ["-h"], ["check", "--help"], ["expect", "-h"]])
def test_help_is_given_on_stdout(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert "BUILD" in told.out


@pytest.mark.parametrize("command", ["check", "expect", *unbuilt.PURPOSES])
def test_first_help_names_every_command(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    main(["--help"])
    assert f"\n  {command} " in capsys.readouterr().out


def test_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("benchtui")


def failing(error: BaseException) -> object:
    def run(_: argparse.Namespace) -> Answer:
        raise error

    return run


def test_a_fault_of_the_program_is_one_sentence_without_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(check, "run", failing(ZeroDivisionError("a \x1b[31m slip\nof ours")))
    monkeypatch.delenv("BENCHTUI_DEBUG", raising=False)
    assert main(["check", "a.toml"]) == 3
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert "ZeroDivisionError: a <U+001B>[31m slip<U+000A>of ours" in told.err
    assert "BENCHTUI_DEBUG=1" in told.err


def test_the_traceback_is_there_for_whoever_asks(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(check, "run", failing(ZeroDivisionError("a slip")))
    monkeypatch.setenv("BENCHTUI_DEBUG", "1")
    assert main(["check", "a.toml"]) == 3
    assert "Traceback" in capsys.readouterr().err


def test_ctrl_c_ends_as_shells_expect(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(check, "run", failing(KeyboardInterrupt()))
    assert main(["check", "a.toml"]) == 130
    assert capsys.readouterr().err == "benchtui: interrupted\n"


def test_a_missing_package_is_named(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(check, "run", failing(ModuleNotFoundError("no", name="numpy.linalg")))
    assert main(["check", "a.toml"]) == 3
    assert "the package numpy.linalg is not installed" in capsys.readouterr().err


def test_a_missing_module_of_our_own_is_a_fault() -> None:
    words = program._missing(ModuleNotFoundError("no", name="benchtui.nothing"))
    assert "a fault in the program itself" in words


def test_the_app_is_refused_without_a_terminal_before_the_build_is_looked_at() -> None:
    done = benchtui("no-such-build.toml")
    assert (done.returncode, done.stdout) == (3, "")
    assert done.stderr.count("\n") == 1
    assert "terminal" in done.stderr
    assert "benchtui check" in done.stderr


@pytest.mark.parametrize("name", [b"r\xe9sum\xe9\x1b[2J.toml", b"two\nlines.toml", "leer/nirgends.toml"])
def test_a_file_that_is_not_there_is_named_without_raw_bytes(name: str | bytes) -> None:
    done = benchtui("check", name)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert "\x1b" not in done.stderr


def test_no_home_and_no_terminal_type_are_no_matter() -> None:
    done = benchtui("--help", environ={"HOME": None, "TERM": None, "LANG": None})
    assert (done.returncode, done.stderr) == (0, "")
