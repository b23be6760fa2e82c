"""Drills, punches and saws that can be bought, and the thickest sheet that each is made for."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class Tool:
    """One sort of tool: the holes that it makes, and its thickest sheet by material; sizes in millimetres."""

    name: str
    sizes_mm: tuple[float, ...]
    most_sheet_mm: Mapping[str, float]
    kind: str
    source: str
    bolt_mm: tuple[tuple[float, float], ...] = ()

    def bears(self, material: str, thickness_mm: float) -> bool:
        """Whether it is made for a sheet of `material` that is so thick."""
        return thickness_mm <= self.most_sheet_mm.get(material, 0.0)

    def nearest(self, diameter_mm: float, over_mm: float) -> float | None:
        """Its size that is nearest to `diameter_mm` of those from it to `over_mm` beyond; None where there is none."""
        return min((size for size in self.sizes_mm if 0 <= size - diameter_mm + 1e-9 <= over_mm + 2e-9), default=None)

    def below(self, diameter_mm: float) -> float | None:
        """Its largest size that is not above `diameter_mm`; None where there is none."""
        return max((size for size in self.sizes_mm if size <= diameter_mm + 1e-9), default=None)

    def bolt_hole_mm(self, diameter_mm: float) -> float | None:
        """The hole for the draw bolt of a punch of this size; None where no bolt is known."""
        return next((hole for most, hole in self.bolt_mm if diameter_mm <= most), None)


@cache
def tools() -> Mapping[str, Tool]:
    """Every sort of tool by its name: drill, step_drill, punch, hole_saw."""
    rows = tomllib.loads(files(__package__).joinpath("tools.toml").read_text("utf-8"))
    return {
        name: Tool(
            name, tuple(row["sizes_mm"]), row["most_sheet_mm"], row["kind"], row["source"],
            tuple((most, hole) for most, hole in row.get("bolt_mm", ())),
        )
        for name, row in rows.items()
    }  # fmt: skip
