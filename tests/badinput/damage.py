"""Kinds of damage to a sound build file: each puts one slip where chance says, and knows what must be said of it."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial

from tests.buildfile.damage import EXAMPLE
from tests.buildfile.test_channels import STEREO
from tests.session.made_up import BUILDS

TEXTS = {"example": EXAMPLE, "stereo": STEREO} | {
    name: (BUILDS / f"{name}.toml").read_text("utf-8") for name in ("pp-6v6", "pp-el34", "se-stereo")
}


@dataclass(frozen=True)
class Damaged:
    """The bytes of a file, the line with the slip (0: none), and words of which at least one is said there."""

    data: bytes
    line: int
    says: tuple[str, ...]


@dataclass(frozen=True)
class Kind:
    """A kind of slip by name; `make` gives None where the text has no place for it."""

    name: str
    make: Callable[[str, random.Random], Damaged | None]


@dataclass(frozen=True)
class Spot:
    """A text value of a file: its table, key, and where it stands, quotes included."""

    table: str
    key: str
    begin: int
    end: int
    line: int


_HEADER = re.compile(r"\[([\w.-]+)\]")
_PAIR = re.compile(r'(\w+) = ("[^"\n]*"|\d+)(?=[\s,}]|$)')


@cache
def spots(text: str) -> tuple[Spot, ...]:
    """Every short text and number that stands after a key of its own."""
    found, table, at = [], "", 0
    for number, line in enumerate(text.splitlines(keepends=True), start=1):
        header = _HEADER.match(line)
        if header:
            table = header[1].removeprefix("each.")
        elif not line.startswith("#"):
            code = line.split(" #")[0]
            found += [Spot(table, m[1], at + m.start(2), at + m.end(2), number) for m in _PAIR.finditer(code)]
        at += len(line)
    return tuple(found)


def _drawn(text: str, chance: random.Random, fits: Callable[[Spot], bool]) -> Spot | None:
    fitting = [spot for spot in spots(text) if fits(spot)]
    return chance.choice(fitting) if fitting else None


def _put(text: str, spot: Spot, value: str, *says: str) -> Damaged:
    return Damaged((text[: spot.begin] + value + text[spot.end :]).encode(), spot.line, says)


# -- values

#: By kind of value: a unit to write it with, and its keys; `value` is told apart by its table.
_UNITS = {
    "ohms": ("kohm", {"resistance", "impedance", "secondary_resistance"}, {"resistor", "pot", "load"}),
    "farads": ("uF", {"capacitance"}, {"capacitor"}),
    "henries": ("H", {"inductance", "leakage"}, {"choke"}),
    "volts": ("V", {"volts", "emf"}, set()),
    "amps": ("mA", {"amps"}, set()),
    "watts": ("W", {"watts"}, set()),
    "hertz": ("Hz", {"frequency", "ac_lowest"}, set()),
    "percent": ("%", {"regulation"}, set()),
}

_TYPE, _TEXT = ("is no text", "is no list"), "is a bare number"

#: Wrong ways to write a value, {} being its unit, with what is said of them.
_FORMS: dict[str, tuple[str, tuple[str, ...]]] = {
    "bare number": ("4.7", (_TEXT,)), "bare whole number": ("47", (_TEXT,)), "bare word": ("4x7", ("in quotes",)),
    "bare nan": ("nan", (_TEXT,)), "bare inf": ("-inf", (_TEXT,)), "bare overflow": ("1e400", (_TEXT,)),
    "true": ("true", _TYPE), "date": ("1979-05-27", _TYPE), "time": ("07:32:00", _TYPE), "list": ('["4.7 {}"]', _TYPE),
    "table": ('{{ a = "4.7 {}" }}', _TYPE), "empty list": ("[]", _TYPE),
    "nothing": ('""', ("is empty",)), "blank": ('" "', ("is empty",)), "word": ('"some"', ("is no value", "unknown")),
    "decimal comma": ('"4,7 {}"', ("decimal comma",)), "thousands": ('"1,234 {}"', ("comma that may",)),
    "point and comma": ('"1.234,5 {}"', ("point and a comma",)), "two commas": ('"1,2,3 {}"', ("commas",)),
    "two points": ('"4.7.1 {}"', ("two decimal points",)), "two signs": ('"--4 {}"', ("two signs",)),
    "sign behind": ('"4- {}"', ("sign after",)), "sign apart": ('"- 4 {}"', ("blank after the sign",)),
    "dash for minus": ('"\u22124 {}"', ("typographic",)),
    "below zero": ('"-4.7 {}"', ("below zero", "above zero", "from 0 %")),
    "no unit": ('"47"', ("has no unit",)), "another unit": ('"4 dB"', ("is in decibels",)),
    "unknown unit": ('"4 furlong"', ("unknown unit",)), "unit twice": ('"4 {0} {0}"', ("unknown unit", "is no value")),
    "exponent": ('"4e3 {}"', ("exponent",)), "hexadecimal": ('"0x10 {}"', ("hexadecimal",)),
    "underscore": ('"1_0 {}"', ("underscore",)), "nan": ('"nan {}"', ("is no number",)),
    "inf": ('"inf {}"', ("is no number",)), "infinity": ('"-Infinity"', ("is no number",)),
    "full-width digits": ('"\uff14 {}"', ("another script",)), "Arabic digits": ('"\u0664 {}"', ("another script",)),
    "superscript": ('"4\u00b2 {}"', ("another script",)), "blank in the digits": ('"4 7 {}"', ("blank between",)),
    "point at the end": ('"4. {}"', ("ends in a decimal point",)), "not exact": ('"~4 {}"', ("not exact",)),
    "less than": ('"<4 {}"', ("not exact",)), "too long": (f'"{"4" * 80} {{}}"', ("too long",)),
    "escape sequence": ('"4\\u001b[2J {}"', ("control character",)), "line end": ('"4\\n {}"', ("line end",)),
    "direction": ('"4\\u202e {}"', ("unknown unit", "is no value")), "markup": ('"[b]4[/] {}"', ("is no value",)),
    "not closed": ('"4.7 {}', ("this is no TOML",)), "other quotes": ("\u201c4.7 {}\u201d", ("in quotes", "no TOML")),
    "escape unknown": ('"4\\q {}"', ("this is no TOML",)),
}  # fmt: skip


def _value(unit: str, keys: set[str], tables: set[str], form: str, text: str, chance: random.Random) -> Damaged | None:
    spot = _drawn(text, chance, lambda s: s.key in keys or (s.key == "value" and s.table in tables))
    written, says = _FORMS[form]
    return spot and _put(text, spot, written.format(unit), *says)


def _values() -> Iterator[Kind]:
    for quantity, how in _UNITS.items():
        for form in _FORMS:
            yield Kind(f"{quantity}: {form}", partial(_value, *how, form))


# -- keys and names

_TABLES = (
    "resistor", "capacitor", "choke", "fuse", "switch", "diode", "valve", "load", "input", "pot", "mains", "meter",
    "bench", "point", "output_transformer",
)  # fmt: skip


def _in(table: str) -> Callable[[Spot], bool]:
    return lambda spot: spot.table.partition(".")[0] == table


def _unknown_key(table: str, text: str, chance: random.Random) -> Damaged | None:
    spot = _drawn(text, chance, lambda spot: _in(table)(spot) and not spot.key.isdigit())  # digits are pins
    if spot is None:
        return None
    begin = text.rindex(spot.key, 0, spot.begin)
    return Damaged((text[:begin] + "q" + text[begin:]).encode(), spot.line, (f"q{spot.key} is not known here",))


def _key_twice(table: str, text: str, chance: random.Random) -> Damaged | None:
    spot = _drawn(text, chance, lambda spot: _in(table)(spot) and "{" in _line(text, spot))
    if spot is None:
        return None
    again = f"{text[spot.begin : spot.end]}, {spot.key} = {text[spot.begin : spot.end]}"
    return _put(text, spot, again, "is written twice")


def _no_stage(table: str, text: str, chance: random.Random) -> Damaged | None:
    spot = _drawn(text, chance, lambda spot: _in(table)(spot) and spot.key == "stage")
    return spot and _put(text, spot, '"suplly"', "is no stage, did you mean supply?")


def _line(text: str, spot: Spot) -> str:
    return text.split("\n")[spot.line - 1]


def _odd_name(written: str, says: str, text: str, chance: random.Random) -> Damaged | None:
    rows = [n for n, line in enumerate(text.split("\n")) if re.match(r"(?!primary)\w+ = \{ nodes", line)]
    return _row_changed(text, chance, rows, lambda line: re.sub(r"^\w+", lambda _: written, line), says)


def _row_changed(
    text: str, chance: random.Random, rows: list[int], change: Callable[[str], str], *says: str
) -> Damaged | None:
    lines = text.split("\n")
    at = chance.choice(rows)
    lines[at] = change(lines[at])
    return Damaged("\n".join(lines).encode(), at + 1, says)


def _row(old: str, new: str, says: tuple[str, ...], text: str, chance: random.Random) -> Damaged | None:
    """A slip in a row that describes a part with two joints."""
    if "[channels]" in text and "nowhere" in new:
        return None  # the parts of two channels would meet there
    parts = [n for n, line in enumerate(text.split("\n")) if re.match(r'\w+ = \{ nodes = \["[^"]*", "[^"]*"\]', line)]
    return _row_changed(text, chance, parts, lambda line: re.sub(old, new, line, count=1), *says)


_NODES = r'nodes = \["([^"]*)", "([^"]*)"\]'
_ROWS: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "joint that joins nothing": (_NODES, r'nodes = ["\1", "nowhere"]', ("is touched by", "is a winding")),
    "both ends on one joint": (_NODES, r'nodes = ["\1", "\1"]', ("has both ends on one node",)),
    "one joint": (_NODES, r'nodes = ["\1"]', ("has too few entries",)),
    "three joints": (_NODES, r'nodes = ["\1", "\2", "\2"]', ("has too many entries",)),
    "joints as text": (_NODES, r'nodes = "\1"', ("is no list",)),
    "joint a number": (_NODES, r'nodes = [0, "\2"]', ("is no text",)),
    "joint empty": (_NODES, r'nodes = ["", "\2"]', ("is empty",)),
    "joint with a blank": (_NODES, r'nodes = ["a b", "\2"]', ("is no name",)),
    "joint with a hidden character": (_NODES, r'nodes = ["a\\u200b", "\2"]', ("is no name",)),
    "joint too long": (_NODES, rf'nodes = ["{"a" * 41}", "\2"]', ("at most 40",)),
    "no joints": (r"nodes = \[[^]]*\], ", "", ("nodes is missing",)),
    "no stage": (r'stage = "\w+"', 'role = "x"', ("stage is missing", "is written twice")),
    "no equals sign": (" = ", " ", ("this is no TOML",)),
    "bracket missing": (r"\]", "", ("a list has no end",)),
    "brace missing": (r" \}\s*$", "", ("this is no TOML", "goes on over the line end")),
    "comma missing": (r"\], ", "] ", ("this is no TOML",)),
    "quotes missing": (r'"([^"]*)"', r"\1 x", ("in quotes", "this is no TOML")),
    "broken over two lines": (r"\], ", "],\n", ("goes on over the line end",)),
    "word after the row": (r" \}", " } x", ("this is no TOML",)),
}  # fmt: skip
_NAMES = {
    "name with a hidden character": ('"R\\u202e"', "is no name"), "name too long": ("R" * 41, "at most 40"),
    "name empty": ('""', "is empty"), "name of another script": ('"\u0420\u0031"', "is no name"),
    "name with markup": ('"[/]"', "is no name"), "name that is a path": ('"../x"', "begins with a dot"),
    "name dotted": (".", "this is no TOML"),
}  # fmt: skip


def _keys() -> Iterator[Kind]:
    for table in _TABLES:
        yield Kind(f"{table}: unknown key", partial(_unknown_key, table))
        yield Kind(f"{table}: key twice", partial(_key_twice, table))
        yield Kind(f"{table}: unknown stage", partial(_no_stage, table))
    for name, how in _ROWS.items():
        yield Kind(name, partial(_row, *how))
    for name, named in _NAMES.items():
        yield Kind(name, partial(_odd_name, *named))


# -- bytes


def _inserted(piece: bytes, says: tuple[str, ...], text: str, chance: random.Random) -> Damaged:
    """`piece` at the end of any line, where it is also part of a note."""
    at = chance.choice([match.start() for match in re.finditer("\n", text)])
    head, tail = text[:at].encode(), text[at:].encode()
    return Damaged(head + b" # " + piece + tail, head.count(b"\n") + 1, says)


def _bytes() -> Iterator[Kind]:
    for code in (*range(9), 11, 12, *range(14, 32), 127):
        yield Kind(f"byte {code:02X}", partial(_inserted, bytes([code]), (f"<U+{code:04X}>",)))
    yield Kind("byte 0D", partial(_inserted, b"\rx", ("carriage return",)))
    for code in (0x80, 0x9B, 0xC0, 0xC1, 0xE9, 0xED, 0xF5, 0xFF):
        yield Kind(f"byte {code:02X}", partial(_inserted, bytes([code]), (f"0x{code:02X} is not UTF-8",)))
    yield Kind("a line too long", partial(_inserted, b"x" * 5000, ("over 4 kB",)))
    for mark in ("<<<<<<<", "=======", ">>>>>>>"):
        yield Kind(f"merge {mark}", partial(_inserted, f"\n{mark} x".encode(), ("",)))
    yield Kind("too many dots", partial(_inserted, b"\n" + b".".join([b"a"] * 12) + b" = 1", ("",)))
    yield Kind("nested too deep", partial(_inserted, b"\na = " + b"[" * 40, ("",)))


def kinds() -> tuple[Kind, ...]:
    """Every kind of damage, each by a name of its own."""
    return (*_values(), *_keys(), *_bytes())
