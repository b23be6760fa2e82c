"""Answers that were computed before, under a key of all that they depend on: none can be found after a change.

The key is a hash of the command, its options, the contents of the files that it read, and the program itself with the
packages it computes with. An answer is kept in the user's cache folder; where that cannot be used, it is computed.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterable
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

from benchtui.cli.answer import Answer, Exit

MOST = 64
"""Answers that are kept, the newest ones."""

_LARGEST_BYTES = 1024 * 1024
"""No command takes a file so large; it is left to the command to say so."""

_COMPUTES_WITH = ("numpy", "pydantic")

_ANSWERS = (Exit.FINE, Exit.FINDINGS)


def kept(words: Iterable[str], files: Iterable[Path], compute: Callable[[], Answer]) -> Answer:
    """The answer of `compute`, or the one that the same `words`, contents of `files` and program gave before.

    Only what a command came to is kept, never a refusal, and nothing of what was read from other than plain files.
    """
    words, files = list(words), list(files)
    place = _place(words, files)
    if place is None:
        return compute()
    found = _read(place)
    if found is not None:
        return found
    answer = compute()
    if answer.code in _ANSWERS and _place(words, files) == place:  # else a file has changed meanwhile
        _write(place, answer)
    return answer


def _place(words: list[str], files: list[Path]) -> Path | None:
    """The file whose name is the key; None where a file is no plain one of a fair size, or nobody has a home."""
    program = Path(__file__).parents[1]
    digest = sha256()
    try:
        own = os.environ.get("XDG_CACHE_HOME", "")
        folder = Path(own) if os.path.isabs(own) else Path.home() / ".cache"
        for path in (*sorted(program.rglob("*.py")), *sorted(program.rglob("*.toml")), *files):
            if not path.is_file() or path.stat().st_size > _LARGEST_BYTES:
                return None
            digest.update(sha256(path.read_bytes()).digest())
        for word in (*words, sys.version, *(version(name) for name in _COMPUTES_WITH)):
            digest.update(sha256(word.encode("utf-8", "surrogateescape")).digest())
    except (OSError, RuntimeError):
        return None
    return folder / "benchtui" / f"{digest.hexdigest()}.json"


def _read(place: Path) -> Answer | None:
    """What is kept, if it is whole."""
    try:
        data = json.loads(place.read_text("utf-8"))
        whole = data["sum"] == _sum(data["code"], data["out"], data["words"])
        return Answer(Exit(data["code"]), data["out"], data["words"]) if whole else None
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def _write(place: Path, answer: Answer) -> None:
    """Keep an answer, whole or not at all; an old one goes when there are many."""
    part = place.with_suffix(f".{os.getpid()}.part")
    sum_ = _sum(answer.code, answer.out, answer.words)
    data = {"sum": sum_, "code": answer.code, "out": answer.out, "words": answer.words}
    try:
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with open(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as file:
            file.write(json.dumps(data))
        part.replace(place)
        for old in sorted(place.parent.glob("*.json"), key=os.path.getmtime)[:-MOST]:
            old.unlink()
    except OSError:
        return  # a full or read-only disk: the next time it is computed again


def _sum(code: int, out: str, words: str) -> str:
    return sha256(json.dumps([code, out, words]).encode()).hexdigest()
