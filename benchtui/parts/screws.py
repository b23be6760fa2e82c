"""Screws: the hole that lets one through, and the drill before a tap."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from benchtui.parts.errors import PartError

_SERIES = ("fine", "medium", "coarse")


def clearance_mm(thread: str, series: Literal["fine", "medium", "coarse"] = "medium") -> float:
    """Clearance hole in millimetres for `thread`, such as M3. Source: ISO 273; raises PartError for an unknown one."""
    return _row("clearance", thread)[_SERIES.index(series)]


def tap_drill_mm(thread: str) -> float:
    """Drill in millimetres before tapping `thread`; raises PartError where none is known."""
    return _row("tap", thread)


def threads() -> tuple[str, ...]:
    """Every thread whose clearance hole is known."""
    return tuple(_data()["clearance"])


def _row(table: str, thread: str) -> Any:
    rows = _data()[table]
    if thread not in rows:
        raise PartError(thread, "is no thread in the library", f"known are {', '.join(rows)}")
    return rows[thread]


@cache
def _data() -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath("screws.toml").read_text("utf-8"))
