"""What may be wrong when a reading is off: asked of the diagnosis and worded for the bench."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from benchtui.procedure import events as e
from benchtui.procedure.state import Mode
from benchtui.quantities.clean import clean
from benchtui.session.bench import Bench
from benchtui.session.earlier import StageRead
from benchtui.session.forecasts import Forecasts, Key
from benchtui.session.tables import table
from benchtui.session.view import Suspect, Suspects

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build

#: What is less likely is not listed, and of the rest so many at most.
_LEAST, _MOST = 0.01, 8

#: Outcomes of the next reading that are told, and faults of each.
_OUTCOMES, _FAULTS = 4, 3

#: Suspects that are told beside a verdict.
_BESIDE = 2


@dataclass(frozen=True)
class Evidence:
    """What a stage has read since it was last powered or mended, and what the completed stages read."""

    stage: str
    mains_v: float | None
    readings: tuple[tuple[str, float], ...]
    earlier: tuple[StageRead, ...]


def suspects_key(of: Evidence) -> Key:
    """What the suspects for this evidence are kept under."""
    return ("suspects", of)


def known(diagnoses: Forecasts, of: Evidence | None) -> Suspects:
    """What is known for some evidence: that it is being worked out, if nothing else."""
    if of is None:
        return Suspects()
    words = table("words")["suspects"]
    if diagnoses.failure(suspects_key(of)):
        return Suspects(trouble=words["failed"])
    return diagnoses.suspects(suspects_key(of)) or Suspects(trouble=words["computing"])


def evidence(bench: Bench) -> Evidence | None:
    """What there is to be explained now; None where every reading is as it should be."""
    reads = bench.notebook.fresh.values()
    if not any(isinstance(read, e.PointWarned | e.PointStopped) for read in reads):
        return None
    known = {id for id, point in bench.build.point.items() if bench.phase.stage in point.stages}
    readings = tuple(sorted(
        (read.point, read.value) for read in reads
        if read.point in known and (isfinite(read.value) or bench.build.point[read.point].quantity == "resistance")
    ))  # fmt: skip
    if not readings:
        return None
    stage = bench.phase.stage
    return Evidence(stage, bench.notebook.mains_v, readings, bench.earlier.before(stage))


def ahead(bench: Bench) -> Evidence | None:
    """What is worth working out before anything is off, so that it takes no time then: a stage with the power on."""
    if bench.state.mode is not Mode.POWERED or not bench.forecasts.settled(bench.wanted):
        return None
    return Evidence(bench.phase.stage, None, (), bench.earlier.before(bench.phase.stage))


def diagnosed(build: Build, of: Evidence) -> Suspects:
    """What the diagnosis says, in words; seconds for the first readings of a stage, then at once."""
    from benchtui.diagnosis.answer import considering, ranked
    from benchtui.diagnosis.further import next_reading
    from benchtui.forecast.given import Given, StageReadings

    earlier = {each.stage: StageReadings(each.mains_v, dict(each.readings)) for each in of.earlier}
    given = Given(of.stage, of.mains_v, dict(of.readings), earlier)
    considered = considering(build, given, fuses_seen=False)
    likely = [each for each in ranked(*considered) if each.probability >= _LEAST][:_MOST]
    suspects = tuple(Suspect(each.probability, clean(each.says), tuple(map(clean, each.evidence))) for each in likely)
    further = next_reading(*considered)
    if further is None:
        return Suspects(suspects)
    words = [
        f"{outcome.reads}: {', '.join(filter(None, (part or kind for kind, part, _ in outcome.means[:_FAULTS])))}"
        for outcome in further.outcomes[:_OUTCOMES]
    ]
    return Suspects(suspects, clean(further.candidate.says), tuple(map(clean, words)))


def beside(found: Suspects) -> tuple[str, ...]:
    """The likeliest suspects and the next reading, as lines beside a verdict."""
    if found.trouble:
        return (found.trouble,)
    lines = [f"{100.0 * each.share:.0f} %: {each.says}" for each in found.likely[:_BESIDE]]
    return (*lines, f"Next: {found.next}.") if found.next else tuple(lines)
