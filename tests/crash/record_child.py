"""A program of its own that keeps a record, for tests that kill it: `record_child.py WAY RECORD`.

Ways: `append` without end; `hold` the record until its input closes; `limit` appends until the system's
limit on file size stops it. Prints `saved #n` once event n is durable, and the name of what goes wrong.
"""

from __future__ import annotations

import resource
import sys
from itertools import count

from benchtui.record import Journal, Locked, NotFound, NotSaved

FILE_LIMIT_BYTES = 3000


def data(n: int) -> dict[str, object]:
    """What event number `n` must hold."""
    return {"n": n, "typed": "3" * (n * 37 % 300)}


def opened(path: str) -> Journal:
    try:
        return Journal.open(path)
    except NotFound:
        return Journal.create(path, {"build": "x"})


def say(text: str) -> None:
    print(text, flush=True)


def main(way: str, path: str) -> None:
    if way == "limit":
        resource.setrlimit(resource.RLIMIT_FSIZE, (FILE_LIMIT_BYTES, FILE_LIMIT_BYTES))
    try:
        journal = opened(path)
    except Locked as error:  # another child is just giving birth to it
        journal, trouble = None, error
    else:
        trouble = journal.trouble
    say(type(trouble).__name__ if trouble else "writes")
    if way == "hold":
        sys.stdin.read()
    elif journal:
        append(journal)


def append(journal: Journal) -> None:
    """Append until something goes wrong."""
    for n in count(len(journal.events) + 1):
        try:
            say(f"saved #{journal.append('reading', data(n)).n}")
        except NotSaved as error:
            say(type(error).__name__)
            return


if __name__ == "__main__":
    main(*sys.argv[1:])
