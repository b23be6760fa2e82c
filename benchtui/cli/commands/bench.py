"""benchtui leads you through building and powering up a valve amplifier, stage by stage.

benchtui BUILD opens the app on a build file and goes on where its record ends."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from benchtui.cli.answer import Answer
from benchtui.cli.app_place import add_records, refuse_place
from benchtui.cli.printing import tell


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the app takes."""
    parser.add_argument("build", metavar="BUILD", type=Path, help="the build file")
    add_records(parser)


def run(options: argparse.Namespace) -> Answer:
    """Open the app, which opens the session after its first paint. Raises Refusal without a terminal."""
    refuse_place(options, lambda: _ending(options))
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
