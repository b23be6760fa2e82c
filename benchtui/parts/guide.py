"""Guide values: what is assumed where the build file does not say, each with its source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from benchtui.parts.errors import PartError
from benchtui.quantities import tolerance
from benchtui.quantities.tolerance import Accuracy
from benchtui.quantities.units import Unit


@dataclass(frozen=True)
class Guide:
    """A guide value in SI (or a spread, or an accuracy) with its bounds, kind of knowledge and source."""

    name: str
    kind: str
    source: str
    value: float | None = None
    unit: Unit | None = None
    floor: float | None = None
    ceiling: float | None = None
    spread: tuple[float, float] | None = None
    accuracy: Accuracy | None = None


def guide(name: str) -> Guide:
    """The guide value called `name`, such as `gate.threshold`; raises PartError for an unknown one."""
    if name not in _guides():
        raise PartError(name, "is no guide value", f"known are {', '.join(_guides())}")
    return _guides()[name]


def value(name: str) -> float:
    """The guide value called `name` in SI; raises PartError where there is none."""
    found = guide(name).value
    if found is None:
        raise PartError(name, "is no single value", "ask for its spread or accuracy")
    return found


def spread(name: str) -> tuple[float, float]:
    """Lower and upper spread as fractions, such as of `spread.film`; raises PartError where there is none."""
    found = guide(name).spread
    if found is None:
        raise PartError(name, "is no spread", "ask for its value")
    return found


def accuracy(name: str) -> Accuracy:
    """The accuracy of a usual meter, such as `meter.dc`; raises PartError where there is none."""
    found = guide(name).accuracy
    if found is None:
        raise PartError(name, "is no accuracy", "ask for its value")
    return found


@cache
def _guides() -> Mapping[str, Guide]:
    groups = tomllib.loads(files(__package__).joinpath("guide.toml").read_text("utf-8"))
    return {
        f"{group}.{name}": _guide(f"{group}.{name}", row)
        for group, rows in groups.items()
        for name, row in rows.items()
    }


def _guide(name: str, row: dict[str, Any]) -> Guide:
    read = {"unit": Unit, "spread": tolerance.tolerance, "accuracy": tolerance.accuracy}
    return Guide(name, **{key: read[key](entry) if key in read else entry for key, entry in row.items()})
