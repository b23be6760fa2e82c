"""The whole program in a pseudo terminal that is odd, poor or none, and that delivers more than keys."""

from __future__ import annotations

import os
import pty
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest

from benchtui.tui.terminal import refusal
from tests.badinput.test_environment import PLACES
from tests.cli.running import COMMAND, ROOT
from tests.crash.terminal import Terminal
from tests.record.counts import count
from tests.session.made_up import BUILDS

CHILD = Path(__file__).with_name("app_child.py")
HANG_S = 60.0

#: Escape sequences that set a colour: 3x, 4x, 9x, 10x in the parameters of an SGR.
_COLOUR = re.compile(rb"\x1b\[(?:[0-9]+;)*(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])[;m]")
_ANY_ESCAPE = re.compile(rb"\x1b(?:\[[0-?]*[ -/]*[@-~]|[ -/]*[0-~]|\].*?(?:\x07|\x1b\\))", re.DOTALL)


def environment(**changes: str | None) -> dict[str, str]:
    plain = {"TERM": "xterm-256color", "LANG": "C.UTF-8", "NO_COLOR": None, "LC_ALL": None, "PYTHONPATH": str(ROOT)}
    return {name: value for name, value in (os.environ | plain | changes).items() if value is not None}


def app(folder: Path, **changes: str | None) -> Terminal:
    """The app on a build that was never begun, at its first question."""
    path = folder / "pp-6v6.toml"
    shutil.copyfile(BUILDS / path.name, path)
    terminal = Terminal([sys.executable, "-W", "error", str(CHILD), str(path)], environment(**changes))
    terminal.wait_for("saved #", "answer")
    return terminal


@pytest.fixture(scope="module")
def at_plug(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Terminal]:
    """The app before an empty gate; every test leaves it there."""
    terminal = app(tmp_path_factory.mktemp("plug"))
    terminal.answer("fitted", "Did this chassis ever meet mains?")
    terminal.answer("met", "Pull the plug")
    yield terminal
    terminal.close()


def still_at_plug(terminal: Terminal) -> None:
    """Is the plug the item that is due, the program alive, and the next key shown?"""
    terminal.type("q")
    terminal.send(b"\x7f")
    terminal.listen(0.3)
    assert terminal.process.poll() is None and "\u25b8 plug out" in terminal.text(), terminal.text()


def test_keys_of_the_terminal_lose_nothing(at_plug: Terminal) -> None:
    at_plug.send(b"\x13")  # Ctrl-S: no flow control, drawing goes on
    still_at_plug(at_plug)
    for keys in (b"\x1c\x11", b"\x03"):  # Ctrl-\ ends nothing; Ctrl-Q and Ctrl-C ask before they do
        at_plug.send(keys)
        at_plug.wait_for("Leave now?")
        at_plug.send(b"\x1b")
        at_plug.wait_for("\u25b8 plug out")
    still_at_plug(at_plug)


@pytest.mark.parametrize("by", ["key", "signal"])
def test_a_program_that_was_stopped_and_goes_on_begins_the_gate_anew(by: str, at_plug: Terminal) -> None:
    at_plug.answer("out", "\u2713 plug out")
    for _ in range(1 if by == "key" else count(short=5, full=100)):  # at once again: in the middle of what it draws
        if by == "key":
            at_plug.send(b"\x1a")  # Ctrl-Z
        else:
            os.kill(at_plug.process.pid, signal.SIGSTOP)
        os.waitid(os.P_PID, at_plug.process.pid, os.WSTOPPED | os.WNOWAIT)
        os.kill(at_plug.process.pid, signal.SIGCONT)
    at_plug.wait_for("\u25b8 plug out")
    still_at_plug(at_plug)


