"""The app on a terminal with the power on and a stage to be read: `verdict_child.py BUILD FOLDER TIMES [busy]`.

Windows are made up, everything else is the program as it runs. What each event spends in write and fsync goes to the
file TIMES, a line a call; the processor's time from each Enter to the painted answer to TIMES.own. `busy`: the engine
computes one forecast after another beside it, as the app has it done.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from itertools import count
from pathlib import Path
from typing import Any

from textual import events
from textual.message import Message

from benchtui.buildfile.models import Build
from benchtui.forecast.results import Finding
from benchtui.procedure.state import Mode
from benchtui.record.files import Files
from benchtui.session.apart import Apart
from benchtui.session.forecasts import REVIEW
from benchtui.session.view import Banner
from benchtui.tui.app import BenchApp, run
from benchtui.tui.screens.bench import BenchScreen
from tests.session.made_up import Desk, MadeUp

STAGE = "driver"


class Busy(MadeUp):
    """Once `begun`, a review that never ends: the engine solves the stage anew at other mains again and again."""

    begun = False

    def review(self, build: Build) -> tuple[Finding, ...]:
        real = Apart()
        for n in count() if self.begun else ():
            real.stage(build, STAGE, 220.0 + n / 100.0, ())
        return super().review(build)


def timed(call: Callable[..., Any], log: int) -> Callable[..., Any]:
    """`call`, with its seconds written to `log`."""

    def inner(*arguments: Any) -> Any:
        begin = time.perf_counter()
        try:
            return call(*arguments)
        finally:
            os.write(log, f"{call.__name__} {time.perf_counter() - begin:.9f}\n".encode())

    return inner


def count_own(log: int) -> None:
    """Write to `log` the processor's seconds of the drawing thread from each Enter to the painted answer."""
    post, tell, struck = BenchApp.post_message, BenchScreen.tell, [0.0]

    def posted(app: BenchApp, message: Message) -> bool:
        if isinstance(message, events.Key) and message.key == "enter":
            struck[0] = time.thread_time()
        return post(app, message)

    def told(screen: BenchScreen, answer: Banner) -> None:
        tell(screen, answer)
        os.write(log, f"{time.thread_time() - struck[0]:.9f}\n".encode())

    BenchApp.post_message, BenchScreen.tell = posted, told  # type: ignore[method-assign]


def main(build: str, folder: str, times: str, busy: str = "") -> int:
    desk = Desk(Path(build), Path(folder), forecaster=Busy())
    desk.till(lambda view: desk.session._bench().phase.stage == STAGE and view.step == "read")
    assert desk.session._ledger.state.mode is Mode.POWERED
    if busy:
        desk.forecaster.begun = True
        desk.session._forecasts._found.pop(REVIEW)
    log, own = (os.open(name, os.O_WRONLY | os.O_APPEND | os.O_CREAT) for name in (times, f"{times}.own"))
    count_own(own)
    for name in ("write", "pwrite", "fsync", "fdatasync"):
        setattr(Files, name, staticmethod(timed(getattr(Files(), name), log)))
    return run(lambda: desk.session)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
