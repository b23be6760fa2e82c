"""The guide values of gate and closing, never outside their floors and ceilings."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from math import inf


@dataclass(frozen=True, slots=True)
class Settings:
    """Guide values in volts, seconds and ratios; what each means stands in settings.toml."""

    threshold_v: float
    wait_s: float
    wait_unbled_s: float
    clip_s: float
    look_s: float
    proof_low_v: float
    proof_high_v: float
    live_share: float
    fallen_share: float
    clip_near: float


@cache
def _table() -> dict[str, dict[str, float]]:
    return tomllib.loads(files(__package__).joinpath("settings.toml").read_text(encoding="utf-8"))


def settings(**own: float | None) -> Settings:
    """The guide values, with the builder's `own` ones in their place; None keeps the guide value.

    Raises ValueError with a sentence for each one that lies outside its floor and ceiling or is no number.
    """
    table = _table()
    values = {name: row["value"] for name, row in table.items()}
    values |= {name: value for name, value in own.items() if value is not None}
    wrong = []
    for name in (field.name for field in fields(Settings)):
        least, most = table[name].get("least", 0.0), table[name].get("most", inf)
        if not least <= values[name] <= most:
            wrong.append(f"gate {name} is {values[name]:g}; it must lie between {least:g} and {most:g}")
    if wrong:
        raise ValueError("\n".join(wrong))
    return Settings(**values)
