"""What a command gives back: an exit code, data for stdout, words for stderr. One place prints them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class Exit(IntEnum):
    """Exit codes of all commands."""

    FINE = 0
    FINDINGS = 1
    INPUT_WRONG = 2
    """Usage, build file or readings."""

    PLACE_WRONG = 3
    """Terminal, disk, lock, damaged record, or a package that is missing."""

    INTERRUPTED = 130
    """By Ctrl-C, as shells count it (128 and the signal's number)."""


@dataclass(frozen=True)
class Answer:
    """`out` is data and `words` are sentences; both without a line end at their end."""

    code: int = Exit.FINE
    out: str = ""
    words: str = ""


class Refusal(Exception):
    """Ends a command with `code` and `words`, and nothing on stdout."""

    def __init__(self, code: Exit, words: str) -> None:
        self.code = code
        self.words = words
        super().__init__(words)
