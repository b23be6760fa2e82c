"""The file with records of readings that a command is given, and how a command refuses what is wrong with its input."""

from __future__ import annotations

import os
from pathlib import Path

from benchtui.cli.answer import Exit, Refusal
from benchtui.quantities.clean import clean

#: A record of readings is far smaller; own decision.
_LARGEST_BYTES = 256 * 1024


def record_text(path: Path, command: str) -> str:
    """The text of a plain file of a fair size; never waits on a pipe. Raises Refusal in the name of `command`."""
    try:
        with open(path, "rb", opener=lambda name, flags: os.open(name, flags | os.O_NONBLOCK)) as file:
            data = file.read(_LARGEST_BYTES + 1) or b""
        if len(data) > _LARGEST_BYTES:
            raise refusal(command, f"{path}: the file is over {_LARGEST_BYTES // 1024} kB, a record is smaller")
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refusal(command, f"{path}: the file is not UTF-8, save it as UTF-8 text") from error
    except OSError as error:
        raise refusal(command, f"{path}: the file cannot be read ({error.strerror}), a record is wanted") from error


def refusal(command: str, *problems: str) -> Refusal:
    """The refusal of what `command` was given: a line for each problem."""
    return Refusal(Exit.INPUT_WRONG, "\n".join(f"benchtui {command}: {clean(problem)}" for problem in problems))
