"""A session on a demo build with made-up forecasts, a clock moved by hand, and a builder who types what is asked."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from benchtui.buildfile.models import Build
from benchtui.buildfile.whole import last_powered, whole
from benchtui.diagnosis.retest import Retest
from benchtui.forecast.results import BleedAdvice, Course, Finding, GateForecast, Reservoir, TrimTarget
from benchtui.forecast.signal_points import signal_points
from benchtui.session.earlier import StageRead
from benchtui.session.forecaster import GateFacts, RealForecaster, StageFacts
from benchtui.session.fuse_cap import marking
from benchtui.session.opening import open_session
from benchtui.session.session import Session
from benchtui.session.suspects import Evidence
from benchtui.session.view import Figure, Further, Suspect, Suspects, View
from benchtui.verdicts.beside import Beside
from benchtui.verdicts.expectation import Expectation, Limit
from benchtui.wiring.wires import Wire
from tests.walk.builder import LISTED, all_on
from tests.walk.clock import StillClock

BUILDS = Path(__file__).parents[2] / "builds"


class MadeUp:
    """Every point reads 100, healthy from 90 to 110, stop above 150; one reservoir, C2, and HT from the supply on."""

    def __init__(self) -> None:
        self.asked: list[tuple[object, ...]] = []
        self.fails: set[str] = set()
        self.findings: tuple[Finding, ...] = ()
        self.beside: tuple[Beside, ...] = ()
        self.further: Further | None = None
        """What is to be read next where something is off; by default ohms in the stage asked about."""

    def gate(self, build: Build, stage: str) -> GateFacts:
        self._note("gate", stage)
        with_ht = stage not in ("mains", "heaters", "bias", "grids")
        id = next(iter(build.capacitor))
        bleed = BleedAdvice(2200.0, 0.2, 80.0, 3.0, (id,), ("C2 drains through the bleed lead",))
        red = build.capacitor[id].nodes[0]
        reservoirs = (Reservoir(id, (id,), red, "0", 47e-6, 400.0, 20.0, 4.0, True, bleed),) if with_ht else ()
        ohms = (red if with_ht else None, 45e3, 50e3, 55e3, 2100.0)
        ht = next((name for name, p in build.point.items() if stage in p.stages and p.quantity == "dc"), None)
        rails = ((id, red),) if with_ht else ()
        return GateFacts(GateForecast(stage, reservoirs, rails, *ohms, ()), ht if with_ht else None, (red, "0"))

    def cold(self, build: Build, stage: str, linked: bool, after: str | None) -> StageFacts:
        self._note("cold", stage)
        return StageFacts(self._points(build, stage))

    def stage(self, build: Build, stage: str, mains_v: float | None, earlier: tuple[StageRead, ...]) -> StageFacts:
        self._note("stage", stage, mains_v, earlier)
        watch = build.stage[stage].watch if stage in build.stage else None
        course = Course(watch, (0.0, 30.0, 60.0), (0.0, 120.0, 100.0), 120.0, 130.0, "made up") if watch else None
        return StageFacts(self._points(build, stage), course, beside=self.beside)

    def prepare(self, build: Build, earlier: tuple[StageRead, ...]) -> None:
        self._note("prepare", earlier)

    def limited(self, build: Build, stage: str) -> StageFacts:
        self._note("limited", stage)
        looks = {watts: "dark" if stage == "mains" else "dim" for watts in build.bench.lamps}
        return StageFacts(self._points(build, stage), looks=looks)

    def trim(self, build: Build, stage: str, adjustment: str, ht_v: float, mains_v: float) -> TrimTarget:
        self._note("trim", stage, adjustment, ht_v)
        wanted = build.adjust[adjustment]
        return TrimTarget(wanted.pot, wanted.point, 100.0, 98.0, 102.0, "clockwise", "made up")

    def review(self, build: Build) -> tuple[Finding, ...]:
        self._note("review")
        return self.findings

    def wires(self, build: Build) -> tuple[Wire, ...]:
        """Without sizes: nothing here is about them."""
        return ()

    def suspects(self, build: Build, evidence: Evidence) -> Suspects:
        self._note("suspects", evidence)
        likely = (Suspect(0.7, "R11 is open", ("explains 88 V",)), Suspect(0.2, "V2 is weak"))
        words = "Without power, ohms across R11"
        ohms = Further("ohms", evidence.stage, "R11", words, "R11 at V2", "chassis", ("open: R11", "470 ohm: V2"))
        return Suspects(likely, self.further or ohms)

    def figure(self, build: Build, what: str, *arguments: object) -> Figure:
        self._note("figure", what, *arguments)
        return Figure((f"made up: {what}",), least="Least margin: C1 volts, 12 %." if what == "ratings" else "")

    def whole(self, build: Build, what: str, *arguments: object) -> StageFacts:
        return getattr(self, what)(whole(build), *arguments)

    def retest(self, build: Build, parts: tuple[str, ...]) -> Retest:
        """One point in ohms and one in volts are read again, all others are left out."""
        self._note("retest", parts)
        last = last_powered(build)
        here = {id: p for id, p in whole(build).point.items() if last and last.id in p.stages}
        volts = tuple(id for id, point in here.items() if point.quantity != "resistance")
        return Retest(("v2_grid_ohm",), volts[:1], volts[1:])

    def _note(self, *what: object) -> None:
        self.asked.append(what)
        if what[0] in self.fails:
            raise ArithmeticError("made to fail")

    def _points(self, build: Build, stage: str) -> dict[str, Expectation]:
        return self._of_file(build, stage) | {
            point.id: Expectation(point.id, "test", point.unit, 100.0 * one, 90.0 * one, 110.0 * one, why=("made up",))
            for point in signal_points(build, stage)
            for one in [0.01 if point.unit == "%" else 1.0]
        }

    def _of_file(self, build: Build, stage: str) -> dict[str, Expectation]:
        return {
            name: Expectation(
                name,
                point.quantity,
                "ohm" if point.quantity == "resistance" else "V",
                100.0,
                90.0,
                110.0,
                None,
                Limit(150.0, "more than the part stands"),
                ("made up",),
                point.guards,
            )  # fmt: skip
            for name, point in build.point.items()
            if stage in point.stages
        }


#: What a builder with sound parts types, by the title of the prompt; words come from the prompt itself.
TYPED = {
    "Prove the meter on DC": "9.1", "Prove the meter on AC": "12.2", "Prove the meter again, DC": "9.1",
    "Prove the meter again, AC": "12.2", "HT has fallen to?": "4.0", "Read the mains side dead": "0.1",
    "HT before power-down": "100", "HT now": "100", "Mains now": "230", "HT+ to chassis": "50k",
    "Did this chassis ever meet mains?": "met", "What was it?": "a whisker of solder",
    "Which fuse blew?": "none", "How does the fuse look?": "skip", "Smell, smoke, heat?": "skip",
    "What happened just before?": "skip", "What does it do?": "skip", "What is read again": "all",
    "How warm is the room?": "22", "The mains winding, cold": "100", "The mains winding as it cools": "114",
}  # fmt: skip


@dataclass
class Desk:
    """A session, its clock and its forecasts, and hands that type."""

    path: Path
    folder: Path
    clock: StillClock = field(default_factory=StillClock)
    forecaster: MadeUp = field(default_factory=MadeUp)
    session: Session = field(init=False)

    def __post_init__(self) -> None:
        self.open()

    def open(self) -> View:
        self.session = open_session(
            self.path, record_folder=self.folder, clock=self.clock, forecaster=self.forecaster,
            listener=RealForecaster(),
        )  # fmt: skip
        return self.session.view()

    @property
    def record(self) -> Path:
        return self.folder / f"{self.path.stem}.bench"

    def drop(self) -> None:
        """As if the program were killed: nothing is said, the lock goes."""
        self.session._journal.close()

    def compute(self) -> bool:
        """Run every forecast that is wanted now; was there any?"""
        any_ = False
        while (job := self.session.pending_forecast()) is not None:
            any_ = True
            try:
                result = job()
            except ArithmeticError as error:
                self.session.forecast_failed(str(error))
            else:
                self.session.take_forecast(result)
        while (capture := self.session.pending_capture()) is not None:
            any_ = True
            self.session.take_capture(capture())
        while (look := self.session.pending_diagnosis()) is not None:
            any_ = True
            self.session.take_diagnosis(look())
        return any_

    def type(self, text: str, **how: bool) -> View:
        """Type `text` at the present prompt."""
        return self.session.answer(self.session._number, text, **how)

    def wait(self, seconds: float) -> View:
        """Let time go by as the app does, in small steps."""
        for _ in range(round(seconds / 5.0)):
            self.clock.pass_(5.0)
            self.session.tick()
        return self.session.view()

    def go(self, until: Callable[[View], bool] = lambda view: False, most: int = 1200) -> Iterator[View]:
        """Do what is asked, prompt by prompt, until `until` holds or all is finished."""
        view = self.session.view()
        for _ in range(most):
            if self.compute():
                view = self.session.view()
            if until(view) or view.prompt.title == "Finished":
                return
            yield view
            view = self.once(view)
        raise AssertionError(f"no end after {most} prompts: {self.session.view().prompt}")

    def once(self, view: View) -> View:
        """Answer one prompt, or wait where there is nothing to answer; what is shown then."""
        prompt = view.prompt
        cooling = prompt.title == "The mains winding as it cools" and prompt.wait_s
        if prompt.entry == "nothing" or cooling or prompt.title.startswith(("Wait", "Watch ", "Soak: ")):
            return self.wait((prompt.wait_s or 0.0) + 5.0)
        if view.step == "gate" and prompt.title.startswith("Round"):
            self.wait(5.0)
        return self.type(self._answer(view))

    def _answer(self, view: View) -> str:
        prompt = view.prompt
        if prompt.title == "Links on":
            return str(len(re.findall(r"\(.+? to .+?\)", prompt.lines[0])))
        if prompt.title == "Clip and links off":
            return re.findall(r"put on: (\d+)", prompt.lines[1])[0]
        if prompt.title == "Clip on":
            return "2100" if "2.10" in " ".join(prompt.lines) else "2200"
        if prompt.title == "First power":
            listed = next(line for line in prompt.lines if line.startswith("Type one: "))
            return listed.removeprefix("Type one: ").rstrip(".").split(", ")[0]
        if prompt.title.startswith(("Round", "Rail at", "rail at", "Before fitting")):
            return "0.3"
        if prompt.title == "What does the limiter show?":
            return "dark" if "sound stage: dark" in prompt.lines[1] else "dim"
        if prompt.title.startswith(LISTED):
            return all_on(self.session.view())
        if prompt.title == "What the fuse says":
            return marking(self.session._build.fuse[prompt.lines[0].partition(",")[0]])
        other = "100" if prompt.entry == "number" else next(iter(prompt.words), "")
        return TYPED.get(prompt.title, other)

    def reach(self, title: str) -> View:
        """Go on until the prompt called `title` is shown."""
        view = self.till(lambda view: view.prompt.title == title)
        assert view.prompt.title == title, view.prompt
        return view

    def till(self, until: Callable[[View], bool]) -> View:
        """Go on until `until` holds or all is finished; what is shown then."""
        for _ in self.go(until):
            pass
        return self.session.view()
