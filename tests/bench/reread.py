"""Sound amplifiers read again: how many readings a check-up tells as moved though nothing has. And a valve that wears.

`python -m tests.bench.reread`: 99 drawn builds of each demo build on two mains, with a meter that errs anew, and how
much less current a valve draws with less emission. It prints and never fails.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.buildfile.load import load
from benchtui.buildfile.models import Build
from benchtui.buildfile.whole import last_powered, whole
from benchtui.circuit.operate import operate
from benchtui.forecast.drawn import drawn_stage, read_points
from benchtui.forecast.run import stage_run
from benchtui.session.ageing import kind_of, means
from benchtui.session.moved import compare
from benchtui.session.planning import plan
from benchtui.session.signed import Read
from tests.builds import recorded

MAINS_V = ((230.0, 230.0), (222.0, 240.0))
VALVES = {"pp-6v6": ("V2", "V3"), "pp-el34": ("V3", "V4"), "se-stereo": ("V1pL",)}
CURRENTS = {"pp-6v6": "v2_cathode", "pp-el34": "v3_cathode", "se-stereo": "p_cathode_L"}

#: How far a reading strays by itself, and with a mains that is read wrong by a share (a current's slope).
_AGAIN, _AGAIN_AC, _SLOPE = 0.01, 0.025, 1.3


def read_again(build: Build, first_v: float, then_v: float, rng: np.random.Generator) -> Counter[str]:
    """How the readings of sound builds are told, read on one mains and again on another."""
    read, found = whole(build), Counter[str]()
    stage = last_powered(build)
    assert stage is not None
    before, after = (drawn_stage(read, stage.id, mains_v, True, 100) for mains_v in (first_v, then_v))
    points = {point.id: point for point in plan(build, {}).whole.power.points}  # type: ignore[union-attr]
    for sample in range(1, 100):
        mains = 1.0 + 2.0 * _SLOPE * build.meter.ac[0] * rng.uniform(-1.0, 1.0)
        for k, id in enumerate(before.points):
            dc = points[id].quantity == "dc"
            meter = 1.0 + (build.meter.dc if dc else build.meter.ac)[0] * rng.uniform(-1.0, 1.0)
            stray = 1.0 + (_AGAIN if dc else _AGAIN_AC) * rng.uniform(-1.0, 1.0)
            then, now = float(before.values[sample, k]), float(after.values[sample, k] * meter * stray * mains)
            plain = (float(before.nominal[k]), float(after.nominal[k]))
            kind = kind_of(build, points[id], plain[1])
            reads = (Read(then, plain[0], first_v, 0.0, stage.id), Read(now, plain[1], then_v, 0.0, stage.id))
            moved = compare(build, kind, points[id], *reads)
            alarm = moved is not None and not moved.none and means(kind, moved.by)
            found["means" if alarm else "as before" if moved is not None and moved.none else "moved"] += 1
    return found


def worn(build: Build, valves: tuple[str, ...], point: str, share: float) -> float:
    """By how much `point` reads less where these valves have a share of their emission, pots as they were left."""
    read, stage = whole(build), last_powered(build)
    assert stage is not None
    run = stage_run(read, stage.id, mains_v=build.mains.volts)
    circuit = assemble(read, replace(run.state, pots=run.nominal.pots, trimmed=frozenset()), Draw(None))
    weak = tuple(
        replace(each, emission=each.emission * share)
        if hasattr(each, "emission") and each.name.startswith(valves)
        else each
        for each in circuit.elements
    )
    points = {point: read.point[point]}
    found = operate(replace(circuit, elements=weak), fine=False)
    return float(read_points(read, found, points)[0, 0] / read_points(read, run.nominal, points)[0, 0] - 1.0)


def main() -> None:
    """Print both."""
    rng = np.random.default_rng(5)
    for name in recorded.NAMES:
        build = load(recorded.BUILDS / f"{name}.toml").build
        for mains_v in MAINS_V:
            print(name, mains_v, dict(read_again(build, *mains_v, rng)), flush=True)
        for of in (VALVES[name][:1], VALVES[name]):
            told = [f"{share:.0%}: {worn(build, of, CURRENTS[name], share):+.0%}" for share in (0.8, 0.65, 0.5)]
            print(name, of, "emission and current", *told, flush=True)


if __name__ == "__main__":
    main()
