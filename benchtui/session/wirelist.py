"""The wires of a build as steps of its stages."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from benchtui.buildfile.models import Build
from benchtui.forecast.results import Loads
from benchtui.wiring.wires import Wire, wires


@lru_cache(maxsize=4)
def wire_list(build: Build) -> tuple[Wire, ...]:
    """The wires of the build without their sizes, which take the engine."""
    return wires(build, Loads())


def wire_steps(build: Build, stage: str) -> Iterator[tuple[str, str]]:
    """Id and text of each wire that a stage puts on, in the order of wiring."""
    return ((wire.id, f"{wire.start} to {wire.finish}") for wire in wire_list(build) if wire.stage == stage)
