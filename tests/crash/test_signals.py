"""The program told to end, or its terminal gone: it ends, the terminal is sane, the last line tells of the power."""

from __future__ import annotations

import signal
from pathlib import Path

from benchtui.record import Journal
from tests.crash.forks import Forks
from tests.crash.terminal import Terminal

HANG_S = 30.0


def app(forks: Forks, folder: Path) -> Terminal:
    """The app at the gate of a build that was never begun."""
    terminal = Terminal(["new", str(folder)], forks.launch)
    terminal.wait_for("saved #", "answer")
    return terminal


def test_a_signal_to_end_leaves_a_sane_terminal_a_last_line_and_a_sound_record(forks: Forks, tmp_path: Path) -> None:
    terminal = app(forks, tmp_path)
    try:
        assert not terminal.sane(), "while it runs, keys come one by one and are not echoed"
        terminal.answer("fitted", "Did this chassis ever meet mains?")
        terminal.process.send_signal(signal.SIGTERM)
        assert terminal.process.wait(HANG_S) == 0
        terminal.listen(0.5)
        assert terminal.sane()
        lines = terminal.parting()
        assert lines[-1].startswith("Assume live and charged: pull the plug"), lines
        assert any(line.startswith("Tag for the plug: DO NOT PLUG IN") for line in lines), lines
    finally:
        terminal.close()
    with Journal.open(tmp_path / "pp-6v6.bench") as journal:
        assert journal.trouble is None and journal.events[-1].kind == "fitted"


def test_a_terminal_that_vanishes_without_a_signal_ends_the_program(forks: Forks, tmp_path: Path) -> None:
    terminal = app(forks, tmp_path)
    try:
        terminal.answer("fitted", "Did this chassis ever meet mains?")
    finally:
        terminal.vanish()
    try:
        assert terminal.process.wait(HANG_S) in (0, 3)
    finally:
        terminal.process.kill()
    with Journal.open(tmp_path / "pp-6v6.bench") as journal:
        assert journal.trouble is None and journal.events[-1].kind == "fitted"
