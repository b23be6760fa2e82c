"""Tolerances of parts and accuracies of meters, as they are written."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import ceil, log10

from benchtui.quantities.errors import QuantityError
from benchtui.quantities.grammar import NUMBER, fault, normalise

#: IEC 60062 tolerance letters, as fractions. G, J, K read in an extract; the others from memory.
LETTERS = {
    "B": (-0.001, 0.001),
    "C": (-0.0025, 0.0025),
    "D": (-0.005, 0.005),
    "F": (-0.01, 0.01),
    "G": (-0.02, 0.02),
    "J": (-0.05, 0.05),
    "K": (-0.1, 0.1),
    "M": (-0.2, 0.2),
    "Z": (-0.2, 0.8),
}

FINEST_V, FINEST_OHM = 1e-4, 0.1
"""Last digit of the lowest range of a usual hand meter: 0.1 mV and 0.1 ohm (common practice, no source)."""

_EVEN = re.compile(rf"(?:\+-|\+/-|±)?\s*({NUMBER})\s*%")
_UNEVEN = re.compile(rf"([+-])\s*({NUMBER})\s*%?\s*/\s*([+-])\s*({NUMBER})\s*%")
_ACCURACY = re.compile(
    rf"(?:\+-|±)?\s*\(?\s*({NUMBER})\s*%\s*(?:(?:\+|and)\s*(\d{{1,3}})\s*(?:digits?|counts?)?)?\s*\)?"
)

_TOLERANCE_HINT = "write for example 5 %, -20/+50 % or the letter J"
_ACCURACY_HINT = "write for example 0.5 % + 3 (percent of the reading + digits)"


@dataclass(frozen=True)
class Accuracy:
    """Largest error of a meter: `share` of the reading (a fraction) plus `digits` of the last place."""

    share: float
    digits: int


def last_digit(shown: float, counts: int, finest: float) -> float:
    """Size of the last digit on the lowest decade range that holds `shown`, at least `finest`; same unit."""
    return max(10.0 ** ceil(log10(max(abs(shown), finest) / counts)), finest)


def tolerance(text: str) -> tuple[float, float]:
    """Lower and upper tolerance as fractions: `5 %` gives (-0.05, 0.05), `-20/+50 %` gives (-0.2, 0.5).

    Raises QuantityError for anything else than an even or uneven percentage or an IEC 60062 letter.
    """
    plain = normalise(text)
    if plain in LETTERS:
        return LETTERS[plain]
    _refuse_comma(plain, text)
    even = _EVEN.fullmatch(plain)
    uneven = _UNEVEN.fullmatch(plain)
    if even:
        low, high = -_fraction(even[1]), _fraction(even[1])
    elif uneven and uneven[1] != uneven[3]:
        ends = {uneven[1]: _fraction(uneven[2]), uneven[3]: _fraction(uneven[4])}
        low, high = -ends["-"], ends["+"]
    else:
        raise QuantityError(text, "is no tolerance", _TOLERANCE_HINT)
    if not (-1 < low <= 0 <= high <= 10):
        raise QuantityError(text, "is no possible tolerance", "it must be under -100 % and at most +1000 %")
    return low + 0.0, high


def accuracy(text: str) -> Accuracy:
    """The meter accuracy that `text` states: `0.5 % + 3` gives Accuracy(0.005, 3), `1 %` gives no digits.

    Raises QuantityError for anything else.
    """
    plain = normalise(text)
    _refuse_comma(plain, text)
    match = _ACCURACY.fullmatch(plain)
    if match is None or ("(" in plain) != (")" in plain):
        raise QuantityError(text, "is no meter accuracy", _ACCURACY_HINT)
    share = _fraction(match[1])
    if not share < 1:
        raise QuantityError(text, "is no possible meter accuracy", "it must be under 100 % of the reading")
    return Accuracy(share, int(match[2] or 0))


def _fraction(percent: str) -> float:
    return float(f"{percent}e-2")


def _refuse_comma(plain: str, text: str) -> None:
    if "," in plain or not plain:
        why, hint = fault(plain) or ("has a comma", "write a decimal point")
        raise QuantityError(text, why, hint)
