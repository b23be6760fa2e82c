"""What a session asks of a forecast, and the real one, which is imported only when it is asked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Protocol

from benchtui.session.earlier import StageRead
from benchtui.verdicts.beside import Beside
from benchtui.verdicts.expectation import Expectation
from benchtui.verdicts.related import Related

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.diagnosis.retest import Retest
    from benchtui.forecast.chart import Chart
    from benchtui.forecast.inspection import Inspection
    from benchtui.forecast.results import Course, Finding, GateForecast, TrimTarget
    from benchtui.forecast.signal import Setting
    from benchtui.rehearsal.asked import Asked
    from benchtui.session.hearing import Asked as Capture
    from benchtui.session.hearing import Heard
    from benchtui.session.suspects import Evidence
    from benchtui.session.view import Figure, Suspects
    from benchtui.wiring.wires import Wire

#: A window that is not under this share of what it is without earlier readings stays what it is.
_NARROWER = 0.95


@dataclass(frozen=True)
class GateFacts:
    """What gates and closings of a stage go by, the point that reads its HT, and the two nodes that the clip joins.

    None where it has none.
    """

    gate: GateForecast
    ht: str | None
    clip: tuple[str, str] | None = None


@dataclass(frozen=True)
class StageFacts:
    """Expectations by point, the course of the watched point, and sentences about points that were left out.

    `looks`: watts of a lamp as a limiter = how a sound stage leaves it, "dark", "dim" or "bright". `chart`: the ohms of
    every pin in the stage's hands-in work; `inspection`: the readings that show its wiring slips. `beside`: what points
    of two channels read beside each other. `settings`: how the bench is set for each signal point; `related`: what of
    them is held against an earlier one.
    """

    expectations: Mapping[str, Expectation]
    course: Course | None = None
    left_out: tuple[str, ...] = ()
    looks: Mapping[float, str] = field(default_factory=dict)
    chart: Chart | None = None
    inspection: Inspection | None = None
    beside: tuple[Beside, ...] = ()
    settings: Mapping[str, Setting] = field(default_factory=dict)
    related: tuple[Related, ...] = ()


class Forecaster(Protocol):
    """The forecasts of one build. Each call may take seconds and touches nothing.

    `earlier`: what other stages read narrows windows; `prepare` solves those stages, so that this takes no time later.
    `linked`: hands are in a chassis that never met mains, with links and no clip. `after` had power last.
    `whole`: `what` ("cold", "stage", "limited") of the whole amplifier in a repair; `retest`: what is read again there
    once `parts` were replaced. `figure`: a page of ratings or a plot (figured.py).
    """

    def gate(self, build: Build, stage: str) -> GateFacts: ...

    def cold(self, build: Build, stage: str, linked: bool, after: str | None) -> StageFacts: ...

    def stage(self, build: Build, stage: str, mains_v: float | None, earlier: tuple[StageRead, ...]) -> StageFacts: ...

    def prepare(self, build: Build, earlier: tuple[StageRead, ...]) -> None: ...

    def limited(self, build: Build, stage: str) -> StageFacts: ...

    def trim(self, build: Build, stage: str, adjustment: str, ht_v: float, mains_v: float) -> TrimTarget: ...

    def review(self, build: Build) -> tuple[Finding, ...]: ...

    def wires(self, build: Build) -> tuple[Wire, ...]: ...

    def suspects(self, build: Build, evidence: Evidence) -> Suspects: ...

    def whole(self, build: Build, what: str, *arguments: object) -> StageFacts: ...

    def retest(self, build: Build, parts: tuple[str, ...]) -> Retest: ...

    def figure(self, build: Build, what: str, *arguments: object) -> Figure: ...


class Simulator(Protocol):
    """The simulated amplifier of a rehearsal of one build. A call may take seconds and touches nothing."""

    def rehearsed(self, build: Build, asked: Asked) -> Any: ...


class Listener(Protocol):
    """What reads and analyses captured signals. A call may take seconds, and writes nothing but a recording."""

    def heard(self, build: Build, asked: Capture) -> Heard: ...


class RealForecaster:
    """The forecasts of `benchtui.forecast`; numpy comes in with the first call, in the worker that makes it."""

    def gate(self, build: Build, stage: str) -> GateFacts:
        from benchtui.buildfile.stages import stages
        from benchtui.forecast.clip import clip_ends
        from benchtui.forecast.gate import gate_forecast
        from benchtui.forecast.trim import ht_point

        powered = any(info.id == stage and info.kind == "power" for info in stages(build))
        ht = ht_point(build, stage) if powered else None
        return GateFacts(gate_forecast(build, stage), ht, clip_ends(build, stage))

    def cold(self, build: Build, stage: str, linked: bool, after: str | None) -> StageFacts:
        from benchtui.buildfile.stages import stages
        from benchtui.forecast.chart import chart
        from benchtui.forecast.clip import clips_on
        from benchtui.forecast.inspection import expect_chosen, inspection
        from benchtui.forecast.ohms import expect_ohms

        clips = clips_on(build, stage, linked=linked, after=after)
        told = expect_ohms(build, stage, clips=clips)
        if any(info.id == stage and info.kind == "bench" for info in stages(build)):
            return StageFacts({e.point: e for e in told})
        found = inspection(build, stage)
        told += expect_chosen(build, stage, found.further, clips)
        return StageFacts({e.point: e for e in told}, chart=chart(build, stage, clips), inspection=found)

    def stage(self, build: Build, stage: str, mains_v: float | None, earlier: tuple[StageRead, ...]) -> StageFacts:
        from benchtui.forecast.course import first_minute
        from benchtui.forecast.expect import expect_powered
        from benchtui.forecast.given import StageReadings
        from benchtui.forecast.signal import expect_signal

        plain = expect_powered(build, stage, mains_v=mains_v)
        told: Iterable[Expectation] = plain.expectations
        if earlier:
            by = {each.stage: StageReadings(each.mains_v, dict(each.readings)) for each in earlier}
            found = expect_powered(build, stage, mains_v=mains_v, earlier=by)
            told = _narrowed(build, found.expectations, plain.expectations, earlier)
        course = None if mains_v is None else first_minute(build, stage, mains_v=mains_v)
        signal = expect_signal(build, stage, mains_v=mains_v)
        return StageFacts(
            {e.point: e for e in (*told, *signal.expectations)}, course, (*plain.left_out, *signal.left_out),
            beside=plain.beside, settings=signal.settings, related=signal.related,
        )  # fmt: skip

    def prepare(self, build: Build, earlier: tuple[StageRead, ...]) -> None:
        from benchtui.forecast.expect import expect_powered

        for each in earlier:
            expect_powered(build, each.stage, mains_v=each.mains_v)

    def limited(self, build: Build, stage: str) -> StageFacts:
        from benchtui.forecast.limited import lamp_looks, limited_limits

        found = limited_limits(build, stage)
        return StageFacts({e.point: e for e in found.expectations}, None, found.left_out, lamp_looks(build, stage))

    def trim(self, build: Build, stage: str, adjustment: str, ht_v: float, mains_v: float) -> TrimTarget:
        from benchtui.forecast.trim import trim_target

        return trim_target(build, stage, adjustment, ht_v=ht_v, mains_v=mains_v)

    def review(self, build: Build) -> tuple[Finding, ...]:
        from benchtui.session.reviewing import whole_review

        return whole_review(build)

    def wires(self, build: Build) -> tuple[Wire, ...]:
        from benchtui.forecast.conductors import conductors
        from benchtui.wiring.wires import wires

        return wires(build, conductors(build))

    def suspects(self, build: Build, evidence: Evidence) -> Suspects:
        from benchtui.session.suspects import diagnosed

        return diagnosed(build, evidence)

    def whole(self, build: Build, what: str, *arguments: object) -> StageFacts:
        from benchtui.buildfile.whole import whole

        return getattr(self, what)(whole(build), *arguments)

    def retest(self, build: Build, parts: tuple[str, ...]) -> Retest:
        from benchtui.buildfile.whole import last_powered, whole
        from benchtui.diagnosis.retest import retest

        last = last_powered(build)
        if last is None:
            raise ValueError("nothing of this build has power")
        return retest(whole(build), last.id, parts)

    def heard(self, build: Build, asked: Capture) -> Heard:
        """The figures of a capture."""
        from benchtui.session.hearing import heard

        return heard(asked)

    def figure(self, build: Build, what: str, *arguments: object) -> Figure:
        from benchtui.session.figured import figured

        return figured(build, what, *arguments)

    def rehearsed(self, build: Build, asked: Asked) -> Any:
        """What the simulated amplifier of a rehearsal answers."""
        from benchtui.rehearsal.answering import answer

        return answer(build, asked)


def _narrowed(
    build: Build, found: Sequence[Expectation], plain: Sequence[Expectation], earlier: tuple[StageRead, ...]
) -> Iterator[Expectation]:
    """The `plain` expectations with the windows that `found` has by earlier readings, and a sentence that says so.

    Earlier readings may take a pass away and never give one: a window lies within the plain one, limits stay. Where
    what they foretell is itself outside the plain window, nothing is narrowed.
    """
    from benchtui.buildfile.stages import stages

    titles = {info.id: info.title for info in stages(build)}
    by = f"Narrowed by what was read before: {', '.join(titles[each.stage] for each in earlier)}."
    for here, there in zip(found, plain, strict=True):
        low, high = max(here.low, there.low), min(here.high, there.high)
        foretold = (here.low + here.high) / 2.0
        narrower = high - low < _NARROWER * (there.high - there.low) and low < foretold < high
        nominal = there.nominal if low <= there.nominal <= high else foretold
        why = (by, *here.why)
        by_file = there.plain
        yield replace(there, low=low, high=high, nominal=nominal, by_file=by_file, why=why) if narrower else there
