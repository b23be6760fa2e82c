"""Faulty circuits solved side by side: each reads as it does alone, and what follows of a fault follows."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.circuit.elements import Circuit
from benchtui.circuit.operate import operate
from benchtui.circuit.probe import Probe, readings
from benchtui.diagnosis.changes import changed
from benchtui.diagnosis.faults import Fault, faults
from benchtui.diagnosis.planted import Planted, planted
from benchtui.forecast.run import Run, stage_run
from tests.reference import amplifiers

BUILD = amplifiers.build("a").build
POINTS = {name: BUILD.point[name] for name in ("bp1", "v2_cathode", "v3_cathode", "v2_grid")}
BUILDS = 2

#: Kind and part of one of each way in which a circuit may be changed.
SOME = (("resistor-open", "R11"), ("capacitor-leaky", "C1"), ("valve-missing", "V3"), ("leads-exchanged", "T2"),
        ("pin-loose", "V2"), ("capacitor-shorted", "C2"), ("grid-to-cathode", "V2"))  # fmt: skip

#: The one of them that blows the fuse.
SHORT = ("capacitor-shorted", "C2")


@cache
def run() -> Run:
    return stage_run(BUILD, "output")


@cache
def circuit() -> Circuit:
    return assemble(BUILD, run().state, Draw(BUILDS))


@cache
def chosen() -> tuple[Fault, ...]:
    found = faults(BUILD, circuit())
    return tuple(next(fault for fault in found if (fault.kind, fault.part) == wanted) for wanted in SOME)


@cache
def read() -> Planted:
    sound = operate(circuit(), start=run().nominal, fine=False)
    return planted(BUILD, circuit(), [fault.changes[-1] for fault in chosen()], POINTS, sound)


@pytest.mark.parametrize("number", [k for k, some in enumerate(SOME) if some != SHORT], ids=str)
def test_side_by_side_each_reads_as_it_does_alone(number: int) -> None:
    alone = operate(changed(circuit(), chosen()[number].changes[-1]), fine=False)
    probes = [Probe(point.red, point.black, "dc", BUILD.meter.input) for point in POINTS.values()]
    assert read().values[number] == pytest.approx(readings(alone, probes, loose=True), rel=2e-3, abs=1e-2)


def test_a_short_behind_the_fuse_blows_it_and_nothing_is_read_then() -> None:
    number = SOME.index(SHORT)
    assert read().blown["F1"][number].all()
    assert np.abs(read().values[number]).max() < 0.1
    assert not read().blown["F1"][SOME.index(("resistor-open", "R11"))].any()


def test_where_the_meter_is_the_only_path_it_is_read_all_the_same() -> None:
    assert np.isfinite(read().values).all()
