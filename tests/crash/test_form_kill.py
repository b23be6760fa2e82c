"""`benchtui form` on a terminal: what was answered is on the disk after SIGKILL, the next start begins at the gate."""

from __future__ import annotations

import os
import random
from contextlib import closing
from pathlib import Path

import pytest

from benchtui.cli.forming_dialogue import state_of
from benchtui.record import Journal
from tests.cli.running import COMMAND, ROOT, benchtui
from tests.crash.terminal import Terminal
from tests.identify.on_paper import HEAD
from tests.record.counts import count

NOTES = HEAD + '[capacitor.C2]\nvalue = "47u"\nvolts = "450 V"\nresistor_watts = "10 W"\n'
TYPED = ("hello", "out", "9,1", "9.1", "0.3", "on", "0.2", "stop", "out", "12.0")
KILLS = count(short=2, full=30)


@pytest.fixture
def notes(tmp_path: Path) -> Path:
    path = tmp_path / "notes.toml"
    path.write_text(NOTES, "utf-8")
    return path


class Talk(Terminal):
    """The dialogue on a terminal, typed at when it asks."""

    def __init__(self, notes: Path) -> None:
        surroundings = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm"}
        super().__init__([*COMMAND, "form", str(notes), "C2"], surroundings)

    def asked(self) -> str:
        """The screen once a line is waited for."""
        for _ in range(400):
            lines = [line.rstrip() for line in self.text().split("\n") if line.strip()]
            if lines and lines[-1] == ">":
                return self.text()
            self.listen(0.02)
        raise AssertionError(f"nothing was asked\n{self.text()}")

    def type_line(self, text: str) -> None:
        """Type a line at once, and leave the time to take it."""
        self.send(f"{text}\r".encode())
        self.listen(0.05)


def typed(notes: Path) -> list[str]:
    with Journal.open(notes.with_name("notes.C2.forming"), write=False) as journal:
        return [event.data["line"] for event in journal.events if event.kind == "typed"]


def test_nothing_that_was_answered_is_lost_and_each_start_begins_at_the_gate(notes: Path) -> None:
    rng = random.Random(8)
    known: list[str] = []
    for _ in range(KILLS):
        with closing(Talk(notes)) as talk:
            assert "type out" in talk.asked()
            assert typed(notes)[: len(known)] == known
            known = typed(notes)
            for line in TYPED[: rng.randint(1, len(TYPED))]:
                talk.type_line(line)
                talk.asked()
                known.append(line)
            talk.send(b"0.4\r")
            talk.listen(rng.choice((0.0, 0.005, 0.05)))
    assert typed(notes)[: len(known)] == known


def test_a_start_after_a_kill_is_at_the_gate_by_its_record(notes: Path) -> None:
    path = notes.with_name("notes.C2.forming")
    for lines, mode in ((("out", "9.1"), "read"), ((), "plug")):
        with closing(Talk(notes)) as talk:
            talk.asked()
            for line in lines:
                talk.type_line(line)
                talk.asked()
        with Journal.open(path, write=False) as journal:
            assert state_of(journal.events).mode == mode


def test_a_paste_of_several_lines_answers_one_question(notes: Path) -> None:
    with closing(Talk(notes)) as talk:
        talk.asked()
        talk.send(b"out\r9.1\r0.3\ron\r")
        talk.listen(0.4)
        assert "known source" in talk.asked()
    assert typed(notes) == ["out"]


def test_a_second_one_is_refused_while_the_first_is_open(notes: Path) -> None:
    with closing(Talk(notes)) as talk:
        talk.asked()
        with closing(Talk(notes)) as second:
            second.wait_for("close that first")
            assert second.process.wait(timeout=20) == 3


def test_without_a_terminal_no_gate_is_cleared(notes: Path) -> None:
    done = benchtui("form", notes, "C2")
    assert (done.returncode, done.stdout) == (3, "") and "terminal" in done.stderr
    assert not notes.with_name("notes.C2.forming").exists()


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ('to = "500 V"\n', "above the rated"),
        ('resistor = "10k"\n', "if the capacitor is shorted"),
        ('bleed = "10 ohm"\n', "too small"),
    ],
)
def test_a_plan_that_would_hurt_is_refused_with_its_line(notes: Path, more: str, told: str) -> None:
    notes.write_text(NOTES + more, "utf-8")
    done = benchtui("form", notes, "C2")
    assert done.returncode == 2 and told in done.stderr and "notes.toml:" in done.stderr
