"""What is wrong with a build file, each fault in one line that says what would be right."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

from benchtui.quantities.clean import clean

Path = tuple[str | int, ...]
"""Where a value stands in the file: keys and list positions from the top."""

#: After so many problems of one kind the rest is left for the next time.
MOST_FINDINGS = 100

_LONGEST_FOUND = 60
_MOST_NAMES = 30
_MOST_COMPARED = 400


@dataclass(frozen=True, order=True)
class Problem:
    """One fault: `found` at the key `place`, what is `wrong` with it, and what would be `right`.

    `line` is 0 where the fault has no line.
    """

    file: str
    line: int
    place: str
    found: str
    wrong: str
    right: str

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else self.file
        subject = " ".join(part for part in (self.place, self.found) if part)
        sentence = f"{subject} {self.wrong}" if subject else self.wrong
        return clean(f"{where}: {sentence}, {self.right}")


@dataclass(frozen=True)
class Finding:
    """What a check found at `path` of the expanded build; `odd` if it is possible, only worth a warning.

    `other` is the path of a second place that belongs to it, whose line is told too.
    """

    path: Path
    wrong: str
    right: str
    found: str = ""
    other: Path | None = None
    odd: bool = False


class BuildFileError(Exception):
    """A build file that is refused, with every problem found."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = in_order(problems)
        if len(self.problems) >= MOST_FINDINGS:
            wrong, right = f"only the first {MOST_FINDINGS} problems of a kind are told", "mend these and try again"
            self.problems += (Problem(self.problems[-1].file, 0, "", "", wrong, right),)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def suggestion(name: str, known: Iterable[str]) -> str:
    """What may have been meant by the unknown `name`."""
    names = list(known)
    close = difflib.get_close_matches(name, names[:_MOST_COMPARED], n=1, cutoff=0.5)
    if close:
        return f"did you mean {close[0]}?"
    return f"known are {', '.join(names[:_MOST_NAMES])}" if names else "there is none in this file"


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Each problem once, by line."""
    return tuple(sorted(set(problems), key=lambda problem: (problem.line, problem)))


def shown(value: object) -> str:
    """A value from the file as a message quotes it: text in quotes, short, hidden characters named."""
    if isinstance(value, str):
        return f'"{clean(value, _LONGEST_FOUND)}"'
    if isinstance(value, bool):
        return str(value).lower()
    return clean(str(value), _LONGEST_FOUND)


def place(path: Path) -> str:
    """A path as a builder would write it: `point.v2_cathode.stages[1]`, counted from 1."""
    text = ""
    for key in path:
        text += f"[{key + 1}]" if isinstance(key, int) else f".{clean(key, _LONGEST_FOUND)}"
    return text.removeprefix(".")
