"""A session with a simulated amplifier: what its meter would show stands beside each prompt, and the end tells the
fault. Nothing else differs: what is typed counts, and nothing but that."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, replace
from typing import Any

from benchtui.assemble.valves import sections
from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Adjustment
from benchtui.buildfile.stages import fitted
from benchtui.procedure.ask import Ask
from benchtui.procedure.state import Mode
from benchtui.quantities.clean import clean
from benchtui.quantities.errors import Question
from benchtui.quantities.reading import read
from benchtui.quantities.units import Unit
from benchtui.rehearsal.asked import Asked, Plant, Planted, Powered, Turned
from benchtui.rehearsal.phase import ANODES, leads_exchanged, leads_named
from benchtui.session.forecaster import Simulator
from benchtui.session.forecasts import Forecasts, Found, Key
from benchtui.session.pretended import EXCHANGED, PLANTED, RENEWED, SHOWN, TURNED, Pretended, after, begun
from benchtui.session.pretending import Failed, Pending, seen, to_be_turned
from benchtui.session.session import Session
from benchtui.session.tables import table
from benchtui.session.view import Banner, View


class RehearsalSession(Session):
    """A session of no amplifier. `simulator` answers for one; its questions take a lane of their own."""

    HEARS = False

    def __init__(self, *settled: Any, simulator: Simulator, **named: Any) -> None:
        self._simulator = simulator
        self._turning: Turned | None = None
        self._lines: tuple[str, ...] = ()
        super().__init__(*settled, **named)

    # -- what is typed

    def answer(self, number: int, text: str, *, pasted: bool = False) -> View:
        entry, bench = " ".join(text.split()), self._bench()
        word, _, rest = entry.partition(" ")
        own = {"mend": self._mend, "turn": self._turn, "exchange": self._exchange}.get(word.casefold())
        if entry.casefold() == "show fault":
            own, rest = self._show, ""
        if own is None or pasted or number != self._number or not self._ledger.taking:
            view = super().answer(number, text, pasted=pasted)
            return self._mended_by_name(text) if bench.ask.kind == "found" else view
        self.tick()
        own(rest)
        self._number += 1
        return self._shown()

    def _mend(self, name: str) -> None:
        words, known = table("rehearsal")["mend"], self._named(name)
        if not name:
            self._say("question", words["which"])
        elif known is None:
            self._say("refused", words["unknown"].format(part=clean(name, 20)))
        elif self._ledger.state.mode not in (Mode.HANDS, Mode.BARE):
            self._say("refused", words["hands"].format(part=known))
        elif not self._fitted(known):
            self._say("refused", words["not yet"].format(part=known))
        elif self._ledger.keep(RENEWED, {"part": known}):
            self._say("info", words["renewed"].format(part=known))

    def _mended_by_name(self, text: str) -> View:
        """What was found after an alarm renews the part that is named in it."""
        last = self._journal.events[-1]
        if last.kind == "cause found":
            named = next(filter(None, (self._named(word.strip(".,;:!()")) for word in text.split())), None)
            if leads_exchanged(self._build, text):
                self._exchange(text)
            elif named is None:
                self._say("info", table("rehearsal")["mend"]["named"])
            else:
                self._mend(named)
        return self._shown()

    def _exchange(self, said: str) -> None:
        """The anode leads of an output transformer, or the ends of its secondary, change places."""
        words, which = table("rehearsal")["exchange"], leads_named(self._build, said)
        parts_ = tuple(dict.fromkeys(part for part, _ in which))
        if not which:
            self._say("question", words["which"].format(part=next(iter(self._build.output_transformer), "T2")))
        elif self._ledger.state.mode not in (Mode.HANDS, Mode.BARE):
            self._say("refused", words["hands"])
        elif not all(part in fitted(self._build, self._bench().phase.stage) for part in parts_):
            self._say("refused", words["not yet"].format(part=parts_[0]))
        elif all(self._ledger.keep(EXCHANGED, {"part": part, "leads": leads}) for part, leads in which):
            told = " and ".join(f"{self._leads(part, leads)} of {part}" for part, leads in which)
            self._say("info", words["done"].format(leads=told))

    def _leads(self, part: str, leads: str) -> str:
        single = len(self._build.output_transformer[part].anodes) == 1
        return table("rehearsal")["exchange"]["primary" if single and leads == ANODES else leads]

    def _named(self, name: str) -> str | None:
        """The part called `name`, as the build file writes it."""
        known = (*(listed.id for listed in parts(self._build)), *self._build.transformer, *self._sections())
        return next((id for id in known if id.casefold() == name.casefold()), None)

    def _sections(self) -> dict[str, str]:
        """Every section of a valve, and the valve that it is in."""
        return {section.id: section.valve for section in sections(self._build)}

    def _fitted(self, part: str) -> bool:
        here = fitted(self._build, self._bench().phase.stage)
        return part in self._build.transformer or self._sections().get(part, part) in here

    def _turn(self, said: str) -> None:
        words, bench, on = table("rehearsal")["turn"], self._bench(), self._on
        pot, _, wanted = said.rpartition(" ")
        if bench.ask.kind == "trim":
            found = next((trim for trim in bench.phase.trims if trim.id == bench.ask.subject), None)
            adjustment = self._build.adjust[found.id] if found is not None else None
            powered = on.powered(self._build, bench.plan)
        else:
            adjustment, powered = self._inside(pot), on.last
        id = next((key for key, each in self._build.adjust.items() if each is adjustment), None)
        if adjustment is None or id is None or powered is None:
            return self._say("refused", words["nowhere"])
        if bench.ask.kind == "trim" and not to_be_turned(bench):
            return self._say("question", words["first"])
        if bench.ask.kind == "trim" and adjustment.reach == "inside":
            return self._say("refused", words["inside"].format(pot=adjustment.pot, wanted=clean(wanted, 12) or "15.4"))
        try:
            volts = read(wanted, Unit.VOLT, current="dc").value
        except Question:
            return self._say("question", words["number"])
        now = Powered(on.amplifier, powered.stage, powered.lamp_w, on.pots)
        self._turning = Turned(now, id, volts)
        self._say("info", words["begun"].format(pot=adjustment.pot))

    def _inside(self, pot: str) -> Adjustment | None:
        """The adjustment of a pot that is turned with hands in."""
        if self._ledger.state.mode is not Mode.HANDS:
            return None
        all_ = self._build.adjust.values()
        return next((each for each in all_ if each.pot.casefold() == pot.casefold() and each.reach == "inside"), None)

    def _show(self, _: str) -> None:
        if self._ledger.keep(SHOWN, {}):
            first, *more = self._over()
            self._banner = Banner("info", first, tuple(more))

    def _say(self, kind: str, text: str) -> None:
        self._banner = Banner(kind, text)  # type: ignore[arg-type]

    # -- time, and the simulated amplifier

    def tick(self) -> bool:
        moved = super().tick()
        before, self._lines = self._lines, self._seen()
        return moved or self._lines != before

    def pending_amplifier(self) -> Callable[[], object] | None:
        """What the simulated amplifier is to work out, for a worker of its own."""
        asked = self._wanted()
        return None if asked is None else self._answers.job([_key(asked)])

    def take_amplifier(self, found: object) -> None:
        """Take its answer; None if it failed."""
        if not isinstance(found, Found):
            self._answers.fail("it came to nothing")
            if not self._on.chosen and self._ledger.taking:
                self._ledger.keep(PLANTED, {"fault": None})
            self._turning = None if isinstance(self._wanted(), Turned) else self._turning
            return
        self._answers.take(found)
        if not self._ledger.taking:
            return
        asked, answer = found.key[1], found.result
        if isinstance(asked, Plant) and not self._on.chosen:
            self._ledger.keep(PLANTED, {"fault": asdict(answer) if isinstance(answer, Planted) else None})
        if isinstance(asked, Turned) and asked == self._turning:
            self._turning = None
            pot = self._build.adjust[asked.adjustment].pot
            self._ledger.keep(TURNED, {"pot": pot, "position": float(answer)})
            self._banner = None

    def _wanted(self) -> Asked | None:
        """What the simulated amplifier is asked next."""
        if not self._on.chosen:
            return Plant(self._on.seed)
        if self._turning is not None:
            return self._turning
        try:
            self._look()
        except Pending as pending:
            return pending.asked
        return None

    def _known(self, asked: Asked) -> Any:
        key = _key(asked)
        if self._answers.failure(key):
            raise Failed
        if not self._answers.has(key):
            raise Pending(asked)
        return self._answers.answer(key)

    def _look(self) -> tuple[str, ...]:
        return tuple(map(clean, seen(self._bench(), self._on, self._clock.wall(), self._known)))

    def _seen(self) -> tuple[str, ...]:
        words = table("rehearsal")["meter"]
        if self._turning is not None:
            return (words["turning"],)
        try:
            return self._look()
        except Pending:
            return (words["computing"],)

    # -- what is shown

    def view(self) -> View:
        self._lines = self._seen()
        view = super().view()
        words, over = table("rehearsal"), self._over()
        help = (*view.help, *words["help"]["lines"], *over)
        banner = view.banner
        if self._ledger.state.mode is Mode.DONE:
            banner = Banner("info", over[0], over[1:])
        return replace(view, rehearsal=words["mark"], seen=self._lines, help=help, banner=banner)

    def _over(self) -> tuple[str, ...]:
        """What was planted, once the rehearsal is over: every stage done, or shown as asked."""
        on, words = self._on, table("rehearsal")["over"]
        if not on.shown and self._ledger.state.mode is not Mode.DONE:
            return ()
        needless = words["needless"].format(parts=", ".join(on.needless)) if on.needless else words["spared"]
        if on.planted is None:
            said = (words["sound" if self._wants_none() else "nothing"],)
        else:
            what = words["planted"].format(part=on.planted.part, says=clean(on.planted.says))
            said = (what, _counted(on))
        return (*said, needless, words["again"])

    def _wants_none(self) -> bool:
        return self._journal.header["rehearsal"]["fault"] == "none"

    def leave(self) -> str:
        return f"{table('rehearsal')['parting']}\n{super().leave()}"

    # -- within

    @property
    def _on(self) -> Pretended:
        """The bench after every event of the record."""
        events = self._journal.events
        for event in events[self._taken :] if len(events) > self._taken else ():
            self._pretended = after(self._pretended, self._build, self._ledger.plan, event)
        self._taken = len(events)
        return self._pretended

    def _begin(self) -> None:
        self._taken, self._pretended = 0, begun(self._journal.header or {"rehearsal": {"seed": 0, "fault": "none"}})
        self._answers = Forecasts(self._build, self._simulator)
        super()._begin()

    def _moved_on(self) -> None:
        before = self._asked
        super()._moved_on()
        if _other(before, self._asked):
            self._turning = None


def _key(asked: Asked) -> Key:
    return ("rehearsed", asked)


def _other(before: Ask, now: Ask) -> bool:
    return (before.kind, before.subject) != (now.kind, now.subject)


def _counted(on: Pretended) -> str:
    words = table("rehearsal")["over"]
    if on.readings is None:
        return words["early" if on.renewed else "unseen"]
    one, more = words["readings"]
    readings = one if on.readings == 1 else more.format(n=on.readings)
    return words["named" if on.renewed else "unnamed"].format(readings=readings)
