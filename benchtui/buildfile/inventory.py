"""What a build is made of: its parts by reference, with the path where each stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from benchtui.buildfile.models import Build, Part
from benchtui.buildfile.problems import Path

#: Tables of parts; windings stand inside `transformer`.
TABLES = (
    "output_transformer",
    "resistor",
    "thermistor",
    "link",
    "load",
    "capacitor",
    "choke",
    "fuse",
    "diode",
    "zener",
    "transistor",
    "fet",
    "pot",
    "switch",
    "input",
    "heater",
    "valve",
)


@dataclass(frozen=True)
class Listed:
    """A part, its reference and the path of its entry."""

    id: str
    path: Path
    part: Part


def parts(build: Build) -> Iterator[Listed]:
    """Every part, windings of mains transformers included, in the order of the tables."""
    for name, transformer in build.transformer.items():
        for key, winding in transformer.windings.items():
            yield Listed(key, ("transformer", name, "windings", key), winding)
    for table in TABLES:
        for key, part in getattr(build, table).items():
            yield Listed(key, (table, key), part)
