"""Forecasts computed in a process of their own, so that keys and screen never wait for arithmetic.

In a thread beside the screen numpy's many small calls held the interpreter so much that a verdict took twice as long.
The process starts with the first forecast. It ends when its input does, which is when this program ends, however it
ends: a pipe needs no farewell.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from queue import SimpleQueue
from threading import Thread
from typing import IO, TYPE_CHECKING, Any, cast

from benchtui.session.forecaster import GateFacts, RealForecaster, StageFacts

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.diagnosis.retest import Retest
    from benchtui.forecast.results import Finding, TrimTarget
    from benchtui.rehearsal.asked import Asked
    from benchtui.session.earlier import StageRead
    from benchtui.session.hearing import Asked as Capture
    from benchtui.session.hearing import Heard
    from benchtui.session.suspects import Evidence
    from benchtui.session.view import Figure, Suspects
    from benchtui.wiring.wires import Wire

_START = "from benchtui.session.apart import serve; serve()"

#: The screen and its keys go first where both want the same core.
_NICE = 5


class ForecastFailed(Exception):
    """What went wrong in the other process, in its own words."""


class Apart:
    """A Forecaster that asks another process, one question at a time. Raises ForecastFailed."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._told: Build | None = None

    def gate(self, build: Build, stage: str) -> GateFacts:
        return self._ask(build, "gate", stage)

    def cold(self, build: Build, stage: str, linked: bool, after: str | None) -> StageFacts:
        return self._ask(build, "cold", stage, linked, after)

    def stage(self, build: Build, stage: str, mains_v: float | None, earlier: tuple[StageRead, ...]) -> StageFacts:
        return self._ask(build, "stage", stage, mains_v, earlier)

    def prepare(self, build: Build, earlier: tuple[StageRead, ...]) -> None:
        self._ask(build, "prepare", earlier)

    def limited(self, build: Build, stage: str) -> StageFacts:
        return self._ask(build, "limited", stage)

    def trim(self, build: Build, stage: str, adjustment: str, ht_v: float, mains_v: float) -> TrimTarget:
        return self._ask(build, "trim", stage, adjustment, ht_v, mains_v)

    def review(self, build: Build) -> tuple[Finding, ...]:
        return self._ask(build, "review")

    def wires(self, build: Build) -> tuple[Wire, ...]:
        return self._ask(build, "wires")

    def suspects(self, build: Build, evidence: Evidence) -> Suspects:
        return self._ask(build, "suspects", evidence)

    def whole(self, build: Build, what: str, *arguments: object) -> StageFacts:
        return self._ask(build, "whole", what, *arguments)

    def retest(self, build: Build, parts: tuple[str, ...]) -> Retest:
        return self._ask(build, "retest", parts)

    def heard(self, build: Build, asked: Capture) -> Heard:
        return self._ask(build, "heard", asked)

    def figure(self, build: Build, what: str, *arguments: object) -> Figure:
        return self._ask(build, "figure", what, *arguments)

    def rehearsed(self, build: Build, asked: Asked) -> Any:
        return self._ask(build, "rehearsed", asked)

    def _ask(self, build: Build, kind: str, *arguments: object) -> Any:
        """The answer of the other process, which is told of `build` once: it keeps what it solved by that object."""
        try:
            process = self._started()
            pickle.dump((None if build is self._told else build, kind, arguments), cast(IO[bytes], process.stdin))
            cast(IO[bytes], process.stdin).flush()
            self._told = build
            found, wrong = pickle.load(cast(IO[bytes], process.stdout))
        except (EOFError, OSError, pickle.UnpicklingError) as error:
            self._ended()
            raise ForecastFailed("the process that computes forecasts has ended") from error
        if wrong:
            raise ForecastFailed(wrong)
        return found

    def _started(self) -> subprocess.Popen[bytes]:
        if self._process is None:
            self._process = subprocess.Popen(
                [sys.executable, "-c", _START], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL, env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
                start_new_session=True,
            )  # fmt: skip
        return self._process

    def _ended(self) -> None:
        """What is left of the process goes; the next question starts another."""
        if self._process is not None:
            self._process.kill()
            self._process.communicate()
        self._process, self._told = None, None


def serve() -> None:
    """Answer the questions on the standard input until it ends, also in the middle of a computation."""
    os.nice(_NICE)
    asked: SimpleQueue[tuple[Build | None, str, tuple[Any, ...]]] = SimpleQueue()
    Thread(target=_listen, args=(asked,), daemon=True).start()
    real, build = RealForecaster(), None
    while True:
        told, kind, arguments = asked.get()
        build = build if told is None else told
        answer: tuple[Any, str] = (None, "")
        try:
            answer = (getattr(real, kind)(build, *arguments), "")
        except Exception as error:  # the edge of this process: whatever happens is told as words
            answer = (None, f"{type(error).__name__}: {error}")
        sys.stdout.buffer.write(pickle.dumps(answer))
        sys.stdout.buffer.flush()


def _listen(asked: SimpleQueue[Any]) -> None:
    """Hand on what comes; the end of the input, or a question that can't be read, is the end of the process."""
    try:
        while True:
            asked.put(pickle.load(sys.stdin.buffer))
    finally:
        os._exit(0)
