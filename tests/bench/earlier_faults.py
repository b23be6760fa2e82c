"""Faults found with and without what the faulty build itself read in earlier stages, by reference amplifier.

    python -m tests.bench.earlier_faults a

Builds are drawn over all tolerances, each with one resistor off; its stages are judged in order until one fails.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Mapping

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.forecast.drawn import drawn_stage, powered_points
from benchtui.session.earlier import StageRead
from benchtui.session.forecaster import RealForecaster
from benchtui.verdicts.judge import judge
from tests.reference import amplifiers

FACTORS = (0.5, 0.75, 1.4, 2.0)
DRAWN = 8
MAINS_V = 230.0

Readings = dict[str, dict[str, float]]
"""Stage -> point -> volts."""


def faulty(build: Build) -> Iterator[Build]:
    """The build with each of its resistors off by each of the factors."""
    for id, part in build.resistor.items():
        for factor in FACTORS:
            off = part.model_copy(update={"value": part.value * factor})
            yield build.model_copy(update={"resistor": {**build.resistor, id: off}})


def read(build: Build, order: list[str]) -> list[Readings]:
    """What a few builds drawn from `build` read in all stages."""
    drawn = {stage: drawn_stage(build, stage, MAINS_V, True, DRAWN) for stage in order}
    return [
        {stage: dict(zip(each.points, map(float, each.values[n]), strict=True)) for stage, each in drawn.items()}
        for n in range(DRAWN)
    ]


def worst(of: RealForecaster, build: Build, found: Mapping[str, Mapping[str, float]], *, goes_by_earlier: bool) -> str:
    """The verdict of the first stage that does not pass, "pass" if all do."""
    earlier: tuple[StageRead, ...] = ()
    for stage, readings in found.items():
        expected = of.stage(build, stage, MAINS_V, earlier).expectations
        verdicts = {judge(readings[id], by).verdict for id, by in expected.items()}
        if verdicts != {"pass"}:
            return "stop" if "stop" in verdicts else "warn"
        if goes_by_earlier:
            earlier = (*earlier, StageRead(stage, MAINS_V, tuple(readings.items())))
    return "pass"


def main(name: str) -> None:
    build, of = amplifiers.build(name).build, RealForecaster()
    order = [info.id for info in stages(build) if powered_points(build, info.id)]
    told: Counter[tuple[bool, str]] = Counter()
    for each in faulty(build):
        for found in read(each, order):
            for by in (False, True):
                told[by, worst(of, build, found, goes_by_earlier=by)] += 1
    for by, title in ((False, "without earlier readings"), (True, "with them")):
        print(f"{title}: " + ", ".join(f"{told[by, verdict]} {verdict}" for verdict in ("stop", "warn", "pass")))


if __name__ == "__main__":
    main(*sys.argv[1:])
