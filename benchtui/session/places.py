"""Where the probes go, in the builder's words."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.buildfile.models import Build, Point

#: The node that is the chassis, and its name at the bench.
CHASSIS, NAME = "0", "chassis"


def place(build: Build, node: str, other: str = "") -> str:
    """Where to touch `node`: as a test point names it, else by a capacitor's end or the node's own name.

    Of several names the one counts whose point has its other probe at `other`: that of the part in between.
    """
    if node == CHASSIS:
        return NAME
    named = list(_named(build, node))
    for at, beside in named:
        if beside == other:
            return at
    if named:
        return named[0][0]
    ends = [(key, part.nodes) for key, part in build.capacitor.items() if node in part.nodes]
    for key, nodes in sorted(ends, key=lambda end: other not in end[1]):
        return f"{key} {'plus' if nodes[0] == node else 'minus'}, node {node}"
    return f"node {node}"


def point_place(build: Build, point: Point) -> tuple[str, str]:
    """Where red and black go for a test point."""
    return point.red_at or place(build, point.red), point.black_at or place(build, point.black)


def _named(build: Build, node: str) -> Iterator[tuple[str, str]]:
    """The places that test points name at `node`, each with the node of the point's other probe."""
    for point in build.point.values():
        if point.red == node and point.red_at:
            yield point.red_at, point.black
        if point.black == node and point.black_at:
            yield point.black_at, point.red
