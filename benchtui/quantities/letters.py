"""The builder's words in letters that every reader of PDF has."""

from __future__ import annotations

from benchtui.quantities.clean import clean, to_ascii


def western(text: str) -> str:
    """`text` in Western European letters; others by their stand-ins, or as question marks."""
    return "".join(letter if _is_western(letter) else to_ascii(letter) for letter in clean(text))


def _is_western(letter: str) -> bool:
    try:
        letter.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True
