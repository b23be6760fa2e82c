"""An ensemble of every stage beside one nominal run of the same stages by ngspice, meter loading included in both.

BENCHTUI_LONG=1 python -m pytest -n 0 -s tests/bench/test_engine_times.py
"""

from __future__ import annotations

import time

import pytest

from benchtui.buildfile.models import Build
from benchtui.circuit.network import network
from benchtui.forecast import drawn, limits, run
from benchtui.forecast.drawn import drawn_stage, powered_points
from tests.builds import recorded, spice
from tests.reference import amplifiers

SAMPLES = (200, 1000)
NAMES = ("a", "c", *recorded.NAMES)
STAGES = ("heaters", "supply", "output", "driver")


def made(name: str) -> Build:
    """A reference amplifier or a demo build."""
    return (amplifiers.build(name) if name in amplifiers.NAMES else recorded.build(name)).build


def with_windings_apart(build: Build) -> Build:
    """The same build whose windings do not load each other: no primary resistance that they share."""
    apart = {
        name: part.model_copy(update={"primary": part.primary.model_copy(update={"resistance": None})})
        for name, part in build.transformer.items()
    }
    return build.model_copy(update={"transformer": apart})


def seconds(build: Build, stages: list[str], samples: int) -> float:
    """Our time for the nominal run and `samples` builds of all stages, nothing known beforehand."""
    for memory in (run._stage_run, limits.powered_limits, drawn.drawn_stage):
        memory.cache_clear()
    begin = time.perf_counter()
    for stage in stages:
        found = drawn_stage(build, stage, build.mains.volts, True, samples)
        assert found.ensemble.settled.all()
    return time.perf_counter() - begin


@pytest.mark.spice
@pytest.mark.parametrize("name", NAMES)
def test_an_ensemble_beside_ngspice(name: str) -> None:
    build = made(name)
    stages = [stage for stage in STAGES if powered_points(build, stage)]
    begin = time.perf_counter()
    for stage in stages:
        assert spice.measure(build, stage)[1]
    one_s = time.perf_counter() - begin
    nodes = len(network(run.stage_run(build, stages[-1]).nominal.circuit).nodes)
    print(f"\n{name}, {nodes} nodes: ngspice, nominal, {len(stages)} stages {one_s:.2f} s")
    for samples in SAMPLES:
        ours_s, apart_s = (seconds(each, stages, samples) for each in (build, with_windings_apart(build)))
        of_apart = f"{ours_s / apart_s:.2f} of windings apart" if name in recorded.NAMES else ""
        print(f"{name}: {samples} builds {ours_s:.2f} s, {ours_s / one_s:.2f} of ngspice's one {of_apart}")
