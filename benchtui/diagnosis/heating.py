"""What a heater that gets too few volts leaves of its valve's emission."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from benchtui.assemble.valves import HeaterPart, heaters, sections
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import Circuit
from benchtui.circuit.operating import Operating

#: Emission of a heater at half its volts (rule of thumb, no source).
STARVED = 0.02


@dataclass(frozen=True)
class Warmed:
    """A section of a valve and the heaters that warm it: the halves of a tapped one, or its only one."""

    section: str
    heaters: tuple[HeaterPart, ...]

    def emission(self, found: Operating) -> np.ndarray:
        """Share (samples,) of its emission that the coldest of its heaters leaves; NaN where nothing is solved."""
        shares = [
            np.hypot(found.dc(each.a, each.b), found.ac_rms(each.a, each.b)) / each.rated_v for each in self.heaters
        ]
        return emission_of(np.min(shares, axis=0))


def warmed(build: Build, circuit: Circuit) -> tuple[Warmed, ...]:
    """The sections of `circuit` whose heaters are in it as well."""
    names = {element.name for element in circuit.elements if hasattr(element, "emission")}
    there = {element.name: element for element in circuit.elements}
    found = []
    for valve in dict.fromkeys(section.valve for section in sections(build)):
        own = [section.id for section in sections(build) if section.valve == valve and section.id in names]
        filaments = [
            replace(heater, a=there[heater.id].a, b=there[heater.id].b)
            for heater in heaters(build)
            if heater.valve == valve and heater.id in there
        ]
        for name in own:
            warming = tuple(heater for heater in filaments if name in heated_by(heater, filaments, own))
            if warming:
                found.append(Warmed(name, warming))
    return tuple(found)


def heated_by(heater: HeaterPart, filaments: list[HeaterPart], names: list[str]) -> list[str]:
    """The sections that a heater warms: its own where each has one, else all of its valve's."""
    if len(filaments) == len(names):
        return [names[filaments.index(heater)]]
    return names


def emission_of(share: np.ndarray) -> np.ndarray:
    """Emission of a heater at `share` of its volts: full down to 80 %, 2 % at half (rule of thumb, no source)."""
    return np.clip(np.interp(share, (0.3, 0.5, 0.8), (0.0, STARVED, 1.0)), 0.0, 1.0)
