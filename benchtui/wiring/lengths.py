"""How long a wire is, by where its ends sit on the panels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache

from benchtui.buildfile.models import Build
from benchtui.metalwork.layout import MM, Mounted, plates
from benchtui.metalwork.space import Vector, frames
from benchtui.parts import wiring as sold
from benchtui.wiring.spots import BOLT

#: Kinds of opening that stand for an end which is no part of the build file.
_KINDS = {"mains inlet": ("mains inlet",), BOLT: ("earth bolt",)}
_POSTS = ("binding post", "double binding post")

_SAME_PART_M = 0.03


def length_m(build: Build, start: str, finish: str) -> float | None:
    """Metres of wire between two parts, with slack, laid along the edges of the chassis; None where the panels do not
    say where both are.
    """
    if start == finish:
        return _SAME_PART_M
    for group in _places(build):
        if start in group and finish in group:
            way = sum(abs(a - b) for a, b in zip(group[start], group[finish], strict=True))
            return way / MM + sold.slack_m()
    return None


@lru_cache(maxsize=16)
def _places(build: Build) -> tuple[Mapping[str, Vector], ...]:
    """Name of a wire's end = its place in space in millimetres, a table for each group of panels that hang together."""
    known = {plate.name: plate for plate in plates(build)}
    tables = []
    for group in frames(known.values()):
        found: dict[str, Vector] = {}
        for panel, frame in group.items():
            for each in known[panel].mounted:
                for name in _names(build, each):
                    found.setdefault(name, frame.point(each.x_mm, each.y_mm))
        tables.append(found)
    return tuple(tables)


def _names(build: Build, mounted: Mounted) -> Iterator[str]:
    """What the wires call the place: the part that sits there, and what else it stands for."""
    kind, part = mounted.mounting.name, mounted.part
    yield from (name for name, kinds in _KINDS.items() if kind.startswith(kinds))
    if part is None:
        yield from (f"terminals for {load}" for load in build.load if kind in _POSTS and len(build.load) == 1)
        return
    yield from (part, f"terminals for {part}")
    switch = build.switch.get(part)
    if switch is not None and switch.poles > 1:  # its other poles, which the file lists beside it
        yield from (id for id, other in build.switch.items() if id[:-1] == part[:-1] and other.poles == switch.poles)
