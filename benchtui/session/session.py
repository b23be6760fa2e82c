"""One open build: takes what is typed, and gives the picture of what is so. Every view shows only what is saved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import ceil

from benchtui.buildfile.models import Build
from benchtui.forecast.results import Finding
from benchtui.procedure import events as e
from benchtui.procedure.ask import Ask, ask
from benchtui.procedure.decide import Refusal
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode
from benchtui.quantities.clean import clean
from benchtui.quantities.sentence import sentence
from benchtui.record import Journal, RecordError
from benchtui.session import capture_words, figures, findings, plotting, screen, wording
from benchtui.session.answers import Aside, Said, Taken, meaning, point_read, strict
from benchtui.session.away import tag
from benchtui.session.bench import Bench
from benchtui.session.capturing import CAPTURED, Captures, Line, asked, begun, taken, typed
from benchtui.session.changing import changes
from benchtui.session.charting import chart_page
from benchtui.session.checkup import beside_sign_off
from benchtui.session.clock import Clock, unseen
from benchtui.session.completing import completed
from benchtui.session.fields import fields
from benchtui.session.forecaster import Forecaster, Listener
from benchtui.session.forecasts import REVIEW, Forecasts, Found, wanted
from benchtui.session.greeting import greeting
from benchtui.session.ledger import Ledger
from benchtui.session.planning import plan
from benchtui.session.prompts import helps, prompt
from benchtui.session.replies import hint, reply, with_suspects
from benchtui.session.suspects import suspected, suspects_due
from benchtui.session.tables import table
from benchtui.session.view import Banner, ChartPage, LogLine, PlotPage, View

#: A typed note longer than this is cut with a mark.
_LONGEST_NOTE = 400


class Session:
    """One open build. Every method that takes something typed gives back what is shown now."""

    HEARS = True  # there is a signal that can be captured

    def __init__(
        self, build: Build, journal: Journal, clock: Clock, forecaster: Forecaster, change: e.BuildChanged | None,
        renew: Callable[[], Journal] | None = None, *, copied: bool = False, odd: tuple[str, ...] = (),
        diagnoser: Forecaster, listener: Listener,
    ) -> None:  # fmt: skip
        """`change` of the build file is still to be decided; `renew` begins a new record if `journal` is damaged.

        `copied` says that `build` is the copy in the record, for want of its file; `odd` is what is odd in that file.
        `diagnoser` says what may be wrong, beside `forecaster`, so that no forecast waits for it; `listener` analyses
        captured signals.
        """
        self._copied, self._odd = copied, odd
        self._build, self._journal, self._clock, self._change, self._renew = build, journal, clock, change, renew
        self._forecasts = Forecasts(build, forecaster)
        self._diagnoses = Forecasts(build, diagnoser)
        self._captures = Captures(build, listener)
        self._number, self._asked = 0, Ask("")
        self._first = ""
        self._looked_at: int | None = None
        self._steady, self._awake = clock.steady(), clock.awake_or_not()
        self._banner: Banner | None = None
        self._hint: tuple[str, ...] = ()
        self._begin()

    # -- what is typed

    def answer(self, number: int, text: str, *, pasted: bool = False) -> View:
        """Take a typed line for prompt `number`; one for another prompt is dropped and said."""
        if self._asked.kind == "damaged":
            return self._answer_damage(number, text, typed=not pasted)
        if not self._ledger.taking:
            return self.view()
        self.tick()  # time before an answer belongs to no wait that the answer begins
        if number != self._number:
            return self._refuse(text, "that answer was for an earlier prompt, so it was dropped")
        bench = self._bench()
        line = typed(text) if bench.ask.kind in CAPTURED else None
        if pasted and ((strict(bench) and line is None) or "\n" in text):
            return self._refuse(text, "pasted text is not taken here: read, then type")
        self._number += 1
        if bench.ask.kind == "build changed":
            return self._answer_change(text)
        if line is not None:
            return self._capture(bench, line, text)
        meant = meaning(bench, text)
        if isinstance(meant, Said):
            return self._refuse(text, meant.text, kind=meant.kind)
        if isinstance(meant, Aside):
            self._first, self._banner = meant.point, None
            return self._shown()
        self._captures.drop()
        if pasted:
            meant = replace(meant, notes=(*meant.notes, "pasted, taken as typed"))
        return self._take(bench, meant, text)

    def stop(self) -> View:
        """STOP, from anywhere: on disk first, then the power-off text."""
        self._banner = None
        self._captures.drop()
        self._ledger.stop()
        return self._shown()

    def note(self, text: str) -> View:
        """Keep a note; it changes nothing."""
        if text.strip() and self._ledger.taking:
            kept = self._ledger.act(e.Noted(clean(text.strip(), _LONGEST_NOTE)))
            self._banner = Banner("info", "Noted.") if isinstance(kept, tuple) else None
        return self._shown()

    def touched(self) -> View:
        """The program was stopped and woken: plug or lead may have been touched."""
        self._disturb("the program was stopped and woken")
        return self._shown()

    # -- time and forecasts

    def tick(self) -> bool:
        """Let the steady clock run on; True if what is shown has changed. Call it a few times a second."""
        before = self._shown_time()
        steady, awake = self._clock.steady(), self._clock.awake_or_not()
        passed, slept = steady - self._steady, (awake - self._awake) - (steady - self._steady)
        self._steady, self._awake = steady, awake
        if gap := unseen(passed, slept):
            self._disturb(gap)
        else:
            self._ledger.pass_time(passed)
        self._moved_on()
        return self._shown_time() != before

    def pending_forecast(self) -> Callable[[], object] | None:
        """The next computation of use, for a worker; None if there is none."""
        bench = self._bench(self._question())
        keys = wanted(bench.plan, bench.state, bench.ask, bench.earlier, infers_mains=bench.infers_mains)
        return self._forecasts.job(keys)

    def take_forecast(self, result: object) -> None:
        """Take what a worker computed; it may change the plan's gates, never what was recorded."""
        if not isinstance(result, Found):
            raise TypeError(f"{type(result).__name__} is no result of a forecast job")
        self._forecasts.take(result)
        self._replan(reviewed=result.key == REVIEW)

    def forecast_failed(self, text: str) -> None:
        """The computation given out last failed: what it was for can't pass."""
        self._replan(reviewed=self._forecasts.fail(text) == REVIEW)

    def pending_diagnosis(self) -> Callable[[], object] | None:
        """What is to be computed beside the forecasts, for a worker of its own; None if nothing is."""
        bench = self._bench(self._question())
        soon, later = suspects_due(bench)
        return self._diagnoses.job([*soon, *plotting.keys(bench, self._looked_at), *later])

    def take_diagnosis(self, found: object) -> None:
        """Take what that came to; None if it failed."""
        if isinstance(found, Found):
            self._diagnoses.take(found)
        else:
            self._diagnoses.fail("it came to nothing")

    # -- captured signals

    def _capture(self, bench: Bench, line: Line, text: str) -> View:
        """Begin to read a capture in place of a typed reading; it is judged once its figures are there."""
        keep = self._journal.path.with_suffix(f".capture-{self._ledger.saved + 1}.wav")
        found = asked(bench, line, clean(text.strip()), self._captures.next, keep, self._captures.floor)
        if isinstance(found, str):
            return self._refuse(text, found)
        self._captures.begin(found)
        self._banner = Banner("info", begun(found))
        return self._shown()

    def completion(self, text: str) -> Callable[[], tuple[str, str]] | None:
        """The work that completes the name of a file in `text`: it before and after; None where none is asked for."""
        return (lambda: (text, completed(text))) if typed(text) and taken(self._bench()) else None

    def pending_capture(self) -> Callable[[], object] | None:
        """A capture to be read and analysed, for a worker of its own; None if there is none."""
        return self._captures.job()

    def take_capture(self, result: object) -> None:
        """Take the figures of a capture, and judge the reading that they give as if it was typed; None if it failed."""
        bench = self._bench()
        text, event = self._captures.over(result, bench)
        expectation = bench.expectation()
        if isinstance(event, str) and event:
            self._refuse(text, event)
        elif isinstance(event, e.Noted) and not isinstance(self._ledger.act(event), Refusal):
            self._banner = Banner("info", event.text)
        elif isinstance(event, e.Captured) and expectation and not isinstance(self._ledger.act(event), Refusal):
            self._number += 1
            self._take(bench, point_read(bench, expectation, text, event.figure, (), capture_words.told(event)), text)

    # -- what is shown

    def view(self) -> View:
        """The picture of this moment; cheap, and changes nothing."""
        bench = self._bench()
        behind = self._bench(self._question())
        failure = self._forecasts.failure(behind.wanted)
        ready = self._forecasts.settled(behind.wanted)
        extra = {"trouble": clean(str(self._journal.trouble or "")), "ratings": plotting.ratings_told(bench)}
        filled = fields(bench) | extra | changes(self._change, bench)
        marks = screen.stage_marks(bench)
        suspects = suspected(bench)
        return View(
            build=clean(self._build.name),
            stage=screen.stage_shown(bench),
            step=screen.step(behind),
            danger=screen.danger(bench, self._ledger.saved),
            prompt=prompt(bench, self._number, filled),
            banner=with_suspects(self._banner, self._hint, suspects),
            stages=marks,
            why=tuple(clean(line) for line in screen.why(bench)) or self._findings() * (bench.ask.kind == "objection"),
            help=helps(bench, filled),
            saved=self._ledger.saved,
            loose=screen.loose(bench),
            unmeasured=tuple(clean(line) for line in bench.unmeasured),
            accepted=tuple(clean(line) for line in bench.accepted),
            findings=self._findings(),
            caution=table("words")["caution"],
            forecast="failed" if failure else "ready" if ready else "computing",
            forecast_text=clean(f"forecast failed, nothing here can pass: {failure}") if failure else "",
            power_off=self._ledger.power_off,
            alarm=self._ledger.alarm,
            tag=tag(bench),
            suspects=suspects,
        )

    def log(self, most: int | None = None) -> tuple[LogLine, ...]:
        """The record in words, oldest first; of a long one the last `most` lines."""
        names, events = wording.names(self._ledger.plan), self._journal.events
        return tuple(
            LogLine(event.n, figures.day(event.t_wall), wording.line(event.kind, event.data, names))
            for event in (events if most is None else events[-most:])
        )

    def explain(self, stage: str) -> tuple[str, ...]:
        """The points of a stage with their verdicts."""
        return tuple(clean(line) for line in screen.explain(self._bench(), stage))

    def chart(self) -> ChartPage:
        """The ohms of the present stage: every pin, and what shows its wiring slips."""
        return chart_page(self._bench())

    def plots(self, chosen: int) -> PlotPage:
        """The figure number `chosen` of ratings and plots, which is computed beside as soon as it is looked at."""
        self._looked_at = chosen
        return plotting.plot_page(self._bench(), chosen)

    def leaving(self, loose: str) -> View:
        """Keep what is loose as the builder leaves."""
        if self._ledger.taking:
            self._ledger.act(e.Left(clean(loose.strip(), _LONGEST_NOTE)))
        return self._shown()

    def leave(self) -> str:
        """Close the record; the tag for the plug, and last the line that says what to do about the power."""
        self._journal.close()
        line = table("words")["leave"][self._ledger.state.mode.value].format(saved=self._ledger.saved)
        written = tag(self._bench())
        return f"{written}\n{line}" if written else line

    # -- within

    def _begin(self) -> None:
        """Fold the record and put the first question."""
        self._ledger = Ledger(self._journal, self._plan())
        self._ledger.replay()
        self._moved_on()
        self._banner = greeting(self._bench(), self._journal.events, copied=self._copied)

    def _answer_damage(self, number: int, text: str, *, typed: bool) -> View:
        """A new record in the place of a damaged one, when that is typed."""
        meant = number == self._number and typed and text.strip().casefold() == "new record"
        if not meant or self._renew is None:
            return self._refuse(text, "type 'new record', or leave the old one as it is")
        try:
            self._journal, self._renew = self._renew(), None
        except RecordError as error:
            return self._refuse(text, f"no new record: {error}")
        self._begin()
        return self._shown()

    def _plan(self) -> Plan:
        """The plan by what is computed so far."""
        reviewed = findings.objections(*self._reviewed())
        return plan(
            self._build, self._forecasts.gates(), reviewed, self._forecasts.inspections(),
            self._forecasts.whole_inspection(),
        )  # fmt: skip

    def _replan(self, *, reviewed: bool) -> None:
        self._ledger.plan = self._plan()
        line = findings.summary(*self._reviewed(), self._odd) if reviewed else ""
        if line and self._banner is None:
            self._banner = Banner("warn", line, self._findings()[:1])
        elif line and self._banner is not None:
            self._banner = replace(self._banner, more=(line, *self._banner.more))
        self._moved_on()

    def _reviewed(self) -> tuple[tuple[Finding, ...] | None, str]:
        """What the ratings review found, and why it failed if it did."""
        return self._forecasts.review(), self._forecasts.failure(REVIEW)

    def _findings(self) -> tuple[str, ...]:
        return findings.told(*self._reviewed(), self._odd)

    def _take(self, bench: Bench, meant: Taken, text: str) -> View:
        expectation = bench.expectation()
        events = self._ledger.act(meant.command, text)
        if isinstance(events, Refusal):
            self._banner = Banner("refused", sentence(events.why))
            return self._shown()
        self._hint = ()
        for event in events:
            after = self._bench()
            told = reply(bench, after, event, expectation, meant.notes)
            self._banner = beside_sign_off(after, told)
            self._hint = hint(bench, event, expectation) or self._hint
        return self._shown()

    def _answer_change(self, text: str) -> View:
        word = text.strip().casefold()
        if word not in ("keep", "again") or self._change is None:
            return self._refuse(text, "type 'keep' or 'again'", kind="question")
        change, self._change = replace(self._change, keep=word == "keep"), None
        self._ledger.act(change)
        self._moved_on()
        words, stage = table("words")["changed"], screen.stage_title(self._bench())
        self._banner = Banner("info", words["kept" if change.keep else "back"].format(stage=stage))
        return self._shown()

    def _refuse(self, text: str, why: str, *, kind: str = "refused") -> View:
        self._ledger.refuse(text, why)
        self._banner = Banner(kind, sentence(why))  # type: ignore[arg-type]
        return self._shown()

    def _disturb(self, what: str) -> None:
        if self._ledger.state.mode in (Mode.OFF_GATE, Mode.HANDS, Mode.CLOSING, Mode.POWERED):
            self._ledger.act(e.Disturbed(what))
            self._banner = Banner("info", sentence(f"{what}: what was proved before no longer counts"))

    def _question(self) -> Ask:
        """What the state asks, whether or not its forecast is there."""
        if self._renew is not None:
            return Ask("damaged")
        if self._change is not None and self._ledger.taking:
            return Ask("build changed")
        return self._aside(ask(self._ledger.plan, self._ledger.state))

    def _aside(self, question: Ask) -> Ask:
        """The question, or the point that the builder reads first, while that is due."""
        due = self._ledger.state.due(self._ledger.plan).points
        if question.kind not in ("point", "warned") or self._first in self._ledger.state.read:
            self._first = ""
        number = next((k for k, point in enumerate(due, 1) if point.id == self._first), 0)
        if not number:
            return question
        warned = self._first in self._ledger.state.warned
        return replace(question, kind="warned" if warned else "point", subject=self._first, k=number, n=len(due))

    def _bench(self, question: Ask | None = None) -> Bench:
        ledger = self._ledger
        return Bench(
            self._build, ledger.plan, ledger.state, question or self._asked, self._forecasts, ledger.notebook,
            ledger.earlier, self._diagnoses, self.HEARS,
        )  # fmt: skip

    def _moved_on(self) -> None:
        """Put the question that the state asks now; a new one gets a new number."""
        now = self._question()
        if now.kind not in ("settle", "soak") and not self._forecasts.settled(self._bench(now).wanted):
            now = replace(now, kind="computing", wait_s=None)
        if (now.kind, now.subject) != (self._asked.kind, self._asked.subject):
            self._number += 1
        self._asked = now

    def _shown(self) -> View:
        self._moved_on()
        return self.view()

    def _shown_time(self) -> tuple[object, ...]:
        """What of the passing time is on the screen."""
        state, wait_s = self._ledger.state, self._asked.wait_s
        moment = ceil(state.full_s) if self._asked.kind == "settle" else 0
        return (self._number, self._ledger.saved, state.mode, None if wait_s is None else ceil(wait_s), moment)
