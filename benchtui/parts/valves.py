"""Valves, rectifiers and regulators of the library: pins, heater, limits, published points and model constants.

What the fields of the data mean is said in valves/sources.toml.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from math import isnan
from types import MappingProxyType
from typing import Any, Literal

from benchtui.parts.errors import PartError
from benchtui.quantities.parse import parse
from benchtui.quantities.units import Unit

Confidence = Literal["high", "medium", "low"]
System = Literal["design-centre", "design-maximum", "absolute"]
SectionKind = Literal["triode", "pentode", "diode", "regulator"]

FILES = (
    "small_triodes",
    "small_pentodes",
    "power_valves",
    "direct_triodes",
    "valve_rectifiers",
    "silicon_rectifiers",
    "gas_regulators",
)

# The last word of a limit's name is its unit.
_LIMIT_UNITS = {"v": Unit.VOLT, "a": Unit.AMPERE, "w": Unit.WATT, "ohm": Unit.OHM, "f": Unit.FARAD}


@dataclass(frozen=True)
class Limit:
    """A limiting value (or a capacitance) in SI, with the confidence it deserves and where it is from."""

    value: float
    unit: Unit
    confidence: Confidence
    source: str


@dataclass(frozen=True)
class RatingSystem:
    """The system that the limits are printed by."""

    system: System
    source: str


@dataclass(frozen=True)
class HeaterRating:
    """Heater or filament of the whole bottle; `parallel_` is the other wiring of a tapped heater."""

    volts: float
    amps: float
    confidence: Confidence
    source: str
    parallel_volts: float | None = None
    parallel_amps: float | None = None


@dataclass(frozen=True)
class Point:
    """A published operating point, in volts to the cathode, amperes, siemens and ohms.

    With `connection` "triode" the screen is tied to the anode and `anode_a` is the sum of both.
    """

    anode_v: float
    grid_v: float
    anode_a: float
    support: Literal["read", "partly", "curve", "none"]
    confidence: Confidence
    source: str
    section: str | None = None
    connection: str | None = None
    screen_v: float | None = None
    screen_a: float | None = None
    gm_s: float | None = None
    rp_ohm: float | None = None
    mu: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Drop:
    """Volts across one anode of a rectifier at `anode_a`."""

    anode_a: float
    drop_v: float
    confidence: Confidence
    source: str
    note: str = ""


@dataclass(frozen=True, eq=False)
class Model:
    """Constants of the equation `form`, as their source prints them (currents in mA, silicon in A).

    The errors are model less published, as fractions, one for each point of the valve; None where unknown.
    """

    set: str
    form: str
    constants: Mapping[str, float]
    confidence: Confidence
    source: str
    section: str | None = None
    fitted_to: str = ""
    anode_errors: tuple[float | None, ...] = ()
    screen_errors: tuple[float | None, ...] = ()
    gm_errors: tuple[float | None, ...] = ()


@dataclass(frozen=True, eq=False)
class ValveType:
    """One type of valve or silicon rectifier. `pins` is pin = electrode, numbered clockwise from below."""

    type: str
    also: tuple[str, ...]
    near: Mapping[str, str]
    kind: str
    heating: Literal["indirect", "direct", "none"]
    base: str
    pins: Mapping[str, str]
    pins_confidence: Confidence
    pins_source: str
    heater: HeaterRating | None
    rating_system: RatingSystem | None
    limits: Mapping[str, Limit]
    capacitance: Mapping[str, Limit]
    points: tuple[Point, ...]
    drops: tuple[Drop, ...]
    models: tuple[Model, ...]
    note: str


def find(name: str) -> ValveType:
    """The valve type called `name`: its own designation or an exact other name, upper or lower case.

    Raises PartError for any other name; near types are named there, never taken.
    """
    wanted = name.strip().casefold()
    found = _lookup(wanted)
    if found is None:
        raise _unknown(name, wanted)
    return found


def names() -> tuple[str, ...]:
    """All type designations, in the order of the files."""
    return tuple(valve.type for valve in _all())


@cache
def sources() -> Mapping[str, str]:
    """Source key = where the figures come from, in words."""
    return MappingProxyType(tomllib.loads(_text("sources")))


def cite(source: str) -> str:
    """The source of a figure in words: each key in `source` is written out."""
    return re.sub(r"\w+", lambda word: sources().get(word[0], word[0]), source)


def pins_of(valve: ValveType, electrode: str) -> tuple[str, ...]:
    """Pins of `valve` that lead to `electrode`, such as ("4", "5") for heater; a pin may serve two."""
    return tuple(pin for pin, label in valve.pins.items() if electrode in electrodes(label))


def electrodes(label: str) -> tuple[str, ...]:
    """Electrodes that a pin's label names: `heater_and_cathode` is heater, cathode."""
    first, *others = label.split("_and_")
    section = next((f"{kind}_" for kind in ("triode", "pentode") if first.startswith(f"{kind}_")), "")
    return (first, *(section + other for other in others))


