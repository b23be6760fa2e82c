"""benchtui leads you through building and powering up a valve amplifier, stage by stage.

benchtui BUILD opens the app on a build file and goes on where its record ends."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.printing import tell
from benchtui.quantities.clean import clean


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the app takes."""
    parser.add_argument("build", metavar="BUILD", type=Path, help="the build file")
    parser.add_argument(
        "--records", metavar="DIR", type=Path, help="folder for the record (by default the build file's)"
    )


def run(options: argparse.Namespace) -> Answer:
    """Open the app, which opens the session after its first paint. Raises Refusal without a terminal."""
    from benchtui.tui.terminal import refusal

    refused = refusal()
    if refused is not None:
        raise Refusal(Exit.PLACE_WRONG, "\n".join(filter(None, (f"benchtui: {refused}", _ending(options)))))
    if options.records is not None and not os.path.isdir(options.records):
        words = f"benchtui: {options.records} is no folder, --records wants one that exists"
        raise Refusal(Exit.PLACE_WRONG, clean(words))
    if os.geteuid() == 0:
        tell("benchtui: started as root, so the record will belong to root; better start it as yourself")
    from benchtui.tui.app import run as run_app

    return Answer(run_app(lambda: _session(options), lambda: _ending(options)))


def _ending(options: argparse.Namespace) -> str:
    """What the record says of the power, for where no session is open to say it."""
    from benchtui.session.ending import ending
    from benchtui.session.opening import record_of

    return ending(record_of(options.build, options.records))


def _session(options: argparse.Namespace) -> object:
    from benchtui.session.opening import open_session

    return open_session(options.build, record_folder=options.records)
