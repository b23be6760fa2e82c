"""Pasted, poured, held or typed ahead, an answer clears nothing: each item of gate, closing and power, on a terminal.

The very answer that was refused so clears the item when hands type it, or it would prove nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from benchtui.record import Journal
from tests.crash.forks import Forks
from tests.crash.terminal import KEY_S, Terminal
from tests.record.counts import count

STAGE = "HT off load"

#: Items in order, by what their titles begin with, and what a builder with sound parts types.
GATE = {
    "Pull the plug": "out", "Prove the meter on DC": "9.1", "Prove the meter on AC": "12.2",
    "Read the mains side dead": "0.1", "Round 1": "0.3", "Round 2": "0.3", "Clip on": "2100",
    "Prove the meter again, DC": "9.1", "Prove the meter again, AC": "12.2", "Hands in": "in",
}  # fmt: skip
CLOSING = {
    "Clip off": "off", "Chassis clear": "clear", "rail at C1": "0.3", "HT+ to chassis": "50k",
    "Cover, or one hand": "cover on", "Mains now": "230", "First power": "40 W lamp",
    "What does the limiter show?": "dim", "HT, limited": "100", "Full mains": "full",
}  # fmt: skip

#: Readings of a stage may be pasted; the record says so.
MAY_BE_PASTED = {"HT, limited"}

#: A held key repeats so often; hands that go on without reading are as fast as that.
HELD_S, ONWARDS_S = 0.03, 0.05

#: What came of it is on the screen and in the record by then; between two lines nothing is typed for so long.
SETTLED_S = 0.35

#: Nothing that an item could be cleared by.
HARMLESS = {"refused"}

_TRIES = 5


def bracketed(terminal: Terminal, answer: str) -> None:
    """Pasted with its line end into a terminal that marks what is pasted, then Enter."""
    terminal.send(f"\x1b[200~{answer}\r\x1b[201~".encode())
    terminal.listen(SETTLED_S)
    terminal.send(b"\r")


def poured(terminal: Terminal, answer: str) -> None:
    """Pasted into one that does not: all bytes at once, and again without the line end, then Enter."""
    terminal.send(f"{answer}\r{answer}".encode())
    terminal.listen(SETTLED_S)
    terminal.send(b"\r")


def held(terminal: Terminal, answer: str) -> None:
    """Its first key is held, then Enter."""
    for key in answer[0] * 8 + "\r" * 4:
        terminal.send(key.encode())
        terminal.listen(HELD_S)


def onwards(terminal: Terminal, answer: str) -> None:
    """Typed on without a look at what is asked, as after the item before; the Enter is held."""
    for key in answer + "\r" * 4:
        terminal.send(key.encode())
        terminal.listen(HELD_S if key == "\r" else ONWARDS_S)


WAYS: dict[str, Callable[[Terminal, str], None]] = {"pasted": bracketed, "poured": poured, "held": held}


def kinds(folder: Path, after: int) -> list[str]:
    """The kinds of the events that were saved after the first `after` ones."""
    with Journal.open(folder / "pp-6v6.bench", write=False) as journal:
        return [event.kind for event in journal.events[after:]]


def tried(terminal: Terminal, folder: Path, title: str, ways: list[str], before: int) -> None:
    """The item stays what is asked, and nothing is saved that could clear any."""
    terminal.wait_for(title)
    for way in ways:
        terminal.listen(SETTLED_S)
        WAYS[way](terminal, ANSWERS[title])
    terminal.listen(SETTLED_S)
    assert title in terminal.text(), f"{title}: cleared by {ways}\n{terminal.text()}"
    assert set(kinds(folder, before)) <= HARMLESS, (title, ways, kinds(folder, before))


def cleared(terminal: Terminal, folder: Path, title: str) -> int:
    """The item is cleared by keys of a hand; how many events there are then, with the one that says so the last."""
    terminal.wait_for(title)
    for _ in range(_TRIES):  # a busy machine hands over keys in one, which then are no hand's
        before = len(kinds(folder, 0))
        terminal.listen(SETTLED_S)
        for key in f"{ANSWERS[title]}\r":
            terminal.send(key.encode())
            terminal.listen(KEY_S)
        for _ in range(40):
            if saved := kinds(folder, before):
                break
            terminal.listen(0.05)
        if saved and not set(saved) <= HARMLESS:
            return before + len(saved)
    raise AssertionError(f"{title}: not cleared by hands\n{terminal.text()}")


ANSWERS = GATE | CLOSING

#: Where the app begins, and how many items from there. In short each meets one way; all ways meet all in full.
PIECES = count(
    short=[("Prove the meter on DC", 3), ("Clip off", 3)],
    full=[("Pull the plug", len(GATE)), ("Clip off", len(CLOSING))],
)


@pytest.mark.parametrize(("begins", "items"), PIECES)
def test_an_item_stays_open_for_all_but_hands(begins: str, items: int, forks: Forks, tmp_path: Path) -> None:
    titles = list(GATE if begins in GATE else CLOSING)
    titles = titles[titles.index(begins) :][:items]
    terminal = Terminal(["prompt", str(tmp_path), begins, STAGE, "hasty"], forks.launch)
    try:
        terminal.wait_for(begins, "saved #")
        saved = len(kinds(tmp_path, 0))
        for turn, title in enumerate(titles):
            ways = [[*WAYS][turn % len(WAYS)]] if count(short=True, full=False) else [*WAYS]
            if title not in MAY_BE_PASTED:
                tried(terminal, tmp_path, title, ways, saved)
            saved = cleared(terminal, tmp_path, title)
            if turn + 1 < len(titles) and titles[turn + 1] not in MAY_BE_PASTED:
                onwards(terminal, ANSWERS[titles[turn + 1]])
    finally:
        terminal.close()
