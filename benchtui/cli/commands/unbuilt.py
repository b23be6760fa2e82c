"""Commands whose place is kept: each says that it is not built yet."""

from __future__ import annotations

import argparse

from benchtui.cli.answer import Answer, Exit

#: What each command will be for.
PURPOSES = {
    "new": "start a build file",
}


def run(options: argparse.Namespace) -> Answer:
    """The sentence that the command is not built yet."""
    purpose = PURPOSES[options.command]
    return Answer(Exit.INPUT_WRONG, words=f"benchtui {options.command} is not built yet; it will {purpose}.")
