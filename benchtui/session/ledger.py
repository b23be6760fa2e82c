"""Decide, make durable, fold: the one way by which anything that happens changes the state of a session."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from benchtui.procedure import codec
from benchtui.procedure import events as e
from benchtui.procedure.commands import Command
from benchtui.procedure.decide import Refusal, decide, fold, tick
from benchtui.procedure.guards import holds
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode, State
from benchtui.quantities.clean import clean
from benchtui.record import Event, Journal, RecordError
from benchtui.session import wording
from benchtui.session.away import unwatched
from benchtui.session.earlier import Earlier
from benchtui.session.notebook import Notebook
from benchtui.session.signed import where
from benchtui.session.tables import table
from benchtui.session.view import Alarm


class Ledger:
    """Plan, state, notebook and earlier readings of one record.

    `power_off` is a text that fills the screen, if any, under the word of `alarm`.
    """

    def __init__(self, journal: Journal, plan: Plan) -> None:
        self._journal = journal
        self.plan = plan
        self.state, self.notebook, self.earlier = State(), Notebook(), Earlier()
        self.power_off: tuple[str, ...] = ()
        self.alarm: Alarm = "POWER OFF"

    @property
    def saved(self) -> int:
        """Number of the last event that is on the disk."""
        return len(self._journal.events)

    @property
    def taking(self) -> bool:
        """Is anything taken at all?"""
        return self.state.mode not in (Mode.HALT, Mode.READONLY)

    def replay(self) -> None:
        """Fold the record from its beginning, then say that the program was started again.

        A chassis whose record follows an earlier one counts as having met mains for good.
        Raises UnknownEvent for an event of another version.
        """
        begun = False
        for saved in self._journal.events:
            if saved.kind in codec.KINDS or "v" in saved.data:
                self._fold(codec.decode(saved.kind, saved.data), saved.t_wall)
                begun = True
        if self._journal.trouble is not None:
            self.state = fold(self.plan, self.state, e.OtherHolds())
        elif begun:
            left_s = self._journal.events[-1].t_wall
            self.act(e.Restarted())
            self._tell_time_away(left_s)
        if self.state.mains == "unknown" and "quotes" in self._journal.header:
            self.act(e.SaidMet())  # a record that follows another one: nobody can say 'never' of its chassis

    def _tell_time_away(self, left_s: float) -> None:
        """A chassis that had power and was left for too long is looked over before the next."""
        why = unwatched(left_s, self._journal.events[-1].t_wall)
        if why and self.state.mode is Mode.OFF_GATE and holds("power_behind", self.plan, self.state):
            self.act(e.Unwatched(why))

    def act(self, command: Command | e.Event, typed: str = "") -> tuple[e.Event, ...] | Refusal:
        """What `command` comes to: its events, each durable before it counts, or the refusal, which is kept with what
        was `typed`.

        Any failure of the record leads to HALT and gives a refusal.
        """
        finished = self.state.mode is Mode.DONE and self.notebook.reopened
        events = decide(self.plan, self.state, command)
        if isinstance(events, Refusal):
            self.refuse(typed or events.what, events.why)
            return events
        for event in events:
            if not self._save(event):
                return Refusal(type(event).__name__, "it could not be saved")
        if finished:
            self._tell_back_in_sight()
        return events

    def _tell_back_in_sight(self) -> None:
        """What was finished and comes back by STOP or by another build file was seen by nobody meanwhile either."""
        back = self.state.mode is Mode.OFF_GATE and not self.state.unwatched
        shown = self.power_off, self.alarm
        if back and holds("power_behind", self.plan, self.state):
            if self._save(e.Unwatched(table("words")["away"]["finished"])):
                self.power_off, self.alarm = shown

    def stop(self) -> None:
        """STOP: saved where anything is, and with the power-off text also where nothing is written."""
        if isinstance(self.act(e.Stopped()), Refusal) and not self.power_off:
            self.power_off = self._power_off_after(e.Stopped())

    def refuse(self, text: str, why: str) -> None:
        """Keep that `text` was not taken."""
        if self.taking:
            self._save(e.Refused(clean(text, 80), why))

    def keep(self, kind: str, data: Mapping[str, Any]) -> bool:
        """Keep an entry that the procedure knows nothing of; False where it could not be saved."""
        return self._saved(kind, data) is not None

    def pass_time(self, seconds: float) -> None:
        """Let the steady clock run on; time is never recorded."""
        self.state = tick(self.plan, self.state, seconds)

    def _save(self, event: e.Event) -> bool:
        saved = self._saved(*codec.encode(event))
        if saved is None:
            return False
        before = self.state.mode
        self._fold(event, saved.t_wall)
        self.power_off, self.alarm = self._power_off_after(event), "POWER OFF"
        thrown_out = before is Mode.HANDS and self.state.mode is Mode.OFF_GATE and not isinstance(event, e.Restarted)
        if thrown_out and not self.power_off:
            self.power_off, self.alarm = tuple(table("words")["hands_out"].values()), "HANDS OUT"
        return True

    def _saved(self, kind: str, data: Mapping[str, Any]) -> Event | None:
        """The entry once it is durable; None where it is not, and nothing more is taken."""
        try:
            return self._journal.append(kind, data)
        except (RecordError, OSError):
            self.state = fold(self.plan, self.state, e.RecordFailed())
            self.power_off = self._halted()
            return None

    def _fold(self, event: e.Event, wall: float) -> None:
        stage = self.state.at(self.plan).stage
        waiting, at = self.state.gate.wait_s > 0.0, where(self.plan, self.state)
        self.notebook.take(event, stage, wall, waiting=waiting, where=at)
        self.earlier.take(event, self.state, stage)
        self.state = fold(self.plan, self.state, event)

    def _power_off_after(self, event: e.Event) -> tuple[str, ...]:
        words = table("words")["power_off"]
        match event:
            case e.PointStopped() if self.state.mode is Mode.OFF_GATE:
                name = wording.names(self.plan).get(event.point, event.point)
                told = wording.power_off(event, name, wording.units(self.plan).get(event.point, "V"))
                return (words["now"], clean(told), words["charged"], words["slip"])
            case e.LimiterBad(says=says):
                return (words["now"], clean(f"The limiter is {says}: a short."), words["charged"])
            case e.Stopped():
                return (words["now"], words["charged"])
            case e.Remark():
                return self.power_off
        return ()

    def _halted(self) -> tuple[str, ...]:
        words = table("words")["power_off"]
        return (words["halt"], words["halt_saved"].format(saved=self.saved), clean(str(self._journal.trouble)))