def test_a_megabyte_pasted_is_no_answer_and_the_next_key_works(at_plug: Terminal) -> None:
    size = count(short=60_000, full=1_000_000)
    for pasted in (b"out\r" * (size // 4), b"x" * size):
        at_plug.send(b"\x1b[200~" + pasted + b"\x1b[201~")
        at_plug.type("\r")
        at_plug.send(b"\x15")  # Ctrl-U empties the field
        still_at_plug(at_plug)


def test_mouse_and_focus_clear_nothing(at_plug: Terminal) -> None:
    for row in range(1, 25):
        for column in (3, 20, 60):
            at_plug.send(f"\x1b[<0;{column};{row}M\x1b[<0;{column};{row}m".encode())
    at_plug.send(b"\x1b[O\x1b[I" * 20 + b"\x1b[M !!" + b"\x1b[<64;5;5M" * 10)
    at_plug.listen(0.5)
    still_at_plug(at_plug)


@pytest.mark.parametrize("place", list(PLACES)[: count(short=1, full=len(PLACES))])
def test_the_app_works_wherever_it_runs(place: str, tmp_path: Path) -> None:
    changes = {name: value for name, value in PLACES[place].items() if name != "TERM" or value == "vt100"}
    terminal = app(tmp_path, **changes)
    try:
        terminal.answer("fitted", "Did this chassis ever meet mains?")
        if "NO_COLOR" in changes or "TERM" in changes:
            assert not _COLOUR.search(terminal.drawn())
        if changes.get("LANG", "UTF-8") in (None, "C", "de_DE.ISO-8859-1"):
            assert _ANY_ESCAPE.sub(b"", terminal.drawn()).isascii()
        terminal.send(b"\x03")
        terminal.wait_for("Leave now?")
        terminal.type("\x03")
        assert terminal.process.wait(HANG_S) == 0
        terminal.listen(0.3)
        assert "Traceback" not in terminal.text()
        assert terminal.parting()[-1].startswith("Assume live and charged: pull the plug")
    finally:
        terminal.close()


def refused(arguments: list[str], term: str | None, piped: str | None) -> tuple[int, str]:
    """Code and words of the app where one of its streams is a pipe, the others a terminal."""
    ours, theirs = pty.openpty()
    streams: dict[str, int] = dict.fromkeys(("stdin", "stdout", "stderr"), theirs)
    if piped:
        streams[piped] = subprocess.PIPE
    done = subprocess.Popen([*COMMAND, *arguments], cwd=ROOT, env=environment(TERM=term), **streams)  # type: ignore[call-overload]
    os.close(theirs)
    try:
        told = b"".join(part or b"" for part in done.communicate(timeout=HANG_S))
    finally:
        done.kill()
    if piped != "stderr":
        told += os.read(ours, 65536)
    os.close(ours)
    return done.returncode, told.decode()


#: What is refused, and the word that says so; a process of its own for one of each kind, the others in this one.
PLAIN = [("dumb", "TERM is 'dumb'"), (None, "TERM is not set"), ("unknown", "TERM is 'unknown'")]
PIPED = ["stdout", "stdin", "stderr"]


@pytest.mark.parametrize(("term", "says"), PLAIN[: count(short=1, full=3)])
def test_what_cannot_be_drawn_on_is_refused(term: str | None, says: str) -> None:
    code, told = refused(["builds/pp-6v6.toml"], term, None)
    assert code == 3 and says in told and "benchtui check BUILD" in told and "\x1b" not in told


@pytest.mark.parametrize(("term", "says"), PLAIN)
def test_a_terminal_that_is_none_is_told_by_its_name(
    term: str | None, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", term or "")
    assert says in (refusal() or "")


@pytest.mark.parametrize("piped", PIPED)
def test_each_stream_must_be_a_terminal(piped: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    for name in PIPED:
        monkeypatch.setattr(sys, name, SimpleNamespace(isatty=lambda: True))
    assert refusal() is None
    monkeypatch.setattr(sys, piped, SimpleNamespace(isatty=lambda: False))
    assert piped in (refusal() or "")
    monkeypatch.setattr(sys, piped, None)
    assert piped in (refusal() or "")


@pytest.mark.parametrize("piped", PIPED[: count(short=1, full=3)])
def test_a_stream_that_is_no_terminal_is_refused(piped: str) -> None:
    code, told = refused(["builds/pp-6v6.toml"], "xterm", piped)
    assert code == 3 and piped in told and "benchtui check BUILD" in told and "\x1b" not in told
