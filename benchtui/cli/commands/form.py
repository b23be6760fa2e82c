"""Form an old electrolytic capacitor on the bench, through a gate of its own, a line at a time.

Its record lies beside the notes. After any interruption it is taken to be live and charged."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.printing import show_line
from benchtui.quantities.clean import clean

if TYPE_CHECKING:
    from benchtui.identify.forming import Plan
    from benchtui.record import Journal


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `form` takes."""
    parser.add_argument("notes", metavar="NOTES", type=Path, help="the file of bench notes")
    parser.add_argument("capacitor", metavar="CAPACITOR", help="the capacitor in it, such as C2")


def run(options: argparse.Namespace) -> Answer:
    """Lead through forming. Raises Refusal for wrong notes, a plan that won't do, no terminal, or a record in use."""
    plan = _plan(options.notes, options.capacitor)
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        words = "benchtui form: it asks and answers in a terminal, and here is none; what is piped in clears no gate"
        raise Refusal(Exit.PLACE_WRONG, words)
    from benchtui.cli.forming_dialogue import talk

    with _journal(options.notes, options.capacitor) as journal:
        return Answer(talk(journal, plan, _typed, show_line))


def _typed() -> str:
    """The next typed line. What was typed or pasted ahead of the question is dropped: it answers nothing."""
    import termios

    termios.tcflush(sys.stdin.fileno(), termios.TCIFLUSH)
    return input("> ")


def _plan(path: Path, name: str) -> Plan:
    from benchtui.cli.bench_notes import forming_plan
    from benchtui.cli.notes_file import load_notes_file
    from benchtui.identify.forming import findings

    loaded = load_notes_file(str(path))
    if name not in loaded.notes.capacitor:
        known = ", ".join(loaded.notes.capacitor) or "none"
        raise Refusal(Exit.INPUT_WRONG, clean(f"{path}: there is no capacitor {name!r}, known are {known}"))
    plan = forming_plan(loaded.notes.capacitor[name], loaded.notes)
    stops = [each for each in findings(plan) if each.severity == "stop"]
    if stops:
        lines = [f"{loaded.file}:{loaded.line(('capacitor', name, *each.where))}: {each.text}" for each in stops]
        raise Refusal(Exit.INPUT_WRONG, "\n".join(clean(line) for line in lines))
    return plan


def _journal(notes: Path, name: str) -> Journal:
    """The record of this capacitor's forming, opened or begun. Raises Refusal."""
    from benchtui.cli.forming_dialogue import place_of
    from benchtui.record import Journal, NotFound, RecordError

    path = place_of(notes, name)
    try:
        try:
            journal = Journal.open(path)
        except NotFound:
            journal = Journal.create(path, {"forming": name})
    except RecordError as error:
        raise Refusal(Exit.PLACE_WRONG, str(error)) from error
    if journal.trouble is not None:
        raise Refusal(Exit.PLACE_WRONG, str(journal.trouble))
    if journal.header.get("forming") != name:
        journal.close()
        raise Refusal(Exit.INPUT_WRONG, clean(f"{path} is not the record of forming {name}; move it away"))
    return journal
