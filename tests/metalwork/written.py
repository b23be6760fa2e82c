"""What a build file says of a panel, reckoned by itself: every opening's centre and diameter in millimetres."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from math import cos, radians, sin
from typing import Any

from benchtui.parts.mountings import mounting

#: ISO 273, medium series.
_CLEARANCE_MM = {"M2.5": 2.9, "M3": 3.4, "M4": 4.5, "M5": 5.5}


def openings(text: str, panel: str) -> list[tuple[float, float, float | None]]:
    """Centre and diameter, None of a cut-out, of every opening of `panel` in the build file `text`."""
    table = tomllib.loads(text)["panel"][panel]
    found = []
    for hole in table.get("holes", {}).values():
        found += _at(hole, *_places(hole["at"]))
    for row in table.get("rows", {}).values():
        x, y = _places(row["first"])
        step = _mm(row["spacing"])
        up = row.get("along", "right") == "up"
        for number in range(row["count"]):
            found += _at(row, x + (0 if up else number * step), y + (number * step if up else 0))
    return sorted(found, key=lambda each: each[:2])


def _at(opening: dict[str, Any], x: float, y: float) -> Iterator[tuple[float, float, float | None]]:
    kind = mounting(opening["kind"])
    thread = opening.get("thread", kind.thread)
    angle = radians(opening.get("turn", 0))

    def turned(dx: float, dy: float) -> tuple[float, float]:
        return x + dx * cos(angle) - dy * sin(angle), y + dx * sin(angle) + dy * cos(angle)

    for at in kind.at_mm or ((0.0, 0.0),):
        if "size" in opening or (kind.cut_out_mm and "diameter" not in opening):
            yield *turned(*at), None
        elif "diameter" in opening or kind.hole_mm:
            yield *turned(*at), _mm(opening["diameter"]) if "diameter" in opening else kind.hole_mm
        elif thread and kind.group in ("earth", "bond", "fixing"):
            yield *turned(*at), _CLEARANCE_MM[thread]
    screws = [_places(each) for each in opening["screws"]] if "screws" in opening else kind.screws_mm
    for at in screws if thread else ():
        yield *turned(*at), _CLEARANCE_MM[thread]


def _places(pair: list[str]) -> tuple[float, float]:
    return _mm(pair[0]), _mm(pair[1])


def _mm(length: str) -> float:
    number, unit = length.split()
    return float(number) * {"mm": 1.0, "cm": 10.0, "in": 25.4}[unit]
