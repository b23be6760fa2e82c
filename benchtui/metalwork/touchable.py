"""What of a finished amplifier is metal and can be touched: panels, and metal bodies that are mounted on one."""

from __future__ import annotations

from benchtui.buildfile.models import Build
from benchtui.metalwork.layout import Mounted
from benchtui.metalwork.rules_earth import is_metal
from benchtui.metalwork.workshop import workshop


def touchable(build: Build) -> tuple[tuple[str, str], ...]:
    """(Id, where the probe goes) of every touchable piece of metal, panels first.

    A body that is `insulated` from its panel is none: it is no protective earth's.
    """
    shop = workshop(build)
    metal = [(f"panel {plate.name}", f"bare metal of {plate.panel.name}") for plate in shop.plates if is_metal(plate)]
    bodies = [(plate.name, each) for plate, each in shop.mounted() if each.mounting.metal]
    return (*metal, *(_body(panel, each) for panel, each in bodies if not each.written.insulated))


def is_bonded(build: Build, part: str) -> bool:
    """Is the body of `part` one of these?"""
    mounted = (each for _, each in workshop(build).mounted() if each.part == part)
    return any(each.mounting.metal and not each.written.insulated for each in mounted)


def _body(panel: str, each: Mounted) -> tuple[str, str]:
    what = f"{each.part}, the {each.mounting.name}" if each.part else f"the {each.mounting.name} at {each.name}"
    return f"{panel} {each.name}", f"metal of {what}"
