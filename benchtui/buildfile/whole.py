"""A build as it is read when it is finished and something is wrong: every point that can still be read.

The last powered stage reads little, the stages before it much. What they read at places that the finished amplifier
still has is read there as well, parts and valves all in.
"""

from __future__ import annotations

from functools import lru_cache

from benchtui.buildfile.models import Build, Point
from benchtui.buildfile.stages import StageInfo, fitted, stages


def last_powered(build: Build) -> StageInfo | None:
    """The last powered stage that is read inside, so no soak; None for a build that has none."""
    return next((info for info in reversed(stages(build)) if info.kind == "power" and not info.entry.soak), None)


@lru_cache(maxsize=8)
def whole(build: Build) -> Build:
    """`build` with the points of earlier stages listed in its last powered one too, as far as they are still there.

    Volts: those of stages with every valve and fuse in, since others are read at leads that were parked. Ohms: all but
    insulation that only a half wired chassis has, and what is read with the cover on. What mains is worked out from
    stays where it is. While it settles the direct volts are watched that were watched with all valves in.
    """
    last = last_powered(build)
    if last is None:
        return build
    order = [info.id for info in stages(build)]
    after = frozenset(order[order.index(last.id) + 1 :])
    full = frozenset(info.id for info in stages(build) if _is_full(build, info))
    bench = frozenset(info.id for info in stages(build) if info.kind == "bench")

    def still_there(name: str, point: Point) -> bool:
        if last.id in point.stages or name == build.mains.read_point:
            return False
        if point.outside and point.quantity == "resistance" and set(point.stages) <= after:
            return False  # read at the sign-off that follows a repair, cover on
        if point.quantity != "resistance":
            return bool(full & set(point.stages))
        return bool(after & set(point.stages)) if point.guards == "insulation" else not set(point.stages) <= bench

    points = {
        name: point.model_copy(update={"stages": (*point.stages, last.id)}) if still_there(name, point) else point
        for name, point in build.point.items()
    }
    read = {id for id, point in points.items() if last.id in point.stages and point.quantity == "dc"}
    watches = [info.entry.watch for info in stages(build) if info.id in full and info.entry.watch in read]
    if not watches:
        return build.model_copy(update={"point": points})
    entry = last.entry.model_copy(update={"watch": watches[-1]})
    return build.model_copy(update={"point": points, "stage": {**build.stage, last.id: entry}})


def _is_full(build: Build, info: StageInfo) -> bool:
    """Does the stage have its power with every valve and fuse in?"""
    out = (*info.entry.valves_out, *info.entry.fuses_out)
    return info.kind == "power" and not out and set(build.valve) <= fitted(build, info.id)
