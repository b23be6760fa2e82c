"""Foreign text made fit to show: what does not print, or prints out of place, is named instead."""

from __future__ import annotations

import unicodedata

# Controls, format characters (direction, zero width, tags), surrogates, private, unassigned, line separators.
_HIDDEN_CATEGORIES = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}

# Letters and marks that show as nothing or as a blank: joiner, Hangul fillers, Khmer vowels, Braille blank.
_BLANK = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0")

_STAND_INS = str.maketrans({
    "\u03a9": "ohm", "\u2126": "ohm", "\u03bc": "u", "\u00b5": "u", "\u00b0": "deg", "\u00b1": "+-", "\u2212": "-",
    "\u2013": "-", "\u2026": "...", "\u00d7": "x", "\u2264": "<=", "\u2265": ">=", "\u2248": "~",
})  # fmt: skip


def is_hidden(character: str) -> bool:
    """Whether `character` shows as nothing, moves others about or talks to the terminal."""
    return (
        unicodedata.category(character) in _HIDDEN_CATEGORIES
        or character in _BLANK
        or "\ufe00" <= character <= "\ufe0f"
        or "\U000e0100" <= character <= "\U000e01ef"
    )


def clean(text: str, longest: int | None = None) -> str:
    """`text` on one line with every hidden character as `<U+202E>`; markup stays as typed.

    Cut to `longest` characters, the last being an ellipsis, where given. Cleaning twice changes nothing.
    """
    if not text.isascii() or not text.isprintable():
        text = "".join(f"<U+{ord(c):04X}>" if is_hidden(c) else c for c in text)
    if longest is not None and len(text) > longest:
        return text[: longest - 1] + "\u2026"
    return text


def to_ascii(text: str) -> str:
    """`text` in ASCII: the trade's signs by their stand-ins (`ohm`, `u`, `+-`), any other as a question mark."""
    return text.translate(_STAND_INS).encode("ascii", "replace").decode("ascii")
