"""Plain tables as TOML text, one part a line, the way a builder would write them."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal

_PREFIXES = (("u", 6), ("n", 9), ("p", 12))
_BARE = re.compile(r"[A-Za-z0-9_-]+")

Plain = str | int | float | bool | Sequence["Plain"] | Mapping[str, "Plain"]


def key(name: str) -> str:
    """`name` as a TOML key, quoted where it must be."""
    return name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def value(plain: Plain) -> str:
    """`plain` as TOML on one line."""
    if isinstance(plain, bool):
        return "true" if plain else "false"
    if isinstance(plain, str):
        return json.dumps(plain, ensure_ascii=False)
    if isinstance(plain, int | float):
        return repr(plain)
    if isinstance(plain, Mapping):
        return "{ " + ", ".join(f"{key(k)} = {value(v)}" for k, v in plain.items()) + " }"
    return "[" + ", ".join(value(item) for item in plain) + "]"


def lines_of(entries: Mapping[str, Plain]) -> list[str]:
    """`entries` as `key = value` lines, in their order."""
    return [f"{key(name)} = {value(plain)}" for name, plain in entries.items()]


def table(header: str, entries: Mapping[str, Plain]) -> list[str]:
    """A `[header]` with its lines and a blank line before it; nothing for no entries."""
    return ["", f"[{header}]", *lines_of(entries)] if entries else []


def number(plain: float) -> str:
    """`plain` in full decimal digits: a build file takes no exponents."""
    text = format(Decimal(repr(plain)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_unit(unit: str):
    """A function that writes a number of SI units as text such as "47 ohm"."""
    return lambda plain: f"{number(plain)} {unit}"


def farads(plain: float) -> str:
    """A capacitance in farads as the trade writes it: "16 uF", "300 pF"."""
    exact = Decimal(repr(plain))
    prefix, power = next((p for p in _PREFIXES if exact * 10 ** p[1] >= 1), _PREFIXES[-1])
    return f"{number_of(exact * 10**power)} {prefix}F"


def number_of(exact: Decimal) -> str:
    """`exact` without exponent and without needless zeros."""
    text = format(exact, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(share: float) -> str:
    """A share as text in percent: 0.001 gives "0.1 %"."""
    return f"{number_of(Decimal(repr(share)) * 100)} %"


def tolerance(percents: float | Sequence[float]) -> str:
    """A tolerance in percent, one number or (low, high): "5 %", "-20/+50 %"."""
    if isinstance(percents, int | float):
        return f"{number(percents)} %"
    low, high = percents
    return f"{number(high)} %" if -low == high else f"{number(low)}/+{number(high)} %"
