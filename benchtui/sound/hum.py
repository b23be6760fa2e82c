"""What a line of hum points to, in words."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class Pointer:
    """Where such hum comes from as a rule, also `briefly`; `next`: what tells these apart; and the `source` of all."""

    briefly: str
    points_to: str
    next: str
    source: str


def pointer(order: int) -> Pointer:
    """What a line at `order` times the mains frequency points to."""
    table = _table()
    return table.get(str(order), table["higher"])


@cache
def _table() -> dict[str, Pointer]:
    text = files("benchtui.sound").joinpath("hum.toml").read_text("utf-8")
    return {key: Pointer(**entry) for key, entry in tomllib.loads(text)["multiple"].items()}
