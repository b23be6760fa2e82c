"""What goes through a panel, by kind: guide sizes, the room it takes, and what it is for."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from benchtui.parts.errors import PartError


@dataclass(frozen=True)
class Mounting:
    """One kind of socket, connector, control or fixing; sizes in millimetres, None or () where there is no guide.

    `needs` names what the build file must say of it; what the other fields mean stands in mountings.toml.
    """

    name: str
    group: str
    source: str
    hole_mm: float | None = None
    cut_out_mm: tuple[float, float] | None = None
    screws_mm: tuple[tuple[float, float], ...] = ()
    thread: str | None = None
    behind_mm: tuple[float, float, float] | None = None
    front_mm: tuple[float, float, float] | None = None
    base: str | None = None
    at_mm: tuple[tuple[float, float], ...] = ()
    range_mm: tuple[float, float] | None = None
    needs: tuple[str, ...] = ()
    grip_mm: float | None = None
    groove_mm: float | None = None
    metal: bool = False


def mounting(name: str) -> Mounting:
    """The mounting called `name`; raises PartError for an unknown one."""
    if name not in mountings():
        raise PartError(name, "is nothing that the library can mount", f"known are {', '.join(mountings())}")
    return mountings()[name]


@cache
def mountings() -> Mapping[str, Mounting]:
    """Every mounting by its name."""
    rows = tomllib.loads(files(__package__).joinpath("mountings.toml").read_text("utf-8"))
    return {name: Mounting(name, **{key: _frozen(value) for key, value in row.items()}) for name, row in rows.items()}


def _frozen(value: object) -> object:
    return tuple(_frozen(each) for each in value) if isinstance(value, list) else value
