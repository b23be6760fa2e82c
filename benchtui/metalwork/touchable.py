"""What of a finished amplifier is metal and can be touched: panels, and metal bodies that are mounted on one."""

from __future__ import annotations

import re
from collections.abc import Iterator

from benchtui.buildfile.models import Build
from benchtui.metalwork.layout import Mounted
from benchtui.metalwork.rules_earth import is_metal
from benchtui.metalwork.workshop import workshop


def touchable(build: Build) -> tuple[tuple[str, str], ...]:
    """(Id, where the probe goes) of every touchable piece of metal, panels first.

    A body whose role, or that of its part, has it "insulated from the panel" is none: it is no protective earth's.
    """
    shop = workshop(build)
    metal = [(f"panel {plate.name}", f"bare metal of {plate.panel.name}") for plate in shop.plates if is_metal(plate)]
    bodies = [(plate.name, each) for plate, each in shop.mounted() if each.mounting.metal]
    return (*metal, *(_body(panel, each) for panel, each in bodies if not _insulated(build, each)))


def is_bonded(build: Build, part: str) -> bool:
    """Is the body of `part` one of these?"""
    mounted = (each for _, each in workshop(build).mounted() if each.part == part)
    return any(each.mounting.metal and not _insulated(build, each) for each in mounted)


def _body(panel: str, each: Mounted) -> tuple[str, str]:
    what = f"{each.part}, the {each.mounting.name}" if each.part else f"the {each.mounting.name} at {each.name}"
    return f"{panel} {each.name}", f"metal of {what}"


#: What says that a body is not joined to its panel; "uninsulated" and an insulated shaft do not.
_INSULATED = re.compile(r"(?<!un-)(?<!non-)(?<!not )\binsulated from\b", re.IGNORECASE)


def _insulated(build: Build, each: Mounted) -> bool:
    return any(_INSULATED.search(words) for words in _told(build, each))


def _told(build: Build, each: Mounted) -> Iterator[str]:
    yield each.written.role
    for table in ("input", "switch", "pot", "capacitor"):
        part = getattr(build, table).get(each.part)
        if part is not None:
            yield part.role
