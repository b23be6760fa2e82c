"""Screws: the hole that lets one through."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from benchtui.parts.errors import PartError


def clearance_mm(thread: str) -> float:
    """Clearance hole in millimetres for `thread`, such as M3. Source: ISO 273; raises PartError for an unknown one."""
    if thread not in _data():
        raise PartError(thread, "is no thread in the library", f"known are {', '.join(_data())}")
    return _data()[thread]


def threads() -> tuple[str, ...]:
    """Every thread whose clearance hole is known."""
    return tuple(_data())


@cache
def _data() -> Mapping[str, float]:
    return tomllib.loads(files(__package__).joinpath("screws.toml").read_text("utf-8"))
