"""How often sound builds are warned or stopped, and how wide their windows are.

    python -m tests.bench.healthy [COUNT] [SEED] [SAMPLES]

COUNT (60) sound builds (`sound.py`: valves other than the forecast supposes) of each reference amplifier and demo build
through all powered stages. Each record is judged with nothing but its mains measured (`mains`), and with all earlier
readings of the build as well (`given`), by windows of SAMPLES drawn builds (as many as the program draws).
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np

from benchtui.forecast.expect import expect_powered
from benchtui.forecast.given import StageReadings
from benchtui.forecast.results import StageForecast
from benchtui.forecast.run import SAMPLES
from benchtui.verdicts.judge import judge
from tests.bench.sound import NAMES, Sound, made, powered_stages, sound_builds

COUNT = 60
LEAST_V = 1e-3
"""A point whose nominal is under this has no width in per cent."""


@dataclass(frozen=True, eq=False)
class Judged:
    """The records of one stage: by way of judging the shares warned and stopped, and widths in % by point."""

    build: str
    stage: str
    records: int
    warned: dict[str, int]
    stopped: dict[str, int]
    alarms: tuple[str, ...]
    widths: dict[str, dict[str, float]]
    """Way ("spread", "mains", "given") -> point -> mean width."""

    seen: frozenset[str]
    """The points that were read in a stage before."""

    def narrowing(self, way: str, against: str, points: frozenset[str] | None = None) -> float:
        """Median of the points' widths by one way as a share of those by another."""
        names = self.widths[way].keys() if points is None else self.widths[way].keys() & points
        return float(np.median([self.widths[way][n] / self.widths[against][n] for n in names])) if names else np.nan


def judged(name: str, count: int, seed: int, samples: int) -> list[Judged]:
    """All stages of one build."""
    sound = sound_builds(made(name), count, seed)
    return [_stage(name, sound, stage, count, samples) for stage in powered_stages(sound.build)]


def _stage(name: str, sound: Sound, stage: str, count: int, samples: int) -> Judged:
    build, before = sound.build, powered_stages(sound.build)
    before = before[: before.index(stage)]
    warned, stopped = {"mains": 0, "given": 0}, {"mains": 0, "given": 0}
    widths: dict[str, list[dict[str, float]]] = {"spread": [_widths(expect_powered(build, stage, samples=samples))]}
    alarms = []
    for number in range(count):
        mains_v, record = float(sound.mains_v[stage][number]), sound.record(number, stage)
        earlier = {s: StageReadings(float(sound.mains_v[s][number]), sound.record(number, s)) for s in before}
        for way, known in (("mains", {}), ("given", earlier)):
            told = expect_powered(build, stage, mains_v=mains_v, earlier=known, samples=samples)
            found = list(_alarms(told, record))
            warned[way] += bool(found)
            stopped[way] += any(verdict == "stop" for verdict, _ in found)
            alarms += [f"{way} {text}" for _, text in found]
            widths.setdefault(way, []).append(_widths(told))
    mean = {
        way: {point: float(np.mean([each[point] for each in rows])) for point in rows[0]}
        for way, rows in widths.items()
    }
    seen = frozenset(point for s in before for point in sound.points[s])
    return Judged(name, stage, count, warned, stopped, tuple(alarms), mean, seen)


def _alarms(told: StageForecast, record: dict[str, float]) -> Iterator[tuple[str, str]]:
    for e in told.expectations:
        if e.point not in record:
            yield "warn", f"{e.point} did not settle"
            continue
        judgement = judge(record[e.point], e)
        if not judgement.passed:
            text = f"{judgement.verdict} {e.point} reads {record[e.point]:.4g} of {e.low:.4g} to {e.high:.4g}"
            yield judgement.verdict, text


def _widths(told: StageForecast) -> dict[str, float]:
    return {e.point: 100.0 * (e.high - e.low) / abs(e.nominal) for e in told.expectations if abs(e.nominal) >= LEAST_V}


def _line(row: Judged) -> str:
    median = {way: np.median(list(row.widths[way].values())) for way in ("spread", "mains", "given")}
    shares = " | ".join(
        f"{100 * row.warned[way] / row.records:.1f} / {100 * row.stopped[way] / row.records:.1f}"
        for way in ("mains", "given")
    )
    new = frozenset(row.widths["given"]) - row.seen
    return (
        f"| {row.build} | {row.stage} | {shares} | {median['spread']:.1f} | {median['mains']:.1f} "
        f"| {median['given']:.1f} | {row.narrowing('given', 'spread'):.2f} "
        f"| {row.narrowing('given', 'mains', row.seen):.2f} | {row.narrowing('given', 'mains', new):.2f} |"
    )


def main(count: int, seed: int, samples: int) -> None:
    """Prints a line for each build and stage, what all come to, and every alarm."""
    with ProcessPoolExecutor(2) as workers:
        rows = [r for found in workers.map(judged, NAMES, [count] * 5, [seed] * 5, [samples] * 5) for r in found]
    print(
        "| build | stage | mains: warn / stop, % | given: warn / stop, % | width: spread, % | mains, % | given, % "
        "| given to spread | given to mains: read before | new |"
    )
    print("|---|---|---|---|---|---|---|---|---|---|")
    for row in rows:
        print(_line(row))
    records = sum(row.records for row in rows)
    for way in ("mains", "given"):
        warned, stopped = (sum(getattr(row, key)[way] for row in rows) for key in ("warned", "stopped"))
        print(f"{way}: {records} records, {100 * warned / records:.2f} % warn, {100 * stopped / records:.2f} % stop")
    for row in rows:
        for alarm in row.alarms:
            print(f"  {row.build} {row.stage}: {alarm}")


if __name__ == "__main__":
    wanted = [int(text) for text in sys.argv[1:]]
    main(*(wanted + [COUNT, 1, SAMPLES][len(wanted) :]))
