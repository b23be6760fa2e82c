"""Every state of danger, left in every way: the code, a sane terminal, and what is to be done about the power last."""

from __future__ import annotations

import shutil
import signal
from pathlib import Path

import pytest

from benchtui.cli.main import main
from tests.crash.forks import Forks
from tests.crash.terminal import Terminal
from tests.record.counts import count
from tests.session.made_up import BUILDS, Desk

#: What is said of a record that nobody writes.
ENDS_WITH_POWER_ON = "The record ends with power on: switch off, pull the plug."

HANG_S = 30.0

#: The word in the strip, and what the last line says, state by state.
STATES = {
    "bare": ("BARE", "The chassis was bare."),
    "gate": ("ASSUME LIVE", "Assume live and charged: pull the plug"),
    "hands": ("DEAD AS MEASURED", "Hands out, clip on, plug out."),
    "closing": ("CLOSING", "No power was switched on here."),
    "powered": ("LIVE", "Power may be on: switch off and pull the plug."),
    "done": ("ASSUME LIVE", "Finished. Before it is opened again: plug out, then the gate."),
    "halt": ("NOT RECORDING", "NOT SAVED after event #"),
    "readonly": ("READ ONLY", "Another benchtui writes this record: there the power was on at its last event."),
}

#: Ways to leave, each with its exit code where all is recorded; in "halt" it is 3 for all but an interrupt.
WAYS = {"SIGTERM": 0, "SIGHUP": 0, "SIGINT": 130, "keys": 0, "fault": 3}

ALL = [(state, way) for state in STATES for way in WAYS]

#: Each state and each way at least once.
SOME = [("bare", "keys"), ("gate", "SIGHUP"), ("hands", "SIGINT"), ("closing", "SIGTERM"), ("powered", "fault"),
        ("done", "keys"), ("halt", "SIGTERM"), ("readonly", "SIGHUP")]  # fmt: skip


def leave(terminal: Terminal, way: str) -> None:
    """Leave by `way`; a fault comes by itself."""
    if way.startswith("SIG"):
        terminal.process.send_signal(signal.Signals[way])
    elif way == "keys":
        terminal.send(b"\x11")
        terminal.listen(0.7)  # then again, and not by a held key
        if terminal.process.poll() is None:
            terminal.send(b"\x11")


@pytest.mark.parametrize(("state", "way"), count(short=SOME, full=ALL))
def test_the_last_line_says_what_to_do_about_the_power(state: str, way: str, forks: Forks, tmp_path: Path) -> None:
    word, last = STATES[state]
    terminal = Terminal(["state", str(tmp_path), state, *["fault"] * (way == "fault")], forks.launch)
    try:
        terminal.wait_for(word)
        leave(terminal, way)
        code = terminal.process.wait(HANG_S)
        terminal.listen(0.3)
        assert code == (3 if state == "halt" and way != "SIGINT" else WAYS[way])
        assert terminal.sane()
        lines = terminal.parting()
        assert last in lines[-1], lines
        told = [line for line in lines if "a fault in the program itself" in line]
        assert bool(told) == (way == "fault"), lines
        assert "Traceback" not in "\n".join(lines) and len(lines) <= 6, lines
    finally:
        terminal.close()


def test_a_build_that_does_not_open_says_that_its_record_ends_with_power_on(
    forks: Forks, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    build = tmp_path / "pp-6v6.toml"
    shutil.copyfile(BUILDS / build.name, build)
    desk = Desk(build, tmp_path)
    desk.till(lambda view: view.danger.word.startswith("LIVE"))
    desk.drop()
    build.write_text("nonsense", "utf-8")
    terminal = Terminal(["command", str(build)], forks.launch)
    try:
        assert terminal.process.wait(HANG_S) == 2
        terminal.listen(0.3)
        lines = terminal.parting()
        assert str(build) in "".join(lines) and lines[-1] == ENDS_WITH_POWER_ON, lines
    finally:
        terminal.close()
    assert main([str(build)]) == 3, "no terminal here"
    assert capsys.readouterr().err.splitlines()[-1] == ENDS_WITH_POWER_ON
