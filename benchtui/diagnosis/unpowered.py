"""Readings in ohms without power, with each fault in: the linear circuit alone, junctions and valves open."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import resistances
from benchtui.assemble.state import State
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.elements import Circuit
from benchtui.circuit.resistance import Unpowered, paths
from benchtui.circuit.stacking import picked
from benchtui.diagnosis.changes import Change, changed
from benchtui.forecast.meter import resolution, shown
from benchtui.forecast.ohms import clipped

#: From here on a meter shows open (OL); and less than it can tell from its leads.
OL_OHM, LEAST_OHM = 1e8, 0.1

#: What a reading in ohms owes to nothing that is drawn: contact of probes and sockets, as a share and in ohms.
_FLOOR, _CONTACT_OHM = 0.015, 0.3

#: How far a reading on an open point may stray, in decades.
_OPEN_SPREAD = 0.3


def scaled(ohm: np.ndarray | float) -> np.ndarray:
    """Decades: a reading in ohms as its logarithm, open ones at that of OL_OHM."""
    return np.log10(np.clip(ohm, LEAST_OHM, OL_OHM))


def ohms_circuit(build: Build, state: State, stage: str, draw: Draw) -> Circuit:
    """The circuit that an ohmmeter meets in `stage`, clip and links on once there was power."""
    bare = Unpowered(paths(resistances(build, state).elements))
    return resistances(build, clipped(build, stage, state, bare), draw)


def ohms_read(
    build: Build, circuit: Circuit, changes: Sequence[Change], points: dict[str, Point], draw: Draw, builds: int
) -> np.ndarray:
    """Decades (changes, builds, points) that the meter shows on the first `builds` of the drawn circuit.

    A point called as a pin of a valve ("V2 grid") is at that pin, wherever a change has moved it.
    """
    few, values = picked(circuit, np.arange(builds)), np.empty((len(changes), builds, len(points)))
    for number, change in enumerate(changes):
        found = Unpowered(paths(changed(few, change).elements))
        touched = {node for point in points.values() for node in (point.red, point.black)} | set(change.pins.values())
        found.touch(found.nodes & touched)
        for k, (name, point) in enumerate(points.items()):
            red = change.pins.get(name, point.red)
            ohm = found.between(red, point.black) if {red, point.black} <= found.nodes else OL_OHM
            whole = np.full(draw.samples or 1, OL_OHM)
            whole[:builds] = np.minimum(ohm, OL_OHM)
            values[number, :, k] = scaled(shown(build.meter, "resistance", whole, draw, name)[:builds])
    return values


def ohms_least(build: Build, middle: np.ndarray) -> np.ndarray:
    """The spread in decades of readings of so many decades by themselves."""
    ohm = 10.0**middle
    finite = (_FLOOR + (resolution(build.meter, "resistance", ohm) + _CONTACT_OHM) / ohm) / np.log(10.0)
    return np.where(middle >= np.log10(OL_OHM) - 1e-9, _OPEN_SPREAD, finite)
