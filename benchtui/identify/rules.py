"""Figures that parts on the bench are judged by, each with its source."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


def rule(name: str) -> float:
    """The figure called `name`, such as `insulation.least`, in SI."""
    return float(_row(name)["value"])


def figures(name: str) -> tuple[float, ...]:
    """The list of figures called `name`, such as `heater.volts`."""
    return tuple(float(each) for each in _row(name)["list"])


def source(name: str) -> str:
    """Where the figure comes from, with the kind of knowledge it is."""
    row = _row(name)
    return f"{row['source']} ({row['kind']})"


def _row(name: str) -> dict[str, Any]:
    group, _, key = name.partition(".")
    return _rules()[group][key]


@cache
def _rules() -> dict[str, dict[str, dict[str, Any]]]:
    return tomllib.loads(files(__package__).joinpath("rules.toml").read_text("utf-8"))
