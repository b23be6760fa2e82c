"""List the builds of a folder: how far each is, and what was left loose."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli import json_text
from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.caution import CAUTION
from benchtui.cli.tables import columns, hanging
from benchtui.quantities.clean import clean

if TYPE_CHECKING:
    from benchtui.session.overview import Standing


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `records` takes."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, nargs="?", default=Path(), help="by default this one")
    parser.add_argument("--json", action="store_true", help="print JSON for other programs")


def run(options: argparse.Namespace) -> Answer:
    """Every build with how far it is; damaged records are findings. Raises Refusal for a folder that is none."""
    from benchtui.session.overview import standings

    try:
        found = standings(options.folder)
    except OSError as error:
        words = f"benchtui: {options.folder} cannot be read ({error.strerror}), a folder with builds is wanted"
        raise Refusal(Exit.PLACE_WRONG, clean(words)) from error
    out = json_text.document({"builds": [asdict(each) for each in found]}) if options.json else _text(found)
    return Answer(Exit.FINDINGS if any(each.trouble for each in found) else Exit.FINE, out)


def _text(found: tuple[Standing, ...]) -> str:
    from benchtui.session import figures

    if not found:
        return "No build file and no record here."
    head = ("build", "file", "stage", "last entry", "how it was left")
    rows = [
        (
            clean(each.name, 30),
            clean(each.file, 30) or "(gone)",
            clean(each.stage),
            "" if each.last_s is None else figures.day(each.last_s),
            clean(each.stands) + (f"; loose: {clean(each.loose)}" if each.loose else ""),
        )
        for each in found
    ]
    troubles = [line for each in found if each.trouble for line in hanging(clean(each.trouble), "trouble  ")]
    return "\n".join([*columns(head, rows, indent=0), *troubles, "", *hanging(CAUTION, "")])
