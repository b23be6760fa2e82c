"""Where the app may open: on a terminal, with a folder for its record."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable
from pathlib import Path

from benchtui.cli.answer import Exit, Refusal
from benchtui.quantities.clean import clean


def add_records(parser: argparse.ArgumentParser) -> None:
    """Add the option for another folder."""
    parser.add_argument(
        "--records", metavar="DIR", type=Path, help="folder for the record (by default the build file's)"
    )


def refuse_place(options: argparse.Namespace, more: Callable[[], str] = str) -> None:
    """Raises Refusal where there is no such terminal or folder; `more` is what is said after the terminal's."""
    from benchtui.tui.terminal import refusal

    refused = refusal()
    if refused is not None:
        raise Refusal(Exit.PLACE_WRONG, "\n".join(filter(None, (f"benchtui: {refused}", more()))))
    if options.records is not None and not os.path.isdir(options.records):
        words = f"benchtui: {options.records} is no folder, --records wants one that exists"
        raise Refusal(Exit.PLACE_WRONG, clean(words))
