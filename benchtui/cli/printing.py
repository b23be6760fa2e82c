"""Answers on their way out: data to stdout, words to stderr, in signs that the terminal has."""

from __future__ import annotations

import os
import sys
from typing import TextIO

from benchtui.cli.answer import Answer, Exit
from benchtui.quantities.clean import clean, to_ascii
from benchtui.tui.terminal import takes_utf8


def deliver(answer: Answer) -> int:
    """Print `answer` and give the exit code to leave with.

    A reader that has gone away (as in `| head`) changes nothing; a full disk is told on stderr.
    """
    tell(answer.words)
    try:
        _print(answer.out, sys.stdout)
    except BrokenPipeError:
        _close_quietly()
    except OSError as error:
        _close_quietly()
        tell(f"benchtui: the output could not be written ({error.strerror})")
        return Exit.PLACE_WRONG
    return answer.code


def tell(words: str) -> None:
    """Print `words` to stderr, to whoever listens."""
    try:
        _print(words, sys.stderr)
    except OSError:
        pass  # nobody listens, and there is nowhere else to say so


def show_line(text: str) -> None:
    """Print a line of a dialogue at once. Raises OSError where nobody can read it."""
    _print(text or " ", sys.stdout)


def _print(text: str, stream: TextIO | None) -> None:
    if text and stream is not None:
        stream.write(_shown(text, stream) + "\n")
        stream.flush()


def _shown(text: str, stream: TextIO) -> str:
    text = "\n".join(clean(line) for line in text.split("\n"))
    encoding = (stream.encoding or "ascii").lower().replace("-", "")
    return text if encoding == "utf8" and takes_utf8(os.environ) else to_ascii(text)


def _close_quietly() -> None:
    """Point stdout elsewhere, so that the interpreter's own last flush has nothing left to complain about."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
