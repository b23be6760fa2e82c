"""Why a session cannot be opened, each with the exit code it ends the program with."""

from __future__ import annotations


class SessionError(Exception):
    """Base of all; `exit_code` as in the command line's contract."""

    exit_code = 3


class BuildWrong(SessionError):
    """The build file is refused; the message has a line for each problem."""

    exit_code = 2


class PlaceWrong(SessionError):
    """Folder, disk or record do not let the work be recorded."""

    exit_code = 3
