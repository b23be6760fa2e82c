"""Where the bleed clip and links are while hands are in: what is read in ohms then includes their resistors."""

from __future__ import annotations

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.forecast.by_rating import held_by_rating
from benchtui.forecast.gate import reservoirs_of

Ends = tuple[str, str]
"""The two nodes that a clip joins."""


def clip_ends(build: Build, stage: str | None) -> Ends | None:
    """Where the clip goes in the gates after `stage` had power, or, for None, before anything had.

    The place that the build file gives, else across the first reservoir of that stage. Where it has none (heaters
    alone), across the first one of the next powered stage that has, fitted by then or not. None in a build without.
    """
    if build.gate.clip_between is not None:
        return build.gate.clip_between
    powered = [info.id for info in stages(build) if info.kind == "power"]
    for near in powered if stage is None else powered[powered.index(stage) :]:
        if reservoirs := reservoirs_of(build, near):
            return reservoirs[0].red, reservoirs[0].black
    return None


def clips_on(build: Build, stage: str, *, linked: bool) -> tuple[Ends, ...]:
    """What is clipped in the hands-in work of `stage`.

    `linked`: the chassis never met mains, so instead of the one clip its resistor is across each capacitor fitted.
    """
    if linked:
        return tuple(build.capacitor[id].nodes for id in held_by_rating(build, stage))
    ends = clip_ends(build, powered_before(build, stage))
    return () if ends is None else (ends,)


def powered_before(build: Build, stage: str) -> str | None:
    """The last stage with power before `stage`; None before the first."""
    last = None
    for info in stages(build):
        if info.id == stage:
            return last
        last = info.id if info.kind == "power" else last
    raise ValueError(f"{stage!r} is no stage of this build")
