"""What a bias pot is to be trimmed to, worked out anew from the HT read now."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from benchtui.assemble.state import stage_state
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import CHASSIS
from benchtui.forecast.meter import resolution
from benchtui.forecast.results import TrimTarget
from benchtui.forecast.run import Run, solve_nominal, stage_run
from benchtui.parts.guide import spread
from benchtui.quantities.show import show


def ht_point(build: Build, stage: str) -> str | None:
    """The point that reads HT in the stage: on the output transformer's HT node to chassis, else the highest."""
    live = {n: p for n, p in build.point.items() if stage in p.stages and p.quantity == "dc" and p.black == CHASSIS}
    rails = [part.ht for part in build.output_transformer.values()]
    for name, point in live.items():
        if point.red in rails:
            return name
    found = stage_run(build, stage).nominal
    nodes = found.system.network.nodes
    volts = {name: float(found.dc(point.red, CHASSIS)[0]) for name, point in live.items() if point.red in nodes}
    known = {name: value for name, value in volts.items() if value > 0.0}
    return max(known, key=known.__getitem__) if known else None


def trim_target(
    build: Build, stage: str, adjustment: str, *, ht_v: float | None = None, mains_v: float | None = None
) -> TrimTarget:
    """The reading wanted at the adjustment's point while the stage's `ht_point` reads `ht_v` (None: as computed).

    A target in volts is what the build file says. A dissipation is held by solving the stage at mains volts that give
    this HT: a lower HT allows more current for the same watts.
    """
    wanted = build.adjust[adjustment]
    point = build.point[wanted.point]
    if wanted.target is not None:
        target, why = wanted.target, "the build file asks for this reading"
    else:
        run = _at_ht(build, stage, ht_v, mains_v)
        target = run.targets[adjustment]
        watts = float(run.nominal.valve(wanted.valve).anode_w[0])
        share = f"{100 * wanted.dissipation:.0f} % of its limit"
        why = f"{show(watts, 'W', 3)} at the anode of {wanted.valve}, {share}, at this HT"
    band = max(spread("trim.reached")[1] * abs(target), float(resolution(build.meter, "dc", np.array([target]))[0]))
    turn = wanted.raise_by or "turn a little and read which way it goes"
    return TrimTarget(wanted.pot, wanted.point, target, target - band, target + band, turn, f"{point.name}: {why}")


@lru_cache(maxsize=16)
def _at_ht(build: Build, stage: str, ht_v: float | None, mains_v: float | None) -> Run:
    """The stage solved at mains volts that make its HT read `ht_v`; HT follows mains almost in proportion."""
    volts = build.mains.volts if mains_v is None else mains_v
    run = stage_run(build, stage, mains_v=volts)
    name = ht_point(build, stage)
    if ht_v is None or name is None:
        return run
    point = build.point[name]
    for _ in range(2):
        volts *= ht_v / float(run.nominal.dc(point.red, point.black)[0])
        run = solve_nominal(build, stage_state(build, stage, mains_v=volts), near=run)
    return run
