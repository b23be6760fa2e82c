"""A build file as the commands take it."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from benchtui.cli.answer import Exit, Refusal

if TYPE_CHECKING:
    from benchtui.buildfile.load import Loaded


def add_build(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that every command on a build file takes."""
    parser.add_argument("build", metavar="BUILD", help="the build file, such as builds/pp-6v6.toml")
    parser.add_argument("--json", action="store_true", help="print JSON for other programs")


def load_build(path: str) -> Loaded:
    """The build in the file at `path`. Raises Refusal with every problem, one a line."""
    from benchtui.assemble.checked import load_checked
    from benchtui.buildfile.problems import BuildFileError

    try:
        return load_checked(path)
    except BuildFileError as error:
        raise Refusal(Exit.INPUT_WRONG, str(error)) from error
