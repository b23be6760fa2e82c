"""What is wrong, by a record of readings: verdicts, and every fault with its probability and its evidence in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from benchtui.buildfile.models import Build, Point
from benchtui.diagnosis.after import weigh_exchanges
from benchtui.diagnosis.evidence import evidence_of
from benchtui.diagnosis.further import Next, next_reading
from benchtui.diagnosis.meter import whole_table
from benchtui.diagnosis.pairs import weigh_all
from benchtui.diagnosis.symptoms import NONE_BROKEN, told_by
from benchtui.diagnosis.table import Table
from benchtui.diagnosis.unpowered import OL_OHM
from benchtui.diagnosis.weigh import Evidence, Weighed, foreseen, was_read, weigh
from benchtui.forecast.expect import expect_stage
from benchtui.forecast.given import Given
from benchtui.quantities.sentence import capital
from benchtui.quantities.show import show
from benchtui.verdicts.beside import narrowed
from benchtui.verdicts.expectation import Expectation
from benchtui.verdicts.judge import Judgement, judge

#: Readings that a sound build does not explain are told from so many deviations on, the strangest first, so many.
_STRANGE, _TOLD = 2.5, 3

#: What lies within so many deviations is told to be explained.
_EXPLAINED = 2.5


@dataclass(frozen=True)
class Ranked:
    """A fault, `none` or `unknown`: its kind, the part, a sentence, how likely it is, and what speaks for it."""

    fault: str
    part: str | None
    says: str
    probability: float
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True)
class Diagnosis:
    """The worst verdict, each reading's expectation and judgement, and all that may be the matter, likeliest first."""

    verdict: str
    points: Mapping[str, tuple[Expectation, Judgement]]
    ranked: tuple[Ranked, ...]
    next: Next | None


NONE_SAYS = "Nothing is wrong: readings like these come from parts within their tolerance"
UNKNOWN_SAYS = "Something that no fault of the list explains"


def diagnose(build: Build, given: Given) -> Diagnosis:
    """The diagnosis of a record; it must name its stage."""
    points = _judged(build, given)
    verdict = _worst(judgement.verdict for _, judgement in points.values())
    if (given.blown or given.symptoms) and verdict == "pass":
        verdict = "warn"
    considered = considering(build, given)
    further = None if verdict == "pass" else next_reading(*considered)
    return Diagnosis(verdict, points, ranked(*considered), further)


def considering(
    build: Build, given: Given, *, fuses_seen: bool = True, thorough: bool = True
) -> tuple[Table, Evidence, Weighed]:
    """Every fault weighed by the record; without `fuses_seen` nobody has looked whether one has blown.

    Where it is not to be `thorough`, nothing more is solved: no two faults at once, no reading after an exchange.
    """
    evidence = evidence_of(build, given)
    evidence = evidence if fuses_seen else replace(evidence, blown=None)
    table = stage_table(build, given)
    if given.worked or given.symptoms:
        evidence = replace(evidence, none=NONE_BROKEN)
        table = told_by(table, given.symptoms, worked=given.worked)
    if not thorough:
        return table, evidence, weigh(table, evidence)
    table, weighed = weigh_all(table, evidence)
    if evidence.exchanged:
        weighed = weigh_exchanges(table, evidence, weighed)
    return table, evidence, weighed


def stage_table(build: Build, given: Given) -> Table:
    """The table of the record's stage and of the earlier ones that were read."""
    earlier = tuple(sorted(name for name, before in given.earlier.items() if before.readings))
    return whole_table(build, given.stage, earlier)


def ranked(table: Table, evidence: Evidence, weighed: Weighed) -> tuple[Ranked, ...]:
    """Everything that may be the matter, likeliest first; each fault's evidence is that of its likeliest size."""
    found = [
        Ranked("none", None, NONE_SAYS, weighed.none),
        Ranked("unknown", None, UNKNOWN_SAYS, weighed.unknown),
    ]
    for number, fault in enumerate(table.faults):
        told = _evidence(table, evidence, weighed.case_of[number]) if weighed.faults[number] > 0.01 else ()
        found.append(Ranked(fault.kind, fault.part, capital(fault.says), float(weighed.faults[number]), told))
    return tuple(sorted(found, key=lambda each: -each.probability))


def _evidence(table: Table, evidence: Evidence, case: int) -> tuple[str, ...]:
    """The strangest readings for a sound build, and what each should be with the fault and without."""
    here, y = was_read(table, evidence)
    (sound, faulty), _, (sound_off, faulty_off) = foreseen(table, evidence, here, np.array([0, case]))
    strange, off = np.abs(y - sound) / sound_off, np.abs(y - faulty) / faulty_off
    told = []
    for k in np.argsort(-strange):
        if len(told) == _TOLD or not strange[k] > _STRANGE:
            break
        stage, name = table.points[here[k]]
        point = table.build.point[name]
        window = _span(point, faulty[k], faulty_off[k])
        healthy = _span(point, sound[k], sound_off[k])
        verb = "explains" if off[k] <= _EXPLAINED else "does not explain"
        told.append(f"{verb} {_told(point, y[k])} at {point.name}: with it {window}, healthy {healthy}")
    return tuple(told)


def _span(point: Point, mean: float, deviation: float) -> str:
    if not np.isfinite(mean):
        return "nobody knows"
    return f"{_told(point, mean - 2.0 * deviation)} to {_told(point, mean + 2.0 * deviation)}"


def _told(point: Point, value: float) -> str:
    if point.quantity != "resistance":
        return show(value, "V", 3)
    ohm = 10.0**value
    return "open" if ohm >= 0.5 * OL_OHM else show(ohm, "ohm", 3)


def _judged(build: Build, given: Given) -> dict[str, tuple[Expectation, Judgement]]:
    forecast = expect_stage(build, given.stage, given=given)
    by_point = {each.point: each for each in forecast.expectations}
    read = {name: value for name, value in given.readings.items() if name in by_point}
    sound = {name: value for name, value in read.items() if judge(value, by_point[name]).passed}
    expected = {name: narrowed(by_point[name], forecast.beside, sound) for name in read}
    return {name: (expected[name], judge(value, expected[name])) for name, value in read.items()}


def _worst(verdicts) -> str:  # noqa: ANN001
    order = ("pass", "warn", "stop")
    return max(verdicts, key=order.index, default="pass")
