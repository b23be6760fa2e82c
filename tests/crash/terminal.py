"""A terminal of 80x24 with a program on it: keys go in at the speed of hands, the screen comes out as text."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import termios
import time
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

import pyte

COLUMNS, ROWS = 80, 24

#: Hands pause to read a prompt before its first key, and are faster from key to key.
READ_S, KEY_S = 0.6, 0.07

#: How often an answer is typed that counts as pasted, and the longest until something comes of it.
_TRIES, _ANSWER_HANG_S = 5, 20.0

#: Nothing drawn for so long is the end of what was drawn at once.
_QUIET_S = 0.1

#: What a program sends to leave the alternate screen, and any escape sequence.
_SCREEN_BACK, _ESCAPES = b"\x1b[?1049l", re.compile(r"\x1b\[[0-9;?<>=]*[a-zA-Z]")

_REMEMBERED = 100_000


class Process(Protocol):
    """What a terminal asks of the program on it."""

    pid: int

    def poll(self) -> int | None: ...

    def wait(self, timeout: float = ...) -> int: ...

    def send_signal(self, number: int) -> None: ...

    def kill(self) -> None: ...


def in_surroundings(environment: dict[str, str]) -> Callable[[list[str], int], Process]:
    """How to start a command with `environment` on the terminal with that descriptor."""

    def launch(command: list[str], terminal: int) -> Process:
        return subprocess.Popen(
            command, stdin=terminal, stdout=terminal, stderr=terminal, env=environment, start_new_session=True
        )

    return launch


class Terminal:
    """Runs `command` in a pseudo terminal; close it, or kill it as a power cut would."""

    def __init__(self, command: list[str], start: dict[str, str] | Callable[[list[str], int], Process]) -> None:
        """`start` is the environment of a process of its own, or what starts `command` on a terminal."""
        self._ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        self.process = (in_surroundings(start) if isinstance(start, dict) else start)(command, theirs)
        os.close(theirs)
        self._screen = pyte.Screen(COLUMNS, ROWS)
        self._stream = pyte.ByteStream(self._screen)
        self._drawn = b""

    def text(self) -> str:
        """What is on the screen."""
        return "\n".join(self._screen.display)

    def listen(self, seconds: float) -> None:
        """Take what the program draws in the next `seconds`."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0:
            if select.select([self._ours], [], [], left)[0]:
                try:
                    drawn = os.read(self._ours, 65536)
                except OSError:  # the other end is gone
                    return
                self._drawn = (self._drawn + drawn)[-_REMEMBERED:]
                self._stream.feed(drawn)

    def parting(self) -> list[str]:
        """The lines printed once the program had given the screen back."""
        printed = self._drawn.rpartition(_SCREEN_BACK)[2].decode()
        return [line for line in _ESCAPES.sub("", printed).splitlines() if line.strip()]

    def wait_for(self, *wanted: str, hang_s: float = 60.0) -> str:
        """The screen once all of `wanted` are on it."""
        end = time.monotonic() + hang_s
        while time.monotonic() < end:
            if all(text in self.text() for text in wanted):
                return self.text()
            self.listen(0.05)
        raise AssertionError(f"{wanted} did not come\n{self.text()}")

    def type(self, text: str) -> None:
        """Read the screen and type `text`."""
        self.listen(READ_S)
        for character in text:
            os.write(self._ours, character.encode())
            self.listen(KEY_S)

    def line(self, text: str, *, after_s: float = KEY_S) -> None:
        """Read the screen, type `text` and Enter, and look at it for `after_s` more."""
        self.type(text)
        os.write(self._ours, b"\r")
        self.listen(after_s)

    def answer(self, text: str, wanted: str) -> None:
        """Type `text` until `wanted` is shown; keys that a busy machine hands over in one count as pasted."""
        for _ in range(_TRIES):
            saved = self.saved()
            self.line(text)
            end = time.monotonic() + _ANSWER_HANG_S
            while self.saved() == saved and time.monotonic() < end:
                self.listen(0.05)
            if wanted in self.text():
                return
        raise AssertionError(f"{text!r} did not lead to {wanted!r}\n{self.text()}")

    def saved(self) -> int:
        """The number of the last event, as the head of the screen has it; 0 before there is one."""
        return max((int(number) for number in re.findall(r"saved #(\d+)", self.text())), default=0)

    def send(self, data: bytes) -> None:
        """Let the keyboard's side deliver `data` as fast as it is taken, while what is drawn is taken too."""
        while data:
            if select.select([], [self._ours], [], 0.02)[1]:
                data = data[os.write(self._ours, data[:512]) :]
            self.listen(0.0005)

    def drawn(self) -> bytes:
        """The latest of what the program sent to the terminal."""
        return self._drawn

    def enter(self, *shows: Callable[[str], bool], hang_s: float = 10.0) -> tuple[float, ...]:
        """Strike Enter; for each of `shows` the seconds until the piece of output had come after which the screen does.

        Output is only kept as it comes and looked at afterwards, so that looking takes no time.
        """
        begin = time.perf_counter()
        came: list[tuple[float, bytes]] = []
        found: list[float] = []
        os.write(self._ours, b"\r")
        while len(found) < len(shows) and time.perf_counter() < begin + hang_s:
            if select.select([self._ours], [], [], _QUIET_S)[0]:
                came.append((time.perf_counter(), os.read(self._ours, 65536)))
                continue
            for at, drawn in came:
                self._stream.feed(drawn)
                while len(found) < len(shows) and shows[len(found)](self.text()):
                    found.append(at - begin)
            came = []
        if len(found) < len(shows):
            raise AssertionError(f"nothing of the kind within {hang_s:.0f} s\n{self.text()}")
        return tuple(found)

    def kill(self) -> None:
        """SIGKILL, then what was drawn up to it."""
        if self.process.poll() is None:
            os.kill(self.process.pid, signal.SIGKILL)
        self.process.wait()
        self.listen(0.2)

    def stopped(self, hang_s: float = 20.0) -> None:
        """Take what is drawn until the program stands still, by whatever signal."""
        end = time.monotonic() + hang_s
        while "State:\tT" not in Path(f"/proc/{self.process.pid}/status").read_text("ascii"):
            assert time.monotonic() < end, f"it goes on\n{self.text()}"
            self.listen(0.02)

    def wipe(self) -> None:
        """Forget what was drawn, as a terminal that was given back does."""
        self._screen.reset()

    def vanish(self) -> None:
        """The window is closed: the program's terminal is gone."""
        os.close(self._ours)

    def sane(self) -> bool:
        """Does the terminal take lines and echo them, as a shell wants it?"""
        local = termios.tcgetattr(self._ours)[3]
        return bool(local & termios.ICANON and local & termios.ECHO)

    def close(self) -> None:
        self.kill()
        os.close(self._ours)
