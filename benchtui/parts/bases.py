"""Sockets: where each pin is, seen from below."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import cos, radians, sin

from benchtui.parts.errors import PartError

#: The pin name of a connection on top of the bulb.
CAP = "cap"


@dataclass(frozen=True)
class Base:
    """A socket, or wire ends; `angles` are degrees clockwise from `mark`, pin 1 first, seen from below."""

    code: str
    name: str
    mark: str
    angles: tuple[float, ...]
    source: str
    circle_mm: float | None = None
    thick: tuple[int, ...] = ()
    leads: tuple[str, ...] = ()
    cap: bool = False

    @property
    def pins(self) -> tuple[str, ...]:
        """Names of all connections: numbered pins, then the cap or the wire ends."""
        numbers = tuple(str(number) for number in range(1, len(self.angles) + 1))
        return numbers + ((CAP,) if self.cap else ()) + self.leads

    def position(self, pin: str) -> tuple[float, float]:
        """Place of a numbered pin on a circle of radius 1, x right, y up, with `mark` at the bottom."""
        angle = radians(self.angles[int(pin) - 1])
        return -sin(angle), -cos(angle)


def base(code: str) -> Base:
    """The base called `code`; raises PartError for an unknown one."""
    if code not in _bases():
        raise PartError(code, "is no base in the library", f"known are {', '.join(_bases())}")
    return _bases()[code]


@cache
def _bases() -> Mapping[str, Base]:
    rows = tomllib.loads(files(__package__).joinpath("bases.toml").read_text("utf-8"))
    return {
        code: Base(
            code,
            **{key: tuple(value) if isinstance(value, list) else value for key, value in row.items()},
        )
        for code, row in rows.items()
    }
