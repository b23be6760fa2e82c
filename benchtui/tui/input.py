"""What the terminal delivers, sieved before the toolkit parses it, so that no byte kills the app or holds STOP up.

The toolkit works off all it is handed, key by key, and its input thread ends with the app at the first byte that is
not UTF-8. Here STOP is looked for in the raw bytes; reports nobody asked for and floods go no further.
"""

from __future__ import annotations

import codecs
import os
import re
import selectors
import time
from typing import Literal, NamedTuple

from textual import events
from textual._xterm_parser import XTermParser
from textual.app import App
from textual.drivers.linux_driver import LinuxDriver
from textual.message import Message

from benchtui.tui.hands import FLOOD_KEYS, Flood

#: F8 as terminals send it, alone or with Shift, Ctrl, Alt or a lock held; the last form is rxvt's.
_STOP = re.compile(rb"\x1b\[19(?:[;:][0-9;:]*)?[~^$@]")

#: An escape sequence, or text up to the next.
_PIECE = re.compile(
    rb"\x1b\[M.{3}|\x1b\[\[[A-E]|\x1b\[[0-?]*[ -/]*[@-~]|\x1bO[ -~]|\x1b[^\x1b]|\x1b|[^\x1b]+", re.DOTALL
)

#: Control sequences that are keys, or the one answer the toolkit waits for: can screens be drawn in one go?
_WANTED = re.compile(rb"\x1b\[(?:\[[A-E]|[0-9;:]{0,40}[A-HPQRSZ~^$@a-du]|\?2026;[0-9]\$y)")

#: An escape sequence that may go on in what comes next.
_CUT = re.compile(rb"\x1b(?:\[(?:\[|M.{0,2}|[0-?]{0,40}[ -/]?)?|O)?\Z", re.DOTALL)

_PASTE_BEGINS, _PASTE_ENDS = b"\x1b[200~", b"\x1b[201~"

#: Bytes of a paste that are kept; no field takes as much.
_LONGEST_PASTE = 4096

#: A paste that goes on for so long with nothing new has lost its end; a cut sequence was a key of its own.
_PASTE_LOST_S, _CUT_S = 1.0, 0.05

_POLL_S = 0.1
_READ_BYTES = 1 << 16

#: The largest screen that is laid out, in columns and rows.
_LARGEST = (1000, 400)

#: Not asked for: word of the window's focus, and of its size among the keys.
_NOT_ASKED = ("\x1b[?1004h", "\x1b[?2048$p")


class Flooded(Message):
    """More came at once than hands can type; it was dropped."""


class Sieved(NamedTuple):
    """A thing that was delivered: `data` has the bytes of `keys` and the text of a `paste`."""

    what: Literal["stop", "keys", "paste", "flood"]
    data: bytes = b""


class Sieve:
    """Divides the bytes of a terminal, in pieces as they come, into STOP, keys and pastes; drops the rest."""

    def __init__(self) -> None:
        self._flood = Flood()
        self._cut = b""
        self._paste: bytearray | None = None
        self._last = float("-inf")

    @property
    def waiting(self) -> bool:
        """Whether something is incomplete, so that `rest` is to be called soon."""
        return bool(self._cut) or self._paste is not None

    def take(self, data: bytes, at: float) -> list[Sieved]:
        """What is in `data`, delivered `at` (s); STOP comes first, and what was before it is dropped."""
        self._last = at
        data = self._cut + data
        found: list[Sieved] = []
        stops = list(_STOP.finditer(data))
        if stops:
            found.append(Sieved("stop"))
            self._paste = None
            data = data[stops[-1].end() :]
        cut = _CUT.search(data)
        data, self._cut = (data[: cut.start()], cut.group()) if cut else (data, b"")
        return found + self._divided(data, at)

    def rest(self, at: float) -> list[Sieved]:
        """What is incomplete still, once nothing has come for so long that nothing will."""
        if self._paste is not None and at - self._last >= _PASTE_LOST_S:
            self._cut = b""
            return self._divided(_PASTE_ENDS, at)
        if self._paste is None and self._cut and at - self._last >= _CUT_S:
            cut, self._cut = self._cut, b""
            return self._divided(cut, at)
        return []

    def _divided(self, data: bytes, at: float) -> list[Sieved]:
        found: list[Sieved] = []
        while data:
            if self._paste is None:
                keys, begins, data = data.partition(_PASTE_BEGINS)
                found += self._judged("keys", [piece for piece in _PIECE.findall(keys) if _is_key(piece)], at)
                self._paste = bytearray() if begins else None
            else:
                text, ends, data = data.partition(_PASTE_ENDS)
                self._paste += text[: _LONGEST_PASTE - len(self._paste)]
                if ends:
                    found += self._judged("paste", [bytes(self._paste)], at)
                    self._paste = None
        return found

    def _judged(self, what: Literal["keys", "paste"], pieces: list[bytes], at: float) -> list[Sieved]:
        """`pieces` but for those that came in a flood, of which its beginning tells."""
        taken, found = b"", []
        for piece in pieces:
            keys = 1 if what == "paste" or piece.startswith(b"\x1b") else len(piece)
            verdicts = {self._flood.judge(at) for _ in range(min(keys, FLOOD_KEYS + 1))}
            if verdicts == {"taken"}:
                taken += piece
            elif "begun" in verdicts:
                found.append(Sieved("flood"))
        return [Sieved(what, taken), *found] if taken else found


