"""Classes of answer to bad input, and what a row of a table may be besides an input that is tried at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TypeVar


class Answer(Enum):
    """What an input comes to. Never a traceback, never a guess, never silence."""

    TAKEN = "taken"
    WARNED = "taken, with a warning on the screen"
    REFUSED = "refused with code 2, each fault on a line `file:line: what is wrong, what would be right`"
    ASKED = "not taken and asked again, with nothing else changed"
    FALLBACK = "a safe way out that the text names"
    NO_PLACE = "refused with code 3: disk, lock or terminal are not fit"
    READ_ONLY = "opened to read only"
    HALTED = "nothing more is taken: power off"


@dataclass(frozen=True)
class Proved:
    """A case that other tests prove, by `file::test` from the top folder; a part of them where a row is tried here."""

    answer: Answer
    by: tuple[str, ...]

    def __init__(self, answer: Answer, *by: str) -> None:
        object.__setattr__(self, "answer", answer)
        object.__setattr__(self, "by", by)


Row = TypeVar("Row")
Table = Mapping[str, tuple[Row | Proved, ...]]
"""By the plain name of a case: its rows, tried here or proved elsewhere."""


def tried(tables: Iterable[Table[Row]]) -> Iterator[tuple[str, Row]]:
    """Case and row of all that is tried here."""
    for table in tables:
        for case, rows in table.items():
            yield from ((case, row) for row in rows if not isinstance(row, Proved))


def named(pairs: Iterable[tuple[str, object]]) -> list[str]:
    """A name for each pair of case and row, for the list of tests."""
    count: dict[str, int] = {}
    names = []
    for case, _ in pairs:
        count[case] = count.get(case, 0) + 1
        names.append(f"{case}, {count[case]}")
    return names
