"""What can hurt in a step, in words, by the step's name."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def _all() -> dict[str, dict[str, list[str]]]:
    return tomllib.loads(files(__package__).joinpath("cautions.toml").read_text("utf-8"))


def cautions(step: str) -> tuple[str, ...]:
    """The cautions of the step called `step`."""
    return tuple(_all()[step]["lines"])
