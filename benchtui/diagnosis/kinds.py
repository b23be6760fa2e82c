"""The published list of kinds of fault: how each is worded and how often it is met, from `kinds.toml`."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class Kind:
    """`says` has a field `part`; `weight` is relative to the other kinds.

    `just_wired` is how many times as often a part has it in the stage that wires it as in a later one.
    """

    id: str
    says: str
    weight: float
    just_wired: float


@cache
def kinds() -> dict[str, Kind]:
    """Every kind by its id, in the order of the list."""
    text = files(__package__).joinpath("kinds.toml").read_text(encoding="utf-8")
    return {id: Kind(id, **entry) for id, entry in tomllib.loads(text).items()}
