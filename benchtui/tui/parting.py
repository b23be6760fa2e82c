"""The end of the app: its exit code, and the lines on stderr, the last of them about the power."""

from __future__ import annotations

import sys
from collections.abc import Callable

from benchtui.session.errors import SessionError, fault
from benchtui.session.view import View
from benchtui.tui.talk import Session

_STOPPED = "benchtui stands still, and so does STOP; 'fg' goes on."
_HALTED = "Nothing was recorded any more: switch off, pull the plug."


def code_of_error(error: Exception) -> int:
    """The exit code for a session that could not be opened."""
    code = getattr(error, "exit_code", 3)
    return code if isinstance(code, int) else 3


def code_of(view: View | None) -> int:
    """The exit code for leaving where `view` is shown: 3 where nothing is recorded any more."""
    return 3 if view is not None and view.danger.word == "NOT RECORDING" else 0


def failure(error: BaseException | None, code: int | None) -> str:
    """Why an app with exit code `code` ended by itself, if it did: a refusal to open, or a fault of the program."""
    if error is None and code is None and sys.exc_info()[0] is None:
        error = RuntimeError("the screen or the keyboard failed")
    if error is None:
        return ""
    return str(error) if isinstance(error, SessionError) else fault(error)


def parting(session: Session | None, view: View | None, of_record: Callable[[], str]) -> str:
    """The session's last words, and the record's own where the session wrote nothing or cannot speak."""
    if session is None:
        return of_record()
    try:
        said = session.leave()
    except Exception:  # a fault of the program must not take the line about the power along
        return of_record()
    nothing_written = view is not None and view.danger.word == "READ ONLY"
    return "\n".join(filter(None, (said, of_record()))) if nothing_written else said


def standstill(view: View | None, of_record: Callable[[], str]) -> list[str]:
    """What is said where the program is stopped and may be woken again; the last line is about the power."""
    words = [_STOPPED] if view is not None else []
    if view is not None and view.danger.word == "NOT RECORDING":
        return [*words, _HALTED]
    return [*words, *filter(None, [of_record()])]
