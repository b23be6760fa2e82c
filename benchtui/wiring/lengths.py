"""How long a wire is, by where its ends sit on the panels."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from benchtui.buildfile.models import Build
from benchtui.buildfile.panels import Panel
from benchtui.metalwork.layout import MM, Plate, plates
from benchtui.parts import wiring as sold
from benchtui.wiring.spots import BOLT

#: Kinds of opening that stand for an end which is no part of the build file.
_KINDS = {"mains inlet": ("mains inlet", "inlet with fuse"), BOLT: ("earth bolt",)}

_SAME_PART_M = 0.03


@lru_cache(maxsize=16)
def places(build: Build) -> Mapping[str, tuple[str, float, float]]:
    """Part (or the name of an end that is none) = its panel and its place there in metres."""
    found = {}
    for plate in plates(build):
        for each in plate.mounted:
            names = [name for name, kinds in _KINDS.items() if each.mounting.name.startswith(kinds)]
            for name in (each.part, f"terminals for {each.part}" if each.part else None, *names):
                if name is not None:
                    found.setdefault(name, (plate.name, each.x_mm / MM, each.y_mm / MM))
    return found


def length_m(build: Build, start: str, finish: str) -> float | None:
    """Metres of wire between two parts, with slack; None where a panel does not say where both are."""
    if start == finish:
        return _SAME_PART_M
    at = places(build)
    if start not in at or finish not in at:
        return None
    way = _way_m({plate.name: plate for plate in plates(build)}, at[start], at[finish])
    return None if way is None else way + sold.slack_m()


def _way_m(
    known: Mapping[str, Plate], start: tuple[str, float, float], finish: tuple[str, float, float]
) -> float | None:
    """Along the edges of the chassis, as wires are laid; None where the panels share no edge."""
    (panel, x, y), (other, u, v) = start, finish
    if panel == other:
        return abs(x - u) + abs(y - v)
    shared = _shared(known[panel].panel, other), _shared(known[other].panel, panel)
    if shared[0] is None or shared[1] is None:
        return None
    (away, along), (back, beside) = _to_edge(known[panel], shared[0], x, y), _to_edge(known[other], shared[1], u, v)
    # which end of the edge both panels count from is not told: the longer way
    edge = known[panel].width_mm if shared[0] in ("top", "bottom") else known[panel].height_mm
    return away + back + max(abs(along - beside), abs(edge / MM - along - beside))


def _shared(panel: Panel, other: str) -> str | None:
    """The edge at which `panel` has the panel called `other`."""
    for side in ("left", "right", "top", "bottom"):
        edge = getattr(panel.edges, side)
        if edge is not None and other in (edge.fold, edge.meets):
            return side
    return None


def _to_edge(plate: Plate, side: str, x: float, y: float) -> tuple[float, float]:
    """Metres from a place to an edge, and along it."""
    width, height = plate.width_mm / MM, plate.height_mm / MM
    return {"left": (x, y), "right": (width - x, y), "bottom": (y, x), "top": (height - y, x)}[side]
