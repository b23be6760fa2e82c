"""Which tools make a hole in a sheet, from the pilot to its full size, of those that can be bought."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from benchtui.parts.tools import Tool, tools

PILOT_MM, SMALL_PILOT_MM = 3.0, 2.5
"""Pilots: about as wide as the blunt middle of the drills that follow. Common practice, no source."""

CORNER_MM = 6.0
"""Hole inside the corner of a cut-out, for the saw's blade. Common practice, no source."""

_OVER_MM = 0.2
"""How much larger than wanted a hole may come out: what snap-in parts allow (common practice)."""

_FILED_MM = 2.0
"""By how much a hole is filed out: beyond that it is sawn. Common practice, no source."""

_NO_PILOT_TO_MM = 3.0
BY_DRILL_TO_MM = 6.6
"""Beyond this a twist drill tears thin sheet, and a step drill or punch does better. Common practice, no source."""

_BY_PUNCH_FROM_MM = 12.0

THIN_MM = 5.0
"""Sheet is what is thinner. Own decision."""


@dataclass(frozen=True)
class Pass:
    """One tool through one hole: `kind` is pilot, drill, step_drill, punch, hole_saw, file, round_out or machined.

    `tool_mm` is the size that it leaves, None where it is worked to the line.
    """

    kind: str
    tool_mm: float | None


def passes(diameter_mm: float, material: str, thickness_mm: float) -> tuple[Pass, ...]:
    """What a round hole takes in its order, the pilot first; no tool but what is sold and made for the sheet."""
    last = _last(diameter_mm, material, thickness_mm)
    if last is not None:
        return (*_before(*last, material, thickness_mm), Pass(last[0].name, last[1]))
    smaller = _below(diameter_mm, material, thickness_mm)
    if smaller is not None and diameter_mm - smaller[1] <= _FILED_MM:
        tool, size = smaller
        return *_before(tool, size, material, thickness_mm), Pass(tool.name, size), Pass("file", None)
    if diameter_mm > PILOT_MM and is_sawn(material, thickness_mm):
        return _pilot(PILOT_MM), Pass("round_out", None)
    return (Pass("machined", None),)


def is_sawn(material: str, thickness_mm: float) -> bool:
    """Whether a sheet is drilled at all, so that a cut-out can be sawn from hole to hole."""
    return tools()["drill"].bears(material, thickness_mm)


def corner_hole_mm(size_mm: tuple[float, float]) -> float:
    """The drill for the holes inside the corners of a cut-out; of a slot, inside its ends."""
    return min(CORNER_MM, tools()["drill"].below(0.8 * min(size_mm)) or CORNER_MM)


def _last(diameter_mm: float, material: str, thickness_mm: float) -> tuple[Tool, float] | None:
    """The tool that leaves the hole as it is wanted."""
    for tool in _preferred(diameter_mm):
        size = tool.nearest(diameter_mm, _OVER_MM)
        if size is not None and tool.bears(material, thickness_mm):
            return tool, size
    return None


def _preferred(diameter_mm: float) -> Iterator[Tool]:
    if diameter_mm <= BY_DRILL_TO_MM:
        yield tools()["drill"]
    if diameter_mm >= _BY_PUNCH_FROM_MM:
        yield tools()["punch"]
    yield from (tools()[name] for name in ("step_drill", "drill", "hole_saw"))


def _below(diameter_mm: float, material: str, thickness_mm: float) -> tuple[Tool, float] | None:
    """The tool that leaves the largest hole which is not above what is wanted."""
    fit = [
        (tool, size)
        for tool in _preferred(diameter_mm)
        if tool.bears(material, thickness_mm) and (size := tool.below(diameter_mm)) is not None
    ]
    return max(fit, key=lambda each: each[1], default=None)


def _before(tool: Tool, size_mm: float, material: str, thickness_mm: float) -> Iterator[Pass]:
    """What comes before the last tool: its pilot, of a punch the hole for its bolt with all that this takes."""
    bolt = tool.bolt_hole_mm(size_mm)
    if bolt is not None:
        yield from passes(bolt, material, thickness_mm)
    elif size_mm > _NO_PILOT_TO_MM:
        yield _pilot(SMALL_PILOT_MM if size_mm <= 4.0 else PILOT_MM)


def _pilot(size_mm: float) -> Pass:
    return Pass("pilot", size_mm)
