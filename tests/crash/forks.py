"""Programs forked from one process that has all loaded: an app is on its terminal in a tenth of the time.

The process is `forks_child.py`; what can be forked are the functions that it lists.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

CHILD = Path(__file__).with_name("forks_child.py")
ROOT = CHILD.parents[2]

_SURROUNDINGS = {"PYTHONPATH": str(ROOT), "TERM": "xterm-256color", "LANG": "C.UTF-8", "OPENBLAS_NUM_THREADS": "1"}
_NOT_WANTED = ("NO_COLOR", "BENCHTUI_DEBUG", "LC_ALL", "LC_CTYPE")


def surroundings() -> dict[str, str]:
    """The environment of every app that is forked."""
    return {name: text for name, text in os.environ.items() if name not in _NOT_WANTED} | _SURROUNDINGS


class Forked:
    """A forked program, told of as `subprocess.Popen` tells of one."""

    def __init__(self, pid: int, forks: Forks) -> None:
        self.pid = pid
        self._forks = forks
        self._code: int | None = None

    def poll(self) -> int | None:
        """The exit code, minus the signal's number after one; None while it runs."""
        if self._code is None:
            self._code = self._forks.ask({"poll": self.pid})["code"]
        return self._code

    def wait(self, timeout: float = 30.0) -> int:
        end = time.monotonic() + timeout
        while (code := self.poll()) is None:
            if time.monotonic() > end:
                raise subprocess.TimeoutExpired(f"process {self.pid}", timeout)
            time.sleep(0.01)
        return code

    def send_signal(self, number: int) -> None:
        if self.poll() is None:
            os.kill(self.pid, number)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)


class Forks:
    """The process that forks; give `launch` to a Terminal, whose command is then a function's name and its arguments.

    What that function said as it was asked, before it was forked, is `told`.
    """

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-W", "error", "-m", "tests.crash.forks_child"], cwd=ROOT, env=surroundings(),
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        self.told = ""

    def launch(self, command: list[str], terminal: int) -> Forked:
        """Fork the function `command[0]` with the other words as arguments, on the terminal with that descriptor."""
        answer = self.ask({"run": command, "tty": os.ttyname(terminal)})
        self.told = answer["told"]
        return Forked(answer["pid"], self)

    def ask(self, question: dict[str, object]) -> dict[str, object]:
        assert self._process.stdin and self._process.stdout
        self._process.stdin.write(json.dumps(question) + "\n")
        self._process.stdin.flush()
        line = self._process.stdout.readline()
        assert line, "the process that forks has ended"
        return json.loads(line)

    def close(self) -> None:
        self._process.communicate(timeout=30.0)
