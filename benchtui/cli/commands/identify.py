"""Say what salvaged parts are, from the readings noted so far, and what to measure next.

Notes are a file of your own, in TOML. `benchtui identify --new > notes.toml` begins one."""

from __future__ import annotations

import argparse
from importlib.resources import files

from benchtui.cli import json_text
from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.caution import CAUTION
from benchtui.cli.tables import hanging
from benchtui.quantities.clean import clean


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `identify` takes."""
    parser.add_argument("notes", metavar="NOTES", nargs="?", help="the file of bench notes, such as notes.toml")
    parser.add_argument("part", metavar="PART", nargs="?", help="one part of it, by default all")
    parser.add_argument("--json", action="store_true", help="print JSON for other programs")
    parser.add_argument("--new", action="store_true", help="print notes to begin with, and leave")


def run(options: argparse.Namespace) -> Answer:
    """What the notes come to; a warn or stop among it is a finding. Raises Refusal for notes that are wrong."""
    if options.new:
        return Answer(out=files("benchtui.cli").joinpath("notes_example.toml").read_text("utf-8").rstrip())
    if options.notes is None:
        raise Refusal(Exit.INPUT_WRONG, "benchtui identify: a file of notes is wanted; --new prints one to begin with")
    from benchtui.cli.identified import only, parts, plain, text
    from benchtui.cli.notes_file import load_notes_file

    loaded = load_notes_file(options.notes)
    found = parts(loaded)
    if options.part is not None:
        found = only(found, options.part)
        if not found:
            names = ", ".join(part.name for part in parts(loaded)) or "none"
            words = f"{options.notes}: there is no part {options.part!r}, known are {names}"
            raise Refusal(Exit.INPUT_WRONG, clean(words))
    worse = any(each.severity != "note" for part in found for each in part.told.findings)
    if options.json:
        out = json_text.document({"notes": loaded.file, "parts": [plain(loaded, part) for part in found]})
    else:
        lines = [line for part in found for line in (*text(loaded, part), "")] or ["No part is noted yet.", ""]
        out = "\n".join([*lines, *hanging(CAUTION, "")])
    return Answer(Exit.FINDINGS if worse else Exit.FINE, out)
