"""Where the probes go, in the builder's words."""

from __future__ import annotations

from benchtui.buildfile.models import Build, Point

CHASSIS = "chassis"


def place(build: Build, node: str) -> str:
    """Where to touch `node`: as a test point names it, else by a capacitor's end or the node's own name."""
    if node == "0":
        return CHASSIS
    for point in build.point.values():
        if point.red == node and point.red_at:
            return point.red_at
        if point.black == node and point.black_at:
            return point.black_at
    for key, part in build.capacitor.items():
        if node in part.nodes:
            return f"{key} {'plus' if part.nodes[0] == node else 'minus'}, node {node}"
    return f"node {node}"


def point_place(build: Build, point: Point) -> tuple[str, str]:
    """Where red and black go for a test point."""
    return point.red_at or place(build, point.red), point.black_at or place(build, point.black)
