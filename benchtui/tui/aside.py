"""Heavy work beside the message loop, on a thread that never holds up the end of the program."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from threading import Thread

from textual.message import Message


@dataclass
class Done(Message, bubble=False):
    """The work called `name` has come to its end, with its `result` or with what went wrong."""

    name: str
    result: object = None
    error: Exception | None = None


def run_aside(name: str, work: Callable[[], object], tell: Callable[[Done], object]) -> None:
    """Run `work` on a thread of its own and `tell` its end; an exception in it is told, never raised.

    A daemon thread: the default pool would keep the program alive until a long computation has ended.
    """

    def run() -> None:
        try:
            done = Done(name, result=work())
        except Exception as error:  # the edge: whatever happens there must reach the screen as words
            done = Done(name, error=error)
        tell(done)

    Thread(target=run, name=f"benchtui-{name}", daemon=True).start()
