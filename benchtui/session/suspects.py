"""What may be wrong when a reading is off: asked of the diagnosis and worded for the bench."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite
from typing import TYPE_CHECKING, Any

from benchtui.buildfile.whole import whole
from benchtui.forecast.signal_points import signal_points
from benchtui.procedure import events as e
from benchtui.procedure.state import Mode
from benchtui.quantities.clean import clean
from benchtui.session.bench import Bench
from benchtui.session.earlier import StageRead
from benchtui.session.forecasts import Forecasts, Key
from benchtui.session.places import place
from benchtui.session.tables import table
from benchtui.session.view import Further, Suspect, Suspects

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.diagnosis.further import Next

#: What is less likely is not listed, and of the rest so many at most.
_LEAST, _MOST = 0.01, 8

#: Tests whose readings are weighed.
SMALL = ("open", "tried", "closed", "at", "second load")

#: What is no part of any circuit that faults are computed in: the diagnosis has nothing to say of it.
NO_CIRCUIT = ("bond", "insulation")

#: Outcomes of the next reading that are told, and faults of each.
_OUTCOMES, _FAULTS = 4, 3

#: Suspects that are told beside a verdict.
_BESIDE = 2


@dataclass(frozen=True)
class Evidence:
    """What a stage has read since it was last powered or mended, and what the completed stages read.

    In a `repair` or a check-up it is the whole amplifier, which has worked; `blown` are the fuses found so (None:
    nobody looked, or they are in again).
    """

    stage: str
    mains_v: float | None
    readings: tuple[tuple[str, float], ...]
    earlier: tuple[StageRead, ...]
    twice: tuple[str, ...] = ()
    ohms: tuple[tuple[str, float], ...] = ()
    """Further readings without power, by their place."""

    exchanged: tuple[tuple[str, str, float], ...] = ()
    """Readings in volts after an exchange: what was exchanged, the point, the volts."""

    signal: tuple[tuple[str, float], ...] = ()
    """Volts at signal points of the stage, those of a small signal."""

    repair: bool = False
    blown: tuple[str, ...] | None = None
    symptoms: tuple[str, ...] = ()

    thorough: bool = False
    """Two faults at once and exchanges are thought of as well, which takes seconds."""


def suspects_keys(of: Evidence) -> tuple[Key, ...]:
    """What the suspects for this evidence are kept under: as soon as may be, and thoroughly."""
    return ("suspects", of), ("suspects", replace(of, thorough=True))


def known(diagnoses: Forecasts, of: Evidence | None) -> Suspects:
    """What is known for some evidence: that it is being worked out, if nothing else."""
    if of is None:
        return Suspects()
    soon, thorough = suspects_keys(of)
    words = table("words")["suspects"]
    if diagnoses.failure(soon):
        return Suspects(trouble=words["failed"])
    return diagnoses.suspects(thorough) or diagnoses.suspects(soon) or Suspects(trouble=words["computing"])


def suspects_due(bench: Bench) -> tuple[list[Key], list[Key]]:
    """What of the suspects is to be computed: at once, of readings that are off; and when there is time, ahead."""
    found = evidence(bench)
    of = found or ahead(bench)
    if of is None:
        return [], []
    soon, thorough = suspects_keys(of)
    if found is None:
        return [], [soon]
    return [soon] if bench.diagnoses.failure(soon) else [soon, thorough], []


def evidence(bench: Bench) -> Evidence | None:
    """What there is to be explained now; None where every reading is as it should be."""
    reads = bench.notebook.fresh.values()
    story = _story(bench)
    build = whole(bench.build) if bench.state.returned else bench.build
    known = {
        id for id, point in build.point.items()
        if bench.phase.stage in point.stages and point.guards not in NO_CIRCUIT
    }  # fmt: skip
    small = {point.id for point in signal_points(build, bench.phase.stage) if point.what in SMALL}
    signal = tuple(sorted((read.point, read.value) for read in reads if read.point in small and isfinite(read.value)))
    off = {read.point for read in reads if isinstance(read, e.PointWarned | e.PointStopped)}
    if not off & (known | dict(signal).keys()) and not any(story.values()):
        return None
    readings = tuple(sorted(
        (read.point, read.value) for read in reads
        if read.point in known and (isfinite(read.value) or bench.build.point[read.point].quantity == "resistance")
    ))  # fmt: skip
    if not readings and not signal and not any(story.values()):
        return None
    stage, notebook = bench.phase.stage, bench.notebook
    ohms = tuple(sorted((place, ohm) for (state, place), ohm in notebook.further.items() if state == stage))
    twice, earlier = tuple(sorted(notebook.twice)), bench.earlier.before(stage)
    exchanged = tuple(sorted((exchange, point, value) for (exchange, point), value in notebook.exchanged.items()))
    mains_v = notebook.mains_v if notebook.fuses_in or not bench.state.repair else None
    return Evidence(
        stage, mains_v, readings, earlier, twice, ohms, exchanged, signal, repair=bench.state.returned, **story
    )


def suspected(bench: Bench) -> Suspects:
    """What is known now of what may be the matter."""
    return known(bench.diagnoses, evidence(bench))


def _story(bench: Bench) -> dict[str, Any]:
    """What was told at the beginning of a repair, as evidence."""
    told = bench.notebook.story if bench.state.repair else {}
    fuse = told.get("fuse")
    looked = fuse is not None and fuse.text and not bench.notebook.fuses_in
    symptoms = tuple(id for question in ("look", "symptoms") if question in told for id in told[question].ids)
    return {"blown": fuse.ids if looked and fuse else None, "symptoms": symptoms}


def ahead(bench: Bench) -> Evidence | None:
    """What is worth working out before anything is off, so that it takes no time then: a stage with the power on."""
    if bench.state.mode is not Mode.POWERED or not bench.forecasts.settled(bench.wanted):
        return None
    return Evidence(bench.phase.stage, None, (), bench.earlier.before(bench.phase.stage), repair=bench.state.returned)


def diagnosed(build: Build, of: Evidence) -> Suspects:
    """What the diagnosis says, in words; seconds for the first readings of a stage, then at once."""
    from benchtui.diagnosis.answer import considering, ranked
    from benchtui.diagnosis.candidates import exchanged_state
    from benchtui.diagnosis.further import next_reading
    from benchtui.diagnosis.with_signal import weigh_signal
    from benchtui.forecast.given import Further as Made
    from benchtui.forecast.given import Given, StageReadings

    earlier = {each.stage: StageReadings(each.mains_v, dict(each.readings)) for each in of.earlier}
    readings = dict(of.readings)
    again = [Made("again", of.stage, point, readings[point]) for point in of.twice if point in readings]
    ohms = [Made("ohms", of.stage, place, ohm) for place, ohm in of.ohms]
    exchanged = [Made("exchange", exchanged_state(of.stage, by), point, value) for by, point, value in of.exchanged]
    blown, further = frozenset(of.blown or ()), (*again, *ohms, *exchanged)
    given = Given(of.stage, of.mains_v, readings, earlier, blown, further, of.symptoms, worked=of.repair)
    seen = of.blown is not None
    table, told, weighed = considering(
        whole(build) if of.repair else build, given, fuses_seen=seen, thorough=of.thorough
    )
    considered = table, told, weigh_signal(table, weighed, of.mains_v, dict(of.signal))
    likely = [each for each in ranked(*considered) if each.probability >= _LEAST][:_MOST]
    suspects = tuple(Suspect(each.probability, clean(each.says), tuple(map(clean, each.evidence))) for each in likely)
    further = next_reading(*considered, with_exchanges=of.thorough)
    return Suspects(suspects, None if further is None else _worded(build, further))


def _worded(build: Build, further: Next) -> Further:
    words = tuple(
        clean(f"{each.reads}: {', '.join(filter(None, (part or kind for kind, part, _ in each.means[:_FAULTS])))}")
        for each in further.outcomes[:_OUTCOMES]
    )
    by = further.candidate
    red, black = place(build, by.red, by.black), place(build, by.black, by.red)
    return Further(by.kind, by.state, by.point, clean(by.says), red, black, words, (by.red, by.black))


def beside(found: Suspects) -> tuple[str, ...]:
    """The likeliest suspects and the next reading, as lines beside a verdict."""
    if found.trouble:
        return (found.trouble,)
    lines = [f"{100.0 * each.share:.0f} %: {each.says}" for each in found.likely[:_BESIDE]]
    return (*lines, f"Next: {found.next.says}.") if found.next else tuple(lines)


def led(bench: Bench) -> str:
    """How the next reading is made at the present question; "" where there is none or it is made elsewhere."""
    further, kind = suspected(bench).next, bench.ask.kind
    words = table("words")["further"]
    if bench.state.exchange:
        key = "on" if bench.state.tried else "read"
        return words[key].format(exchange=bench.state.exchange) if bench.state.mode is Mode.HANDS else ""
    if further is None:
        return ""
    key = further.kind if (bench.state.mode, further.kind) in _MADE_IN else ""
    if key == "live" and not (kind in ("point", "warned") and due_live(bench) and further.point != bench.ask.subject):
        key = ""
    if key == "again" and not (kind == "warned" and further.point == bench.ask.subject):
        key = ""
    return words[key].format(says=further.says, red=further.red, black=further.black) if key else ""


def due_live(bench: Bench) -> str | None:
    """The point that is to be read next with the power on, if it is one of those still due; else None."""
    further = suspected(bench).next
    due = {point.id for point in bench.due.points} - bench.state.read
    return further.point if further is not None and further.kind == "live" and further.point in due else None


#: Where which kind of reading is made.
_MADE_IN = {(Mode.HANDS, "ohms"), (Mode.HANDS, "exchange"), (Mode.POWERED, "live"), (Mode.POWERED, "again")}
