"""The name of a file completed, as far as only one way leads on, in a line that asks for a capture."""

from __future__ import annotations

import os
from itertools import islice
from pathlib import Path

from benchtui.quantities.clean import clean

#: So many entries of a folder are looked at.
_MOST = 20_000

_QUOTES = "'\""


def completed(line: str) -> str:
    """`line`, such as `wav hum 5`, with the last name in it completed; as it was where nothing or too much fits.

    All behind the first word is one name, with its blanks, or else what is behind the last blank or open quote.
    Touches the disk.
    """
    word, blank, rest = line.partition(" ")
    if not blank:
        return line
    whole = _fits(rest, "")
    if whole is not None:
        return f"{word} {whole}"
    at = _last(rest)
    quote = rest[at : at + 1] if rest[at : at + 1] in _QUOTES else ""
    piece = _fits(rest[at + len(quote) :], quote or "'")
    if piece is None:
        return line
    quoted = quote or ("'" if " " in piece else "")
    return f"{word} {rest[:at]}{quoted}{piece}"


def _last(rest: str) -> int:
    """Where the last name begins: at the quote that is still open, or behind the last blank."""
    opened, quote = -1, ""
    for at, character in enumerate(rest):
        if quote:
            quote = "" if character == quote else quote
        elif character in _QUOTES and (at == 0 or rest[at - 1] == " "):
            opened, quote = at, character
    return opened if quote else rest.rfind(" ") + 1


def _fits(piece: str, quote: str) -> str | None:
    """`piece` completed by the WAV files and folders that begin so; None where there is none.

    A name that is whole and has blanks ends with `quote`.
    """
    folder, slash, start = piece.rpartition("/")
    try:
        found = sorted(_names(Path(f"{folder}{slash}").expanduser(), start))
    except (OSError, RuntimeError, ValueError):
        return None
    if not found:
        return None
    common = os.path.commonprefix(found)
    whole = len(found) == 1 and not common.endswith("/")
    return f"{folder}{slash}{common}{quote if whole and ' ' in common else ''}"


def _names(folder: Path, start: str) -> list[str]:
    """Entries of `folder` that begin with `start`, folders with a slash behind."""
    with os.scandir(folder) as entries:
        return [
            f"{each.name}/" if each.is_dir() else each.name
            for each in islice(entries, _MOST)
            if each.name.startswith(start) and not (each.name.startswith(".") and not start)
            and (each.is_dir() or each.name.casefold().endswith(".wav")) and clean(each.name) == each.name
        ]  # fmt: skip
