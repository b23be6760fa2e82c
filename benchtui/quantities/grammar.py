"""How a number is written, and what is said of text that is none."""

from __future__ import annotations

import re
import unicodedata

#: A decimal number with a point: no sign, no exponent, digits after the point.
NUMBER = r"(?:\d+(?:\.\d+)?|\.\d+)"

# What NFKC makes of them. NFKC as a whole would turn full-width digits and superscripts into plain digits.
_SIGNS = str.maketrans({"\u2126": "\u03a9", "\u00b5": "\u03bc", "\u00a0": " ", "\u2009": " ", "\u202f": " "})

_MINUS_LIKE = "\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d"


def normalise(text: str) -> str:
    """`text` trimmed, with one ohm sign (U+03A9), one micro sign (U+03BC) and plain blanks."""
    return text.translate(_SIGNS).strip(" \t")


def _comma(text: str) -> tuple[str, str]:
    digits = text.replace(" ", "")
    if digits.count(",") == 1 and "." not in digits:
        as_point = text.replace(",", ".")
        if re.search(r"\d,\d{3}(?!\d)", text):
            without = text.replace(",", "")
            return "has a comma that may be a point or mark thousands", f"write {as_point} or {without}"
        return "has a decimal comma", f"write {as_point}"
    if digits.count(",") == 1 and digits.rfind(",") > digits.rfind("."):
        return "has both a point and a comma", f"write {digits.replace('.', '').replace(',', '.')}"
    return "has commas in it", f"write {text.replace(',', '')}"


# Looked through in this order; the first that matches gives the answer. Patterns see the normalised text.
_FAULTS: tuple[tuple[str, str, str], ...] = (
    (r"^$", "is empty", "write a number"),
    (r"[\x00-\x1f\x7f]", "has a line end or control character in it", "write one number on one line"),
    (rf"[{_MINUS_LIKE}]", "has a typographic minus or dash", "write a plain - (hyphen) for minus"),
    (r"_", "has an underscore in it", "write the digits without it"),
    (r"(?i)^[+-]?\s*(nan|inf|infinity)\b", "is no number", "write the digits as the meter shows them"),
    (r"(?i)^[+-]?\s*0x", "is a hexadecimal number", "write it in plain decimal digits"),
    (r"(?i)\d\.?e[+-]?\d", "has an exponent", "write it in full, or with a prefix such as k or m"),
    (r"[~<>?=\u2248\u2264\u2265]", "is not exact", "write the number alone"),
    (r"\..*\.", "has two decimal points", "write one decimal point"),
    (r"\d\.(?!\d)", "ends in a decimal point", "write the digits after the point, or leave the point out"),
    (r"[+-]\s*[+-]", "has two signs", "write one sign, in front of the number"),
    (r"\d\s*[+-]", "has a sign after the digits", "write the sign in front of the number"),
    (r"[+-]\s", "has a blank after the sign", "write sign and number together"),
    (r"\d\s+[\d.]", "has a blank between digits", "write the digits without blanks"),
)  # fmt: skip


def fault(text: str) -> tuple[str, str] | None:
    """What is wrong with the number in normalised `text` and what would be right, or None."""
    if any(not c.isascii() and unicodedata.category(c)[0] == "N" for c in text):
        return "has digits of another script", "write plain digits 0 to 9"
    if "," in text and "\n" not in text:
        return _comma(text)
    for pattern, why, hint in _FAULTS:
        if re.search(pattern, text):
            return why, hint
    return None
