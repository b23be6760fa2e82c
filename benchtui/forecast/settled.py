"""Which stage stands for the finished amplifier without signal, and which for its supply alone."""

from __future__ import annotations

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.forecast.drawn import powered_points
from benchtui.forecast.loadline import drawable
from benchtui.forecast.run import stage_run


def whole_stage(build: Build) -> str | None:
    """The powered stage with the most points to read among those with valves that carry current, the last of equals."""
    found = [(len(powered_points(build, id)), n, id) for n, id in enumerate(_solved(build)) if drawable(build, id)]
    return max(found)[2] if found else None


def supply_stage(build: Build) -> str | None:
    """The last powered stage that reads direct volts with no amplifying valve in its socket."""
    quiet = [id for id in _solved(build) if not drawable(build, id)]
    direct = [id for id in quiet if any(build.point[point].quantity == "dc" for point in powered_points(build, id))]
    return direct[-1] if direct else None


def _solved(build: Build) -> list[str]:
    """The powered stages in which anything is read, in order, that the engine can solve."""
    powered = [info.id for info in stages(build) if info.kind == "power" and powered_points(build, info.id)]
    return [id for id in powered if stage_run(build, id).nominal.blame[0] is None]
