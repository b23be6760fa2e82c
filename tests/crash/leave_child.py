"""The app on a terminal in a state asked for, with made-up forecasts: `leave_child.py BUILD STATE [fault]`.

`fault` breaks the session soon after it is shown.
"""

from __future__ import annotations

import errno
import sys
import time
from pathlib import Path

from benchtui.procedure.state import Mode
from benchtui.record.pen import Pen
from benchtui.session.ending import ending
from benchtui.session.opening import record_of
from benchtui.session.session import Session
from benchtui.tui.app import run
from tests.session.made_up import Desk

FAULT_S = 1.0

#: What holds the lock of a record must not be collected.
HELD: list[Session] = []


def standing(build: Path, state: str) -> Session:
    """The session of `build` brought to `state`: halted as by a full disk, locked out by a session with power on."""
    desk = Desk(build, build.parent)
    wanted = Mode.POWERED if state in (Mode.HALT, Mode.READONLY) else Mode(state)
    desk.till(lambda view: desk.session._ledger.state.mode is wanted)
    if state == Mode.HALT:
        Pen.write = full  # type: ignore[method-assign]
        desk.session.stop()
    if state == Mode.READONLY:
        HELD.append(desk.session)
        desk.open()
    assert desk.session._ledger.state.mode == state
    return desk.session


def full(self: Pen, line: bytes, head: object) -> None:
    raise OSError(errno.ENOSPC, "full")


def main(build: str, state: str, how: str = "") -> int:
    session = standing(Path(build), state)
    if how == "fault":
        due = time.monotonic() + FAULT_S

        def tick() -> bool:
            if time.monotonic() > due:
                raise RuntimeError("a slip \x1b[31m[/] of ours")
            return False

        session.tick = tick  # type: ignore[method-assign]
    return run(lambda: session, lambda: ending(record_of(Path(build))))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