def _is_key(piece: bytes) -> bool:
    if piece == _PASTE_ENDS:
        return False
    return not piece.startswith(b"\x1b[") or len(piece) == 2 or _WANTED.fullmatch(piece) is not None


def _in_foreground(terminal: int) -> bool:
    """May this process set that terminal? Yes also where it is nobody's controlling terminal."""
    try:
        return os.tcgetpgrp(terminal) == os.getpgrp()
    except OSError:
        return True


class BenchDriver(LinuxDriver):
    """The toolkit's driver for a terminal, with a sieve in its input thread."""

    def __init__(
        self, app: App, *, debug: bool = False, mouse: bool = True, size: tuple[int, int] | None = None
    ) -> None:
        super().__init__(app, debug=debug, mouse=mouse, size=size)
        self._given_back = True
        self._size = size or self._get_terminal_size()

    def suspend_application_mode(self) -> None:
        """Give the terminal back, and say there what is to be known while the program stands still."""
        super().suspend_application_mode()
        self._given_back = True
        for line in getattr(self._app, "standing_still", tuple)():
            print(line, file=self._file, flush=True)

    def start_application_mode(self) -> None:
        """Take the terminal, for the first time or back; one that was never given back is taken anew.

        SIGCONT comes also after a SIGSTOP, which leaves no time to give it back: the toolkit would read the keys in
        one thread more, and leave the terminal without echo in the end.
        """
        if not self._given_back:
            if not _in_foreground(self.fileno):
                return
            self.stop_application_mode()
            self.close()
        before = self._key_thread
        super().start_application_mode()
        self._given_back = self._key_thread is before  # a job in the background does not get it

    def write(self, data: str) -> None:
        """Write `data` to the terminal, but for requests of reports that nobody here reads."""
        if data not in _NOT_ASKED:
            super().write(data)

    def _get_terminal_size(self) -> tuple[int, int]:
        width, height = super()._get_terminal_size()
        return min(width, _LARGEST[0]), min(height, _LARGEST[1])

    def run_input_thread(self) -> None:
        """Read, sieve and pass on what the terminal delivers, until the driver is told to end."""
        sieve = Sieve()
        self._begin_parsing()
        with selectors.SelectSelector() as selector:
            selector.register(self.fileno, selectors.EVENT_READ)
            while not self.exit_event.is_set():
                ready = selector.select(_CUT_S if sieve.waiting else _POLL_S)
                try:
                    data = os.read(self.fileno, _READ_BYTES) if ready else b""
                except OSError:
                    data = b""
                if ready and not data:  # the app looks itself whether its terminal is gone for good
                    self.exit_event.wait(_POLL_S)
                    continue
                now = time.monotonic()
                for sieved in sieve.take(data, now) if data else sieve.rest(now):
                    self._pass_on(sieved)
                for message in self._parser.tick():
                    self.process_message(message)

    def _begin_parsing(self) -> None:
        self._parser = XTermParser(self._debug)
        self._decoder = codecs.getincrementaldecoder("utf-8")(errors="replace")

    def _pass_on(self, sieved: Sieved) -> None:
        if sieved.what == "stop":
            self.process_message(events.Key("f8", None))
            self._begin_parsing()
        elif sieved.what == "flood":
            self.process_message(Flooded())
        elif sieved.what == "paste":
            self.process_message(events.Paste(sieved.data.decode(errors="replace").replace("\x00", "")))
        else:
            self._parse(sieved.data)

    def _parse(self, data: bytes) -> None:
        text = self._decoder.decode(data)
        try:
            for message in self._parser.feed(text) if text else ():
                self.process_message(message)
        except Exception:  # a sequence beyond the parser, such as a key without a character: STOP must live on
            self._begin_parsing()
