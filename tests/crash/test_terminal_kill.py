"""SIGKILL of the app on its terminal at random moments of a bring-up: nothing is lost that was shown as saved.

Every kill is followed by a start on the record as it was left, which begins at the gate with nothing done. Half of
these starts are on a terminal, and killed as well. (A kill says nothing of a power cut: test_record_power_cut.py.)
"""

from __future__ import annotations

import random
import shutil
from dataclasses import dataclass, field
from pathlib import Path

from benchtui.procedure.state import Closing, Gate, Mode
from benchtui.record import Journal
from benchtui.session.opening import open_session
from tests.crash.forks import Forks
from tests.crash.terminal import Terminal
from tests.record.counts import count
from tests.session.made_up import MadeUp

NAME = "pp-6v6"
STOP = "\x1b[19~"

#: Typed beside the answer that is due; most of it is refused, which is an event as well.
OTHER_WORDS = ("out", "9.1", "12.2", "0.3", "no", "off", "2100", "in", "low 3")

#: What a start may ask first.
FIRST = ("Pull the plug", "No mains lead", "Is the chassis bare?", "Did this chassis ever meet mains?")

#: An end that stays: a finished build begins finished.
FINISHED = "finished, as measured"

#: Hands in a hurry, who read and type as fast as they may; and how long after the last key the kill comes at most.
READ_S, KEY_S, KILLS_S = 0.32, 0.02, (0.01, 0.05, 0.4)

#: Prompts of the bring-up from one fresh app to the next, at most.
MOST_STEPS = count(short=60, full=4)


@dataclass
class Told:
    """What the kills came to."""

    kills: int = 0
    shown: int = 0
    unshown: int = 0
    words: set[str] = field(default_factory=set)
    stages: set[str] = field(default_factory=set)


def killed(words: list[str], forks: Forks, rng: random.Random, told: Told) -> tuple[str, int]:
    """The first screen of an app that was killed while hands were typing, and the last event it showed as saved."""
    terminal = Terminal(words, forks.launch)
    try:
        first = terminal.wait_for("saved #")
        before = terminal.saved()
        strikes = [f"{text}\r" for text in (forks.told, rng.choice(OTHER_WORDS)) if text and rng.random() < 0.7]
        strikes += [STOP] * (rng.random() < 0.3)
        for text in strikes:
            terminal.listen(READ_S)
            for key in [text] if text == STOP else text:
                terminal.send(key.encode())
                terminal.listen(KEY_S)
        terminal.listen(rng.choice(KILLS_S) * rng.random())
        assert terminal.process.poll() is None, "it ended by itself"
        terminal.kill()
        told.kills += 1
        told.shown += terminal.saved() - before
        head = terminal.text().splitlines()
        told.words.add(head[1][3:].split("   ")[0])
        told.stages.add(head[0].split("   ")[1])
        return first, terminal.saved()
    finally:
        terminal.close()


def kept(folder: Path, shown: int, told: Told) -> int:
    """How many events the record holds: all that were shown, and at most one more; it is sound."""
    with Journal.open(folder / f"{NAME}.bench") as journal:
        assert journal.trouble is None
        events = [event for event in journal.events if event.kind != "tail set aside"]
        assert len(events) - shown in (0, 1), (len(events), shown, [event.kind for event in events[shown:]])
        told.unshown += len(events) - shown
        return len(journal.events)


def begins_at_the_gate(folder: Path, events: int) -> None:
    """A start on that record takes it up with nothing done."""
    session = open_session(folder / f"{NAME}.toml", forecaster=MadeUp())
    view, state = session.view(), session._ledger.state
    session.leave()
    assert view.saved > events
    if state.mode is not Mode.DONE:
        assert (state.mode, state.gate, state.closing) == (Mode.OFF_GATE, Gate(), Closing())
        assert (view.danger.word, view.step) == ("ASSUME LIVE", "gate") and view.prompt.title in FIRST


def test_the_app_killed_on_its_terminal_keeps_what_it_showed(forks: Forks, tmp_path: Path) -> None:
    rng, told, wanted = random.Random(1911), Told(), count(short=3, full=500)
    folder, events = tmp_path / "0", 0
    while told.kills < wanted:
        again = events > 0 and told.kills % 2 == 1
        if not again:
            shutil.rmtree(folder, ignore_errors=True)
            folder = tmp_path / f"{told.kills}"
            folder.mkdir()
        words = ["reopened"] if again else ["walk", str(rng.randint(1, MOST_STEPS))]
        first, shown = killed([words[0], str(folder), *words[1:]], forks, rng, told)
        if again and FINISHED not in first:
            assert "ASSUME LIVE" in first and any(title in first for title in FIRST), first
            assert shown > events
        events = kept(folder, shown, told)
        begins_at_the_gate(folder, events)
    print(told)
    assert told.shown > 0
    if wanted >= 100:  # so many meet all that a bring-up goes through
        assert told.words >= {"ASSUME LIVE", "LIVE", "LIVE, LIMITED", "CLOSING", "DEAD AS MEASURED", "BARE"}, told
        assert len(told.stages) >= 8, told
