"""Units that builders write, and what each prefix may mean in front of them."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum


class Unit(StrEnum):
    """A unit in which a quantity is asked; equal to its own ASCII symbol."""

    OHM = "ohm"
    FARAD = "F"
    HENRY = "H"
    VOLT = "V"
    AMPERE = "A"
    WATT = "W"
    VOLT_AMPERE = "VA"
    SECOND = "s"
    HERTZ = "Hz"
    METRE = "m"
    JOULE = "J"
    PERCENT = "%"
    DECIBEL = "dB"
    CELSIUS = "degC"


#: The word for each unit in a sentence.
WORDS = {
    Unit.OHM: "ohms",
    Unit.FARAD: "farads",
    Unit.HENRY: "henries",
    Unit.VOLT: "volts",
    Unit.AMPERE: "amperes",
    Unit.WATT: "watts",
    Unit.VOLT_AMPERE: "volt-amperes",
    Unit.SECOND: "seconds",
    Unit.HERTZ: "hertz",
    Unit.METRE: "metres",
    Unit.JOULE: "joules",
    Unit.PERCENT: "percent",
    Unit.DECIBEL: "decibels",
    Unit.CELSIUS: "degrees Celsius",
}

#: One value of each unit that is written rightly, for hints.
EXAMPLES = {
    Unit.OHM: "4k7, 470R or 4.7 kohm",
    Unit.FARAD: "47u, 22n or 0.1 uF",
    Unit.HENRY: "10 H or 250 mH",
    Unit.VOLT: "250 V or 250 mV",
    Unit.AMPERE: "60 mA or 1.6 A",
    Unit.WATT: "10 W",
    Unit.VOLT_AMPERE: "120 VA",
    Unit.SECOND: "60 s or 5 min",
    Unit.HERTZ: "50 Hz or 1 kHz",
    Unit.METRE: "0.5 m, 19 mm or 3/4 in",
    Unit.JOULE: "1 mJ",
    Unit.PERCENT: "5 %",
    Unit.DECIBEL: "14 dB",
    Unit.CELSIUS: "20 degC",
}

#: Quantities that may be below zero.
SIGNED = {Unit.VOLT, Unit.AMPERE, Unit.METRE, Unit.PERCENT, Unit.DECIBEL, Unit.CELSIUS}

PREFIXES = {
    "": Decimal(1),
    "p": Decimal("1e-12"),
    "n": Decimal("1e-9"),
    "u": Decimal("1e-6"),
    "m": Decimal("1e-3"),
    "k": Decimal("1e3"),
    "M": Decimal("1e6"),
    "G": Decimal("1e9"),
}

# Prefixes that make sense in front of each unit; any other that PREFIXES knows is refused with a hint.
# No milli on ohms and farads: `1 mohm` mostly means a megohm, and old capacitors write mF for microfarad.
_SENSIBLE = {
    Unit.OHM: " k M G",
    Unit.FARAD: " p n u",
    Unit.HENRY: " u m",
    Unit.VOLT: " u m k",
    Unit.AMPERE: " u m",
    Unit.WATT: " m k",
    Unit.VOLT_AMPERE: "",
    Unit.SECOND: " u m",
    Unit.HERTZ: " k M",
    Unit.METRE: " m",
    Unit.JOULE: " m",
    Unit.PERCENT: "",
    Unit.DECIBEL: "",
    Unit.CELSIUS: "",
}

_SYMBOLS = {
    Unit.OHM: ("ohm", "ohms", "Ohm", "Ohms", "Ω"),
    Unit.FARAD: ("F", "f"),
    Unit.HENRY: ("H",),
    Unit.VOLT: ("V", "v"),
    Unit.AMPERE: ("A", "a"),
    Unit.WATT: ("W", "w"),
    Unit.VOLT_AMPERE: ("VA",),
    Unit.SECOND: ("s",),
    Unit.HERTZ: ("Hz", "hz"),
    Unit.METRE: ("m",),
    Unit.JOULE: ("J",),
    Unit.PERCENT: ("%",),
    Unit.DECIBEL: ("dB",),
    Unit.CELSIUS: ("degC", "°C"),
}

# Spellings that are no prefix + symbol. Old parts: MFD is microfarad, MMF and uuF picofarad (from memory).
_SPELLINGS = {
    Unit.OHM: {"R": "1", "kilohm": "1e3", "kilohms": "1e3", "megohm": "1e6", "megohms": "1e6"},
    Unit.FARAD: {
        "MFD": "1e-6", "mfd": "1e-6", "Mfd": "1e-6",
        "MMF": "1e-12", "MMFD": "1e-12", "mmfd": "1e-12", "uuF": "1e-12", "μμF": "1e-12",
    },
    Unit.SECOND: {"min": "60", "h": "3600"},
    Unit.METRE: {"cm": "0.01", "in": "0.0254"},
}  # fmt: skip

# Letters that stand for the decimal point: IEC 60062 for ohms and farads; the others (`6V3`) by common
# practice.
_MARK_LETTERS = {
    Unit.OHM: {"R": "", "k": "k", "K": "k", "M": "M", "G": "G"},
    Unit.FARAD: {"p": "p", "n": "n", "u": "u", "μ": "u", "m": "m", "F": ""},
    Unit.HENRY: {"u": "u", "μ": "u", "m": "m", "H": ""},
    Unit.VOLT: {"V": ""},
    Unit.AMPERE: {"A": ""},
    Unit.WATT: {"W": ""},
}

#: Units on which the prefix alone will do, as marked on the part: `100k`, `47u`, `10m`.
_MARKED = {Unit.OHM, Unit.FARAD, Unit.HENRY}


def sensible_prefixes(unit: Unit) -> tuple[str, ...]:
    """Prefixes that make sense in front of `unit`, the empty one first."""
    return ("", *_SENSIBLE[unit].split())


def _written(prefix: str, unit: Unit) -> tuple[str, ...]:
    if prefix == "u":
        return ("u", "μ")
    return ("k", "K") if prefix == "k" and unit is Unit.OHM else (prefix,)


def _factors(unit: Unit) -> dict[str, Decimal]:
    found = {spelling: Decimal(factor) for spelling, factor in _SPELLINGS.get(unit, {}).items()}
    for prefix in sensible_prefixes(unit):
        for written in _written(prefix, unit):
            for symbol in _SYMBOLS[unit]:
                found[written + symbol] = PREFIXES[prefix]
            if prefix and unit in _MARKED:
                found[written] = PREFIXES[prefix]
    if unit is Unit.PERCENT:
        found["%"] = Decimal("0.01")
    return found


#: unit -> what may follow the number -> factor to SI (percent: to a fraction).
FACTORS = {unit: _factors(unit) for unit in Unit}

#: unit -> letter that may stand for the decimal point -> factor to SI.
MARKS = {
    unit: {letter: PREFIXES[prefix] for letter, prefix in letters.items()} for unit, letters in _MARK_LETTERS.items()
}


def unit_of(suffix: str) -> Unit | None:
    """The unit that `suffix` (`mA`, `kohm`) names beyond doubt, or None."""
    units = [unit for unit in Unit if suffix in FACTORS[unit] and suffix not in PREFIXES]
    return units[0] if len(units) == 1 else None


def senseless_prefix(suffix: str, unit: Unit) -> str | None:
    """The prefix of `suffix` if it is one that makes no sense on `unit` (`M` of `MF`), else None."""
    prefix = suffix[:1]
    known = prefix in PREFIXES and prefix not in sensible_prefixes(unit)
    fits = suffix[1:] in _SYMBOLS[unit] or (suffix == prefix and unit in _MARKED)
    return prefix if known and fits else None
