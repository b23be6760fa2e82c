"""A walk in processes of their own, for tests that kill them: `walk_child.py BUILD FORECASTS`.

At each line on its input it forks a child that opens the build file (or takes up its record) and goes on to the end.
The child prints `pid N`, then `saved #N HASH STEP / TITLE` for every view that it is given, which shows event N as
saved; `ended` and its exit code follow once the child is no more. Forking spares the test the imports, nothing else.
"""

from __future__ import annotations

import os
import signal
import sys
import traceback
from pathlib import Path

from benchtui.session.view import View
from tests.walk import readings
from tests.walk.benches import Bench, around
from tests.walk.forecasts import Remembering
from tests.walk.walking import walk

#: A walk that takes longer hangs, and ends itself by a signal that is no kill.
HANG_S = 120


def say(text: str) -> None:
    """Print a line in one piece: a kill must not come between it and its end."""
    os.write(sys.stdout.fileno(), f"{text}\n".encode())


def go_on(made: Bench) -> None:
    """The walk, from where its record stands; without the clean end that a killed program never has."""
    signal.alarm(HANG_S)
    say(f"pid {os.getpid()}")
    session = made.session()

    def tell(view: View) -> bool:
        say(f"saved #{view.saved} {session._journal.events[view.saved - 1].hash} {view.step} / {view.prompt.title}")
        return False

    walk(session, made.builder, made.clock, until=tell)
    session.leave()
    say("finished")
    signal.pause()  # whoever kills this process may rely on its number until then


def code_of(made: Bench) -> int:
    """0 for a walk to the end, 1 for one that went wrong, with its traceback told."""
    try:
        go_on(made)
    except Exception:  # the edge of this process: nothing may go on behind a fork
        traceback.print_exc()
        return 1
    return 0


def main(build: str, forecasts: str) -> None:
    path = Path(build)
    made = around(path, Remembering(Path(forecasts)), readings.volts(path.stem))
    for _ in sys.stdin:
        child = os.fork()
        if child == 0:
            os._exit(code_of(made))
        _, status = os.waitpid(child, 0)
        say(f"ended {os.waitstatus_to_exitcode(status)}")


if __name__ == "__main__":
    main(*sys.argv[1:])
