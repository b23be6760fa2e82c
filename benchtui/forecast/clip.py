"""Where the bleed clip is while hands are in: what is read in ohms then includes its resistor."""

from __future__ import annotations

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.forecast.gate import reservoirs_of


def hands_in_clip(build: Build, stage: str) -> tuple[str, str] | None:
    """The two nodes that the clip joins in the hands-in work of `stage`; None before the first power.

    The place that the build file gives, else across the first reservoir of what was powered last. Where that had none
    (heaters alone), HT+ is where the stage itself will have it.
    """
    order = stages(build)
    here = [info.id for info in order].index(stage)
    powered = [info.id for info in order[:here] if info.kind == "power"]
    if not powered:
        return None
    if build.gate.clip_between is not None:
        return build.gate.clip_between
    for near in (powered[-1], stage):
        if reservoirs := reservoirs_of(build, near):
            return reservoirs[0].red, reservoirs[0].black
    return None
