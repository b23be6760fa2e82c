"""What a session knows at a moment, gathered for those who word it: build, plan, state, question, forecasts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import inf, isfinite, nan
from typing import TYPE_CHECKING

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.forecast.results import Course, TrimTarget
from benchtui.procedure import events as e
from benchtui.procedure.ask import Ask
from benchtui.procedure.guards import due_links
from benchtui.procedure.plan import Phase, Plan, Point, Reservoir, Work
from benchtui.procedure.state import Mode, State
from benchtui.session.drift import drifting, running_away
from benchtui.session.earlier import Earlier
from benchtui.session.forecaster import StageFacts
from benchtui.session.forecasts import (
    Forecasts,
    Key,
    cold_key,
    cold_stage,
    limited_key,
    stage_key,
    unknown,
    wanted_for,
    watched,
)
from benchtui.session.notebook import Notebook
from benchtui.session.planning import point as plan_point
from benchtui.session.tables import table
from benchtui.session.wording import by_instrument
from benchtui.verdicts.beside import narrowed
from benchtui.verdicts.expectation import Expectation
from benchtui.verdicts.related import related

if TYPE_CHECKING:
    from benchtui.forecast.inspection import Chosen


@dataclass(frozen=True)
class Bench:
    """A moment of the session. Everything on it is read only."""

    build: Build
    plan: Plan
    state: State
    ask: Ask
    forecasts: Forecasts
    notebook: Notebook
    earlier: Earlier
    diagnoses: Forecasts
    hears: bool = True
    """Is there a signal that can be captured? Not in a rehearsal."""

    @cached_property
    def phase(self) -> Phase:
        return self.state.at(self.plan)

    @cached_property
    def due(self) -> Work:
        """The steps and points that are due in the present phase and mode."""
        return self.state.due(self.plan)

    @property
    def prompt(self) -> str:
        """The table of the present question in prompts.toml."""
        if self.ask.kind == "told":
            return f"told {self.ask.subject}"
        if self.ask.kind == "point" and self.test:
            return "signal"
        if self.ask.kind in ("settle", "soak") and not self.ask.subject:
            return f"{self.ask.kind} blind"
        if self.ask.kind == "step" and self.printed:
            return "printed"
        if self.ask.kind == "cover" and self.phase.soak:
            return "last screw"
        return "done shut" if self.ask.kind == "done" and self.notebook.shut else self.ask.kind

    @property
    def printed(self) -> bool:
        """Is the step asked for now answered by what is printed on a part?"""
        return any(step.printed for step in self.due.steps if step.id == self.ask.subject)

    @property
    def infers_mains(self) -> bool:
        """Is mains worked out from an earthed heater winding, and can it be in this stage?"""
        mains = self.build.mains
        if mains.read_at != "heater winding" or mains.read_point is None:
            return False
        return self.phase.stage in self.build.point[mains.read_point].stages

    @property
    def secured(self) -> str:
        """What is between hands and a charge, by its key in words.toml: "clip", "both", "links" or "nothing"."""
        linked = bool(due_links(self.plan, self.state))
        if self.state.mains != "never":
            return "both" if linked else "clip"
        return "links" if linked else "nothing"

    @property
    def wanted(self) -> Key | None:
        """The forecast that the present question waits for."""
        return wanted_for(self.plan, self.state, self.ask, self.earlier, infers_mains=self.infers_mains)

    @property
    def facts(self) -> StageFacts | None:
        """Expectations of the present phase: cold, or for mains as read if power is on."""
        if self.state.mode is not Mode.POWERED:
            stage = cold_stage(self.plan, self.state, self.ask.subject)
            return self.forecasts.facts(cold_key(self.plan, self.state, stage))
        return self.forecasts.facts(self.stage_key(self.state.mains_v))

    def stage_key(self, mains_v: float | None) -> Key:
        """What the readings of the present stage at such mains are kept under."""
        return stage_key(self.plan, self.state, self.phase.stage, mains_v, self.earlier)

    @property
    def limited(self) -> StageFacts | None:
        """What the present stage shows under the limiter."""
        return self.forecasts.facts(limited_key(self.plan, self.state, self.phase.stage))

    @property
    def course(self) -> Course | None:
        return self.facts.course if self.facts else None

    def looks(self, limiter: str) -> str:
        """How a sound stage leaves the lamp called `limiter`: dark, dim or bright; "" where nobody knows."""
        facts = self.limited
        named = {lamp_name(watts): look for watts, look in facts.looks.items()} if facts else {}
        return named.get(limiter, "")

    @property
    def shows_mains(self) -> bool:
        """Does a reading under the limiter show that the mains is there: is the least of any of them known?"""
        facts = self.limited
        known = [facts.expectations[id] for id in self.phase.limited if id in facts.expectations] if facts else []
        return any(isfinite(by.low) or isfinite(by.high) for by in known)

    @property
    def unmeasured(self) -> tuple[str, ...]:
        """What is open for want of an instrument, a line an instrument."""
        open_ = [(id, instrument) for id, instrument in self.notebook.unproved().items() if id in self.state.unproved]
        return by_instrument((instrument, point.name if (point := self.point(id)) else id) for id, instrument in open_)

    @property
    def accepted(self) -> tuple[str, ...]:
        """Where the builder went on from a warn, each with the reason."""
        return tuple(
            f"{point.name if (point := self.point(id)) else id}: {entry.reason}"
            for entries in self.notebook.stages.values()
            for id, entry in entries.items()
            if entry.reason
        )

    @property
    def fitted_since(self) -> tuple[str, ...]:
        """Valves and feedback leads of later stages that the work was in before it came back to this one.

        The readings of this stage are without them.
        """
        later = {info.id for info in stages(self.build)} & self.notebook.reached - set(self._passed_or_present())
        said = table("words")["fitted_since"]
        valves = [id for id, valve in self.build.valve.items() if valve.stage in later]
        leads = [id for id, link in self.build.link.items() if link.feedback and link.stage in later]
        return tuple(
            said[kind].format(ids=", ".join(ids)) for kind, ids in (("valves", valves), ("leads", leads)) if ids
        )

    def _passed_or_present(self) -> list[str]:
        return [phase.stage for phase in self.plan.phases[: self.state.phase + 1]]

    def point(self, id: str) -> Point | None:
        """The point called `id`, also where another stage reads it, or one that is computed for this stage."""
        entry = self.build.point.get(id)
        if entry is not None:
            return plan_point(self.build, id, entry)
        return next((point for point in self.due.points if point.id == id), None)

    @property
    def chosen(self) -> Chosen | None:
        """What was computed of the point asked for now, where the build file has no such point."""
        found = self.facts.inspection.further if self.facts and self.facts.inspection else ()
        return next((each for each in found if each.reading.id == self.ask.subject), None)

    @property
    def pin(self) -> str | None:
        """The pin of a socket that the point asked for now is at, such as "V2.8"; None where it is at none."""
        entry = self.build.point.get(self.ask.subject)
        if entry is not None:
            return entry.socket
        reading = self.chosen.reading if self.chosen else None
        probes = (reading.red, reading.black) if reading else ()
        return next((str(probe.pin) for probe in probes if probe.pin is not None), None)

    def reservoir(self, id: str) -> Reservoir | None:
        return next((r for r in self.phase.reservoirs if r.id == id), None)

    def capacitor(self, id: str) -> Reservoir | None:
        """The capacitor called `id` that a step of this phase fits."""
        return next((c for step in self.due.steps for c in step.capacitors if c.id == id), None)

    def expectation(self) -> Expectation | None:
        """What the reading asked for now is judged by; None where the question is no reading of a point."""
        kind, point = self.ask.kind, self.point(self.ask.subject)
        if kind == "ohms" and (ohms := self.phase.ohms) is not None:
            return Expectation("", "resistance", "ohm", ohms.nominal, ohms.low, ohms.high)
        if kind == "trim":
            trim = next((t for t in self.phase.trims if t.id == self.ask.subject), None)
            point = self.point(trim.point) if trim else None
        if point is None:
            return None
        if kind == "soak":
            of = running_away(self, _of(self.facts, point))
            return replace(watched(self.facts, point.id, point.quantity, point.unit), stop_high=of.stop_high)
        if kind == "settle":
            return watched(self.facts, point.id, point.quantity, point.unit)
        if kind == "limited point":
            return _of(self.limited, point)
        if kind == "exchanged":
            return replace(_of(self.facts, point), nominal=nan, low=-inf, high=inf)
        if kind not in ("point", "warned", "trim"):
            return None
        if kind == "trim":
            return _of(self.facts, point)
        return drifting(self, self._beside_others(_of(self.facts, point)))

    def _beside_others(self, of: Expectation) -> Expectation:
        """The expectation by what was read before: other channels where they were sound, the same one's signal."""
        pairs = self.facts.beside if self.facts else ()
        fresh = self.notebook.fresh
        sound = {p.other: fresh[p.other].value for p in pairs if isinstance(fresh.get(p.other), e.PointPassed)}
        relations = self.facts.related if self.facts else ()
        return related(narrowed(of, pairs, sound), relations, self.notebook.values)

    @property
    def test(self) -> str:
        """What kind of signal test is asked for now; "" where none is."""
        point = self.point(self.ask.subject)
        return point.test if point else ""

    @property
    def proves(self) -> bool:
        """Does a good reading of the point asked for now prove anything, or is its instrument not owned?"""
        point = self.point(self.ask.subject)
        return point is None or not point.lacks

    def target(self) -> TrimTarget | None:
        """The target of the pot asked for now, for the HT of this pass."""
        return self.forecasts.trim(self.wanted) if self.ask.kind == "trim" and self.wanted else None


def lamp_name(watts: float) -> str:
    """What a lamp of these watts is called at the prompts."""
    return f"{watts:.0f} W lamp"


def _of(facts: StageFacts | None, point: Point) -> Expectation:
    found = facts.expectations.get(point.id) if facts else None
    return found if found is not None else unknown(point.id, point.quantity, point.unit, point.guards)
