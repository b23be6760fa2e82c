"""What was read, stage by stage, and when: a fold of events for showing, beside the procedure's state."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf, isclose

from benchtui.parts.guide import spread
from benchtui.procedure import events as e
from benchtui.procedure.plan import Phase
from benchtui.session.signed import Signed, Where


@dataclass(frozen=True, slots=True)
class Entry:
    """The last reading at a point in a stage, and the reason by which a warn was accepted ("" if it was not)."""

    read: e.PointRead
    reason: str = ""

    @property
    def verdict(self) -> str:
        if isinstance(self.read, e.PointUnproved):
            return f"not measured: no {self.read.instrument}"
        words = {e.PointPassed: "pass", e.PointWarned: "warn", e.PointStopped: "stop", e.PointWatched: "watched"}
        return words.get(type(self.read), "asked again")


@dataclass(frozen=True, slots=True)
class Soaked:
    """A reading, and how many seconds after full mains it was saved, by the wall clock."""

    after_s: float
    read: e.PointRead


@dataclass
class Notebook:
    """Readings by stage and point; gate values by item with their wall time; when mains last came on."""

    stages: dict[str, dict[str, Entry]] = field(default_factory=dict)
    items: dict[str, tuple[float, float]] = field(default_factory=dict)
    last: e.PointRead | None = None
    power_s: float | None = None
    live_s: float | None = None
    """When power was last on."""

    rested_s: float | None = None
    """How long the power had been off when the mains winding was read cold; None where it was never on."""

    ht: tuple[float, float] | None = None
    trims: dict[str, e.TrimInside | e.TrimOutside] = field(default_factory=dict)
    trims_left: dict[str, e.TrimInside] = field(default_factory=dict)
    """Pot = its last reading on target, whatever had power since."""

    charged: dict[str, float] = field(default_factory=dict)
    """Reservoir = the last volts read there at or over the threshold."""

    round_1: dict[str, float] = field(default_factory=dict)
    """Reservoir = the volts last read there before the wait between the rounds began."""

    fresh: dict[str, e.PointRead] = field(default_factory=dict)
    """Point = what it read last since the stage was begun, powered or mended."""

    twice: set[str] = field(default_factory=set)
    """Points of these that were read a second time, and read the same."""

    further: dict[tuple[str, str], float] = field(default_factory=dict)
    """(State, place) = ohms that were read beside the stage's own to find a fault, as long as `fresh` counts."""

    exchange: str = ""
    """What is exchanged to find a fault."""

    exchanged: dict[tuple[str, str], float] = field(default_factory=dict)
    """(Exchange, point) = what was read with it, as long as `fresh` counts."""

    mains_v: float | None = None
    """The mains as read last."""

    full_s: float = 0.0
    """When full mains came on last."""

    soaked: dict[str, tuple[Soaked, ...]] = field(default_factory=dict)
    """Point = what it read since the power came on last, in order, what was only watched among it."""

    shut: bool = False
    """It was finished without being opened: nothing inside was read dead."""

    hands_s: float | None = None
    """When hands last went in."""

    finished_s: float | None = None
    """When the build was finished."""

    reopened: bool = False
    """The program was started again since it was finished: nobody knows what became of it."""

    left: str = ""
    """What was loose when the builder left the bench last, in his words."""

    reached: set[str] = field(default_factory=set)
    """Every stage that the work has been in."""

    repairs: int = 0
    """The number of the last repair of the finished amplifier."""

    story: dict[str, e.Told] = field(default_factory=dict)
    """Question = what was told at the beginning of that repair, until a cause is found."""

    fuses_in: bool = False
    """Power was on in that repair, so fuses that had blown are in again."""

    causes: list[str] = field(default_factory=list)
    """What was found in that repair; "" last while it is not."""

    retests: list[e.Retest] = field(default_factory=list)
    """What was read again in that repair."""

    captured: e.Captured | None = None
    """The capture that gave the last reading."""

    heard: dict[str, float] = field(default_factory=dict)
    """Hash of each captured file = when it was told first."""

    calibrations: dict[int, e.Captured] = field(default_factory=dict)
    """Channel of a card = the capture that told its volts last, until the program is started again."""

    signed: Signed = field(default_factory=Signed)
    """The sign-offs, and what was read since the amplifier came back to the bench."""

    def take(self, event: e.Event, stage: str, wall: float, *, waiting: bool = False, where: Where = "cold") -> None:
        """Enter an event that was saved at wall time `wall` while in `stage`, `waiting` between the two rounds."""
        self.reached.add(stage)
        self.signed.take(event, stage, wall, where)
        if where != "cold":
            self.live_s = wall
        match event:
            case e.PointExchanged(point=point, value=value):
                self.exchanged[self.exchange, point] = value
            case e.PointRead(point=point) if not self.exchange:
                self.stages.setdefault(stage, {})[point] = Entry(event)
                self.last = event
                self.captured = self.captured if self.captured and self.captured.text == event.text else None
                self._read(event)
                if isinstance(event, e.PointPassed | e.PointWarned | e.PointWatched):
                    self.soaked[point] = (*self.soaked.get(point, ()), Soaked(wall - self.full_s, event))
            case e.Accepted(point=point, reason=reason):
                entry = self.stages.get(stage, {}).get(point)
                if entry is not None:
                    self.stages[stage][point] = Entry(entry.read, reason)
            case e.TrimInside() | e.TrimOutside():
                self.trims[event.trim] = event
                if isinstance(event, e.TrimInside):
                    self.trims_left[event.trim] = event
            case e.ReservoirHigh(id=id, value_v=value):
                self.charged[id] = abs(value)
            case e.ReservoirLow(id=id, value_v=value) if not waiting:
                self.round_1[id] = value
            case e.PowerOn():
                self.power_s, self.ht, self.trims, self.fuses_in = wall, None, {}, True
                self.soaked.clear()
                self.full_s = wall
                if not self.exchange:
                    self._begin_afresh()
            case e.FullMains():
                self.full_s = wall
            case e.Exchanged(exchange=exchange):
                self.exchange = exchange
            case e.PutBack():
                self.exchange = ""
            case e.FurtherRead(state=state, place=place, ohm=ohm):
                self.further[state, place] = ohm
            case e.BrokeDown() | e.Told() | e.CauseFound() | e.CauseOpen() | e.Retest():
                self._repair(event)
            case e.MainsRead(value_v=value):
                self.mains_v = value
            case e.WindingCold():
                self.rested_s = None if self.live_s is None else wall - self.live_s
            case e.TrimHt() | e.HtLive():
                self.ht = (event.value_v, wall)
            case e.HandsIn():
                self.hands_s = wall
            case e.Finished() | e.FinishedShut():
                self.finished_s, self.reopened, self.shut = wall, False, isinstance(event, e.FinishedShut)
            case e.Restarted():
                self.reopened, self.captured = True, None
                self.calibrations.clear()
            case e.Captured():
                self.captured = event
                self.heard = dict.fromkeys(event.sha256, wall) | self.heard
                if event.calibrates:
                    self.calibrations[event.channel] = event
            case e.Left(loose=loose):
                self.left = loose
            case e.HandsOut() | e.NextClosing():
                self.left = ""
            case e.BuildChanged(keep=False, touched=touched):
                self.stages = {id: entries for id, entries in self.stages.items() if touched and id not in touched}
        if isinstance(event, e.CauseFound | e.Next | e.BuildChanged | e.LastComplete | e.BrokeDown | e.BroughtBack):
            self._begin_afresh()
        item = _ITEMS.get(type(event))
        if item:
            id, value = getattr(event, "id", ""), getattr(event, "value_v", getattr(event, "ohm", None))
            self.items[f"{item}{id}"] = (float("nan") if value is None else value, wall)

    def _repair(self, event: e.Event) -> None:
        match event:
            case e.BrokeDown(number=number):
                self.repairs, self.fuses_in = number, False
                self.story, self.causes, self.retests = {}, [], []
            case e.Told(question=question):
                self.story[question] = event
            case e.CauseFound(text=text):
                self.causes = [*filter(None, self.causes), text]
                self.story.clear()
            case e.CauseOpen():
                self.causes = [*filter(None, self.causes), ""]
            case e.Retest():
                self.retests.append(event)

    def _read(self, event: e.PointRead) -> None:
        """One that is asked again tells nothing, nor does one that was only watched."""
        before = self.fresh.pop(event.point, None)
        self.twice.discard(event.point)
        if isinstance(event, e.PointDoubted | e.PointNothing | e.PointWatched):
            return
        self.fresh[event.point] = event
        if before is not None and isclose(before.value, event.value, rel_tol=spread("spread.again")[1]):
            self.twice.add(event.point)

    def _begin_afresh(self) -> None:
        """What was read of the stage so far no longer says what is wrong with it."""
        self.fresh.clear()
        self.twice.clear()
        self.further.clear()
        self.exchanged.clear()

    def stale(self, event: e.Captured) -> tuple[str, float] | None:
        """A file of a capture, and when it was told first, where that was before the power came on last."""
        for name, hash in zip(event.files, event.sha256, strict=True):
            if (told_s := self.heard.get(hash)) is not None and told_s < (self.power_s or 0.0):
                return name, told_s
        return None

    def accepted(self, stage: str) -> bool:
        """Was any warn accepted in `stage`?"""
        return any(entry.reason for entry in self.stages.get(stage, {}).values())

    @property
    def values(self) -> dict[str, float]:
        """What each point that was judged read last, in whatever stage; in a check-up, what was read in it."""
        reads = ((id, entry) for entries in self.stages.values() for id, entry in entries.items())
        judged = {id: entry.read.value for id, entry in reads if entry.verdict in ("pass", "warn")}
        since = self.signed.since
        return {id: value for id, value in judged.items() if not self.signed.open or ("point", id) in since}

    def unproved(self) -> dict[str, str]:
        """Points read without the instrument that proves them, and its name."""
        reads = {id: entry.read for entries in self.stages.values() for id, entry in entries.items()}
        return {id: read.instrument for id, read in reads.items() if isinstance(read, e.PointUnproved)}

    def alike(self, phase: Phase) -> int:
        """How many of the readings of `phase` are the very number typed last, zero and open apart."""
        entries, ids = self.stages.get(phase.stage, {}), {point.id for point in phase.points}
        judged = [each.read for id, each in entries.items() if id in ids and each.verdict in ("pass", "warn")]
        texts = [read.text for read in judged if read.value not in (0.0, inf)]
        last = self.last.text if self.last is not None else ""
        return texts.count(last)


_ITEMS = {
    e.PlugOut: "plug_out", e.NoLead: "plug_out", e.MeterGood: "meter_proved", e.Fallen: "meter_proved",
    e.MainsDead: "mains_dead", e.ReservoirLow: "reservoir ", e.ClipOn: "clip_on", e.RailLow: "rail ",
    e.OhmsGood: "ohms_right",
}  # fmt: skip
