"""What the display of a hand meter of 6000 counts shows of a value, typed as people type it, and the way back."""

from __future__ import annotations

import re
from math import inf

_RANGES = (0.6, 6.0, 60.0, 600.0)
_PREFIXES = {"": 1.0, "m": 1e-3, "u": 1e-6, "μ": 1e-6, "µ": 1e-6, "k": 1e3, "M": 1e6, "G": 1e9}


def volts(value: float) -> str:
    """Volts on the lowest range that takes them, from 600.0 mV up."""
    places = next((4 - n for n, top in enumerate(_RANGES) if abs(value) < top), 0)
    return f"{value:.{places}f}"


def ohms(value: float) -> str:
    """Ohms, kilohms and megohms on ranges of 6000 counts from 60.00 ohm up; `OL` for open."""
    if value == inf:
        return "OL"
    for prefix, scale in (("", 1.0), ("k", 1e3), ("M", 1e6)):
        if value < 6000.0 * scale or prefix == "M":
            shown = value / scale
            places = 2 if shown < 60.0 else 1 if shown < 600.0 else 0
            return f"{shown:.{places}f}{prefix}"
    raise AssertionError("there is always a last range")


def value_of(shown: str) -> float:
    """The value of something like "449 mV" or "18.9 V"."""
    match = re.fullmatch(r"([-−]?[\d.]+) ?([a-zA-Zμµ]?)(V|ohm|Ω|A)", shown)
    if match is None:
        raise ValueError(f"{shown!r} is no value with a unit")
    return float(match[1].replace("−", "-")) * _PREFIXES[match[2]]


def hertz(value: float) -> str:
    """A frequency as a generator's dial shows it."""
    return f"{value:.4g} Hz" if value < 1e4 else f"{value / 1e3:.4g} kHz"


def per_cent(value: float) -> str:
    """A share as an analyser shows it."""
    return f"{100.0 * value:.3f} %"
