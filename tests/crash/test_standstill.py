"""The program stopped and woken: by Ctrl-Z it says what is to be done about the power, and the gate begins anew."""

from __future__ import annotations

import signal
from pathlib import Path

import pytest

from benchtui.record import Journal
from tests.crash.forks import Forks
from tests.crash.terminal import Terminal
from tests.record.counts import count

#: The word in the strip, and the last line before the program stands still; where there is none, no power can be on.
STATES = {
    "powered": ("LIVE", "The record ends with power on: switch off, pull the plug."),
    "halt": ("NOT RECORDING", "Nothing was recorded any more: switch off, pull the plug."),
    "bare": ("BARE", ""),
    "gate": ("ASSUME LIVE", "The record ends with the chassis taken for live and charged: pull the plug, hands off."),
    "hands": ("DEAD AS MEASURED", "The record ends with hands in the chassis: hands out, plug out."),
    "closing": ("CLOSING", "The record ends with the chassis closed and no power switched on: plug out."),
    "done": ("DEAD AS MEASURED", ""),
    "readonly": ("READ ONLY", "Another benchtui writes this record: there the power was on at its last event."),
}
STANDS_STILL = "benchtui stands still, and so does STOP; 'fg' goes on."

#: Waits on the way to hands in.
WAITS = ["Wait", "Let the clip work"]

STOPPED_S = count(short=2.0, full=30.0)


@pytest.mark.parametrize("state", [*STATES][: count(short=2, full=len(STATES))])
def test_ctrl_z_says_what_is_to_be_done_about_the_power(state: str, forks: Forks, tmp_path: Path) -> None:
    word, last = STATES[state]
    terminal = Terminal(["state", str(tmp_path), state], forks.launch)
    try:
        terminal.wait_for(word, "saved #")
        terminal.send(b"\x1a")
        terminal.stopped()
        terminal.listen(0.1)
        assert terminal.parting() == [STANDS_STILL, *[last] * bool(last)]
        assert terminal.sane()
        woken(terminal, "ASSUME LIVE" if state in ("hands", "closing") else word)
    finally:
        terminal.close()


def woken(terminal: Terminal, *shown: str) -> None:
    """Wake the program: all is drawn anew, STOP works, and the terminal is left as it was found."""
    terminal.wipe()
    terminal.process.send_signal(signal.SIGCONT)
    terminal.wait_for(*shown, "F1 help", "F8 STOP", "saved #")
    assert not terminal.sane()
    terminal.send(b"\x1b[19~")
    terminal.wait_for("ull the plug.", hang_s=10.0)
    terminal.process.send_signal(signal.SIGTERM)
    assert terminal.process.wait() in (0, 3)
    terminal.listen(0.1)
    assert terminal.sane()


@pytest.mark.parametrize("title", WAITS[: count(short=1, full=2)])
def test_a_program_stopped_in_a_wait_begins_the_gate_anew(title: str, forks: Forks, tmp_path: Path) -> None:
    terminal = Terminal(["prompt", str(tmp_path), title, "HT off load"], forks.launch)
    try:
        terminal.wait_for(title, "still to wait", "\u2713 plug out")
        terminal.process.send_signal(signal.SIGSTOP)
        terminal.stopped()
        terminal.listen(STOPPED_S)
        before = terminal.saved()
        woken(terminal, "Pull the plug", "\u25b8 plug out", "what was proved before no longer")
    finally:
        terminal.close()
    with Journal.open(tmp_path / "pp-6v6.bench", write=False) as journal:
        *woke, last = [event.kind for event in journal.events[before:]]
    assert set(woke) == {"disturbed"} and last == "stop key"
