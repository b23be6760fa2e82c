"""Ohms between two nodes of an unpowered stage, by a small solver of its own: nothing of the engine is used.

Resistors, fuses, switches, links, heaters, pots, chokes and the windings of every transformer are what they are;
capacitors are charged, valves and thermistors cold and junctions open.
"""

from __future__ import annotations

from math import inf
from typing import Any

import numpy as np

from benchtui.buildfile.models import Build
from tests.builds.deck import CHASSIS, circuit, moment

_OPEN_OHM = 1e9


class Ohms:
    """The resistances of a build in one stage, with the clip's resistor between each two nodes of `clips`."""

    def __init__(self, build: Build, stage: str, clips: tuple[tuple[str, str], ...] = ()) -> None:
        made = circuit(build, moment(build, stage))
        for name in build.thermistor.keys() & made.resistors.keys():
            made.resistors[name] = (*made.resistors[name][:2], build.thermistor[name].cold)
        for number, ends in enumerate(clips):
            made.resistor(f"clip {number}", *ends, build.gate.clip)
        self._names = made.names
        parts = [(a, b, ohm) for a, b, ohm in made.resistors.values()]
        parts += [(a, b, 1e-4) for a, b in (_ends(text) for _, text in made.coils)]
        for key, a, b, ohm in _windings(build):
            if key in made.windings or key == "":
                parts.append((made.node(a), made.node(b), ohm))
        self._index = {name: n for n, name in enumerate(sorted(set(made.names.values()) | {"0"}))}
        self._matrix = self._stamped(parts)

    def between(self, red: str, black: str = CHASSIS) -> float:
        """Ohms from `red` to `black`; infinite where nothing joins them, or only over a gigohm."""
        if red not in self._names or black not in self._names:
            return inf
        a, b = self._index[self._names[red]], self._index[self._names[black]]
        if a == b:
            return 0.0
        amperes = np.zeros(len(self._index))
        amperes[a], amperes[b] = 1.0, -1.0
        volts = np.linalg.solve(self._matrix, amperes)
        ohm = float(volts[a] - volts[b])
        return ohm if ohm < _OPEN_OHM else inf

    def _stamped(self, parts: list[tuple[str, str, float]]) -> Any:
        matrix = np.eye(len(self._index)) * 1e-12  # a leak to nowhere, so that an island has volts too
        for left, right, ohm in parts:
            a, b = self._index[left], self._index[right]
            matrix[a, a] += 1 / ohm
            matrix[b, b] += 1 / ohm
            matrix[a, b] -= 1 / ohm
            matrix[b, a] -= 1 / ohm
        return matrix


def _ends(text: str) -> tuple[str, str]:
    first, second, *_ = text.split()
    return first, second


def _windings(build: Build) -> list[tuple[str, str, str, float]]:
    """Key ("" for a primary, which is there from the first stage that has it), ends and ohms of each winding."""
    found = []
    for transformer in build.transformer.values():
        primary = transformer.primary
        if primary.nodes and primary.resistance:
            found.append(("", *primary.nodes, primary.resistance))
        found += [(key, *part.nodes, part.resistance) for key, part in transformer.windings.items()]
    return found
