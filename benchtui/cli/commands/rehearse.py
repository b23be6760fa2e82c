"""Open the app with a simulated amplifier, sound or with a fault that is to be found.

Its meter shows what the engine says. Nothing is real, every screen says so, and its record is a file of its own."""

from __future__ import annotations

import argparse
from pathlib import Path

from benchtui.cli.answer import Answer
from benchtui.cli.app_place import add_records, refuse_place
from benchtui.quantities.clean import clean

#: Seeds are plain numbers that are told and typed again.
_LARGEST_SEED = 10**9


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what a rehearsal takes."""
    parser.add_argument("build", metavar="BUILD", type=Path, help="the build file")
    parser.add_argument(
        "--fault", choices=("random", "none"), help="what is planted: one fault drawn by how often it is met, or none"
    )
    parser.add_argument("--seed", metavar="N", type=_seed, help="the same amplifier with the same fault again")
    parser.add_argument("--new", action="store_true", help="begin another one; the record of the last is set aside")
    add_records(parser)


def _seed(text: str) -> int:
    if text.isascii() and text.isdigit() and int(text) <= _LARGEST_SEED:
        return int(text)
    raise argparse.ArgumentTypeError(f"{clean(text, 20)!r} is no seed, a whole number up to {_LARGEST_SEED} is wanted")


def run(options: argparse.Namespace) -> Answer:
    """Open the app on a rehearsal. Raises Refusal without a terminal."""
    refuse_place(options)
    from benchtui.session.tables import table
    from benchtui.tui.app import run as run_app

    words = table("rehearsal")
    return Answer(run_app(lambda: _session(options), lambda: words["of_record"], mark=words["mark"]))


def _session(options: argparse.Namespace) -> object:
    from benchtui.session.rehearse import open_rehearsal

    return open_rehearsal(
        options.build, record_folder=options.records, seed=options.seed, fault=options.fault, new=options.new
    )
