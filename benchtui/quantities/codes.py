"""Preferred values (IEC 60063) and the codes printed on parts (IEC 60062)."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib.resources import files
from math import floor, isfinite, log10
from typing import Any

from benchtui.quantities.errors import QuantityError
from benchtui.quantities.grammar import normalise
from benchtui.quantities.parse import parse
from benchtui.quantities.tolerance import LETTERS
from benchtui.quantities.units import MARKS, Unit

# A resistor without a tolerance band (from memory).
_NO_BAND = (-0.2, 0.2)


@cache
def _data() -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath("codes.toml").read_text("utf-8"))


@cache
def series(name: str) -> tuple[int, ...]:
    """One decade of the series `name`: E6, E12 and E24 from 10, E96 and E192 from 100.

    Raises QuantityError for another name. Source: IEC 60063.
    """
    data = _data()
    if name in data["series"]:
        return tuple(data["series"][name])
    if name not in data["computed_series"]:
        raise QuantityError(name, "is no series of preferred values", "write E6, E12, E24, E96 or E192")
    count = data["computed_series"][name]
    rounded = [round(100 * 10 ** (i / count)) for i in range(count)]
    return tuple(data["exceptions"].get(str(value), value) for value in rounded)


def nearest(value: float, name: str) -> float:
    """The member of series `name` nearest to `value` by ratio, in the unit of `value`.

    Raises QuantityError for an unknown series, ValueError unless `value` is finite and above zero.
    """
    if not (isfinite(value) and value > 0):
        raise ValueError(f"no preferred value is near {value}")
    members = series(name)
    exponent = floor(log10(value)) - floor(log10(members[0]))
    candidates = [float(f"{m}e{exponent}") for m in members] + [float(f"{members[0]}e{exponent + 1}")]
    return min(candidates, key=lambda candidate: abs(log10(candidate / value)))


def colour_code(bands: tuple[str, ...]) -> tuple[float, tuple[float, float]]:
    """Ohms and tolerance (fractions) of a resistor with 3, 4 or 5 colour bands, first band first.

    Three bands are two digits and multiplier, without a tolerance band. Raises QuantityError for other bands.
    """
    colours = _data()["colours"]
    places = "digits, multiplier" if len(bands) == 3 else "digits, multiplier, tolerance"
    text = ", ".join(bands)
    if len(bands) not in (3, 4, 5):
        raise QuantityError(text, "is no colour code", "give 3, 4 or 5 bands")
    for band in bands:
        if band not in colours:
            raise QuantityError(text, f"has no colour {band!r} in the code", f"write {', '.join(colours)}")
    *digits, multiplier = (colours[b] for b in (bands if len(bands) == 3 else bands[:-1]))
    if not all("digit" in digit for digit in digits):
        raise QuantityError(text, "has gold or silver as a digit", f"read it the other way: {places}")
    whole = "".join(str(digit["digit"]) for digit in digits)
    ohms = float(f"{whole}e{multiplier['exponent']}")
    if len(bands) == 3:
        return ohms, _NO_BAND
    percent = colours[bands[-1]].get("tolerance")
    if percent is None:
        raise QuantityError(text, f"has {bands[-1]} as tolerance band", f"read it the other way: {places}")
    return ohms, (-percent / 100, percent / 100)


def capacitor_code(text: str) -> float:
    """Farads of a three-digit capacitor code, two digits and the number of zeros in pF: `104` is 100 nF.

    Raises QuantityError for anything else. Source: from memory.
    """
    code = normalise(text)
    if not re.fullmatch(r"[1-9][0-9][0-7]", code):
        raise QuantityError(text, "is no three-digit capacitor code", "write for example 104 for 100 nF")
    return float(f"{code[:2]}e{int(code[2]) - 12}")


def marking(text: str, unit: Unit) -> tuple[float, tuple[float, float] | None]:
    """SI value and tolerance of a mark as printed on the part: `27KK` gives 27 kohm, (-0.1, 0.1).

    Without a tolerance letter the tolerance is None. Raises QuantityError as `parse` does. Source: IEC 60062.
    """
    code = normalise(text)
    value, letter = code[:-1], code[-1:]
    if letter in LETTERS and any(mark in value for mark in MARKS.get(unit, {})):
        return parse(value, unit), LETTERS[letter]
    return parse(code, unit), None