@cache
def _lookup(wanted: str) -> ValveType | None:
    for file in FILES:
        # a file that does not hold the name in quotes need not be parsed
        if f'"{wanted}"' in _text(file).casefold() and wanted in _by_name(file):
            return _by_name(file)[wanted]
    return None


def _unknown(name: str, wanted: str) -> PartError:
    for valve in _all():
        for near, difference in valve.near.items():
            if near.casefold() == wanted:
                hint = f"{valve.type} is near but no straight replacement ({difference})"
                return PartError(name, "is not in the valve library", hint)
    known = {n.casefold(): valve.type for valve in _all() for n in (valve.type, *valve.also)}
    close = [known[n] for n in get_close_matches(wanted, known, n=1)]
    hint = f"perhaps {close[0]}; " if close else ""
    return PartError(name, "is not in the valve library", f"{hint}known types are {', '.join(names())}")


def _all() -> Iterator[ValveType]:
    for file in FILES:
        yield from dict.fromkeys(_by_name(file).values())


@cache
def _text(file: str) -> str:
    return files(__package__).joinpath("valves", f"{file}.toml").read_text("utf-8")


@cache
def _by_name(file: str) -> Mapping[str, ValveType]:
    valves = [_valve(entry) for entry in tomllib.loads(_text(file))["valve"]]
    return {name.casefold(): valve for valve in valves for name in (valve.type, *valve.also)}


def _valve(entry: dict[str, Any]) -> ValveType:
    return ValveType(
        type=entry["type"],
        also=tuple(entry["also"]),
        near=MappingProxyType(entry.get("near", {})),
        kind=entry["kind"],
        heating=entry["heating"],
        base=entry["base"],
        pins=MappingProxyType(entry["pins"]),
        pins_confidence=entry["pins_confidence"],
        pins_source=entry["pins_source"],
        heater=HeaterRating(**entry["heater"]) if "heater" in entry else None,
        rating_system=RatingSystem(**entry["rating_system"]) if "rating_system" in entry else None,
        limits=MappingProxyType({name: _limit(name, *row) for name, row in entry["limits"].items()}),
        capacitance=MappingProxyType({name: _limit(name, *row) for name, row in entry.get("capacitance", {}).items()}),
        points=tuple(Point(**_si(row)) for row in entry.get("points", ())),
        drops=tuple(Drop(**_si(row)) for row in entry.get("drops", ())),
        models=tuple(_model(row) for row in entry["model"]),
        note=entry.get("note", ""),
    )


def _limit(name: str, value: str, confidence: Confidence, source: str) -> Limit:
    unit = _LIMIT_UNITS[name.rpartition("_")[2]]
    return Limit(parse(value, unit), unit, confidence, source)


_MILLI = {"anode_ma": "anode_a", "screen_ma": "screen_a", "gm_ma_v": "gm_s"}


def _si(row: dict[str, Any]) -> dict[str, Any]:
    return {_MILLI.get(key, key): value / 1000 if key in _MILLI else value for key, value in row.items()}


def _model(row: dict[str, Any]) -> Model:
    errors = {key: row.pop(f"{key}_error_percent", ()) for key in ("anode", "screen", "gm")}
    fractions = {
        f"{key}_errors": tuple(None if isnan(percent) else percent / 100 for percent in percents)
        for key, percents in errors.items()
    }
    constants = MappingProxyType({key: float(value) for key, value in row.pop("constants").items()})
    return Model(constants=constants, **fractions, **row)
