"""Why a session cannot be opened, each with the exit code it ends the program with; and a fault of our own in words."""

from __future__ import annotations

import os
import traceback

from benchtui.quantities.clean import clean

_LONGEST_FAULT = 300


class SessionError(Exception):
    """Base of all; `exit_code` as in the command line's contract."""

    exit_code = 3


class BuildWrong(SessionError):
    """The build file is refused; the message has a line for each problem."""

    exit_code = 2


class PlaceWrong(SessionError):
    """Folder, disk or record do not let the work be recorded."""

    exit_code = 3


def fault(error: BaseException) -> str:
    """One sentence for a fault of the program itself; its traceback only where BENCHTUI_DEBUG is set."""
    if os.environ.get("BENCHTUI_DEBUG"):
        return "".join(traceback.format_exception(error)).rstrip("\n")
    what = clean(f"{type(error).__name__}: {error}", _LONGEST_FAULT)
    return (
        f"benchtui: a fault in the program itself ({what}). Please report it with the build file "
        "and what the same command prints with BENCHTUI_DEBUG=1 set."
    )
