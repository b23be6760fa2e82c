"""Readings in ohms that may be taken with the power off: at every pin of a valve, across every part that conducts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.elements import CHASSIS
from benchtui.circuit.stacking import picked
from benchtui.diagnosis.candidates import Candidate
from benchtui.diagnosis.changes import Change
from benchtui.diagnosis.faults import faults
from benchtui.diagnosis.simulated import FAULTY, SOUND
from benchtui.diagnosis.table import Table
from benchtui.diagnosis.unpowered import ohms_circuit, ohms_least, ohms_read


@dataclass(frozen=True, eq=False)
class Cold:
    """What each of `candidates` reads in decades, `mean` and `deviation` (rows, candidates).

    The first row is the sound build; `row_of` has the rows of each fault, by its id, a row for each of its sizes.
    """

    candidates: tuple[Candidate, ...]
    row_of: Mapping[tuple[str, str, str], range]
    mean: np.ndarray
    deviation: np.ndarray

    def read(self, table: Table, cases: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Mean and deviation (cases, candidates) of cases of a table of the same stage.

        A fault that no ohms know reads as a sound build; two faults at once are worked out now.
        """
        rows = [self._row(table, int(case)) for case in cases]
        mean, deviation = (each[[row or 0 for row in rows]] for each in (self.mean, self.deviation))
        pairs = [k for k, row in enumerate(rows) if row is None]
        if pairs:
            changes = tuple(table.faults[table.of[cases[k]]].changes[0] for k in pairs)
            mean[pairs], deviation[pairs] = _ohms(table.build, table.stage, self.candidates, changes)
        return mean, deviation

    def _row(self, table: Table, case: int) -> int | None:
        """The row of a case; None where it is none of the single faults."""
        if table.of[case] < 0:
            return 0
        fault = table.faults[table.of[case]]
        rows = self.row_of.get(fault.id)
        if rows is None:
            return None if fault.changes else 0
        return rows[table.size_of(case)]


@lru_cache(maxsize=16)
def cold_table(build: Build, stage: str) -> Cold:
    """Every reading in ohms that `stage` has to offer, with each single fault in."""
    draw, state = Draw(SOUND), stage_state(build, stage)
    candidates = tuple(in_ohms(build, state.fitted, stage))
    circuit = picked(assemble(build, state, draw), np.arange(FAULTY))
    changes, row_of = [Change({})], {}
    for fault in faults(build, circuit):
        row_of[fault.id] = range(len(changes), len(changes) + len(fault.changes))
        changes += fault.changes
    return Cold(candidates, row_of, *_ohms(build, stage, candidates, tuple(changes)))


@lru_cache(maxsize=32)
def _ohms(
    build: Build, stage: str, candidates: tuple[Candidate, ...], changes: tuple[Change, ...]
) -> tuple[np.ndarray, np.ndarray]:
    """Mean and deviation (changes, candidates) in decades."""
    draw, state = Draw(SOUND), stage_state(build, stage)
    points = {each.point: point_of(each) for each in candidates}
    read = ohms_read(build, ohms_circuit(build, state, stage, draw), changes, points, draw, FAULTY)
    mean = read.mean(axis=1)
    return mean, np.hypot(read.std(axis=1), ohms_least(build, mean))


def point_of(of: Candidate) -> Point:
    """A candidate in ohms as a point of a build."""
    return Point(name=of.says, red=of.red, black=of.black, quantity="resistance", stages=[])


def in_ohms(build: Build, fitted: frozenset[str], stage: str) -> Iterator[Candidate]:
    """Every reading in ohms that may be taken in `stage`, each pair of nodes once."""
    seen: set[frozenset[str]] = set()
    for point, says, red, black in _places(build, fitted):
        ends = frozenset((red, black))
        if len(ends) == 2 and ends not in seen:
            seen.add(ends)
            yield Candidate("ohms", stage, point, f"Without power, {says}", red, black)


def _places(build: Build, fitted: frozenset[str]) -> Iterator[tuple[str, str, str, str]]:
    for section in sections(build):
        if section.valve in fitted:
            for electrode, node in section.nodes.items():
                yield (
                    f"{section.id} {electrode}",
                    f"ohms from the {electrode} pin of {section.id} to chassis",
                    node,
                    CHASSIS,
                )
    for table in ("resistor", "choke", "fuse", "link"):
        for name, part in getattr(build, table).items():
            if name in fitted:
                yield name, f"ohms across {name}", *part.nodes
    for name, part in build.output_transformer.items():
        if name in fitted:
            for anode in part.anodes:
                yield f"{name} {anode}", f"ohms from {part.ht} to {anode}, one half of {name}", part.ht, anode
    for transformer in build.transformer.values():
        for name, winding in transformer.windings.items():
            if name in fitted:
                yield name, f"ohms across winding {name}", *winding.nodes
