"""Where a grid's volts can be read: at its pin, or at the far end of its stopper, which is safer to probe."""

from __future__ import annotations

from benchtui.assemble.valves import Section
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import CHASSIS

_STOPPER_OHM = 22e3
"""Up to this a resistor at a grid is its stopper, and has the grid's volts at both ends; a leak has more."""


def grid_nodes(build: Build, section: Section) -> frozenset[str]:
    """The node of a section's grid, and those behind its stoppers; none for a diode."""
    grid = section.nodes.get("grid")
    if grid is None:
        return frozenset()
    stoppers = (part.nodes for part in build.resistor.values() if part.value <= _STOPPER_OHM and grid in part.nodes)
    return frozenset({grid, *(end for nodes in stoppers for end in nodes)} - {CHASSIS})
