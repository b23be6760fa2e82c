"""A watcher of the app: what it shows and records must be borne out by lines that hands typed at the prompt in sight.

It sees each key with how it was struck, what stands in the field after it, the picture on the screen, and the lines of
the record. Pasted, poured, held and unseen keys bear out nothing but readings where a paste is taken.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import isclose
from os.path import commonprefix
from typing import Any, Literal

from benchtui.procedure.state import Mode
from benchtui.record import Event
from benchtui.session.session import Session
from benchtui.session.view import View
from tests.keys.account import THRESHOLD_V, Account
from tests.walk.clock import StillClock

How = Literal["hand", "held", "poured", "pasted", "unseen"]

POWER_OFF = "Hand off. Mains off. Pull the plug."

_WORDS = {
    Mode.BARE: ("BARE",), Mode.OFF_GATE: ("ASSUME LIVE",), Mode.HANDS: ("DEAD AS MEASURED",),
    Mode.CLOSING: ("CLOSING",), Mode.POWERED: ("LIVE", "LIVE, LIMITED"), Mode.HALT: ("NOT RECORDING",),
    Mode.READONLY: ("READ ONLY",), Mode.DONE: ("DEAD AS MEASURED", "ASSUME LIVE"),
}  # fmt: skip

#: Events that nobody types: what the program, the key STOP or the passing time brings, or what changes nothing.
UNTYPED = {"birth", "restarted", "tail set aside", "refused", "note", "captured", "left", "stop key",
           "disturbed", "unwatched"}  # fmt: skip

#: Events that only take back, where any finished line will do.
TAKES_BACK = {
    "lead attached", "meter bad", "ht not fallen", "mains live", "reservoir high", "reservoir too soon", "look failed",
    "rail high", "ohms bad", "clip found", "limiter bad", "limiter dark", "capacitor high", "power down",
}  # fmt: skip

#: Readings of a stage, which a paste of one line may give as well.
READINGS = {
    "reading passed", "reading unproved", "reading warned", "reading stopped", "reading doubted", "reading watched",
    "reading nothing", "trim ht", "trim inside", "trim outside",
}  # fmt: skip

#: Words by which hands say that nothing stands any more.
_TOUCHED = {
    Mode.OFF_GATE: {"touched", "meter changed"}, Mode.HANDS: {"touched", "meter changed"},
    Mode.CLOSING: {"touched"},
}  # fmt: skip

#: Asked before anything of a gate can have been typed.
_ASKED_FIRST = "The build file has changed"

#: Keys struck so soon after a prompt was painted were meant for what was there before.
_UNREAD_S = 0.1

#: With hands in each of these must lead to the gate.
_HANDS_OUT = TAKES_BACK - {"capacitor high"} | {"clip off", "stop key", "disturbed", "unwatched"}

_NUMBER = re.compile(r"\s*([+-]?(?:\d+(?:\.\d+)?|\.\d+))\s*(?:v)?\s*(?:dc|ac|~)?\s*", re.IGNORECASE)

_PRINTED = re.compile(r"(?=.*[0-9] ?m?a)(?=.*[tf])", re.IGNORECASE)


class Violation(AssertionError):
    """A rule that the app broke."""


@dataclass(frozen=True)
class Typed:
    """A line that was finished with Enter."""

    title: str
    text: str
    by_hand: bool

    def volts(self) -> float | None:
        """The plain number that it is, if it is one."""
        match = _NUMBER.fullmatch(self.text)
        return float(match[1]) if match else None

    def says(self) -> str:
        return " ".join(self.text.split()).casefold()


Test = Callable[[Typed, Mapping[str, Any]], bool]


def _says(*words: str) -> Test:
    return lambda line, data: line.says() in words


def _volts(low: float = 0.0, high: float = float("inf")) -> Test:
    def test(line: Typed, data: Mapping[str, Any]) -> bool:
        volts = line.volts()
        return volts is not None and isclose(volts, data["value_v"]) and low <= abs(volts) < high

    return test


def _anything(line: Typed, data: Mapping[str, Any]) -> bool:
    return bool(line.text.strip())


def _step(line: Typed, data: Mapping[str, Any]) -> bool:
    """Anything; of a fuse its current and how fast it is, as printed on it."""
    return bool(line.text.strip()) and (line.title != "What the fuse says" or _PRINTED.match(line.text) is not None)


def _says_why(line: Typed, data: Mapping[str, Any]) -> bool:
    """That it is skipped and why; or where nothing can be measured any more, that."""
    return re.match(r"skip ?: ?\S", line.says()) is not None or line.says() in ("not measured", "noted")


def _begins(word: str) -> Test:
    return lambda line, data: line.says().startswith(word)


def _makes(line: Typed, data: Mapping[str, Any]) -> bool:
    return line.says().partition(" ")[0] in ("on", "done")


def _takes_off(line: Typed, data: Mapping[str, Any]) -> bool:
    return line.says().startswith(("loose ", "not done ")) or line.says() == "off"


def _count(line: Typed, data: Mapping[str, Any]) -> bool:
    return line.text.strip() == str(data["count"])


_DEAD = _volts(high=THRESHOLD_V)

#: Event = the titles at which it is typed, and what the line must say. By hand, each of them.
TYPED: dict[str, tuple[str, Test]] = {
    "bare": (r"Is the chassis bare\?", _says("bare")),
    "fitted": (r"Is the chassis bare\?", _says("fitted")),
    "never met mains": (r"Did this chassis ever meet mains\?", _says("never")),
    "met mains": (r"Did this chassis ever meet mains\?", _says("met")),
    "build changed": ("The build file has changed", _says("keep", "again")),
    "plug out": ("Pull the plug", _says("out")),
    "no lead": ("No mains lead", _says("no lead")),
    "meter good": ("Prove the meter.*", _volts(1.0, 60.001)),
    "ht fallen": (r"HT has fallen to\?", _volts()),
    "mains dead": ("Read the mains side dead", _DEAD),
    "reservoir low": ("Round [12]: .*|Wait", _DEAD),
    "bled": ("Bleed .*", _says("bled")),
    "clip on": ("Clip on", _anything),
    "clip shunted": ("Clip on", _anything),
    "clip alone": ("Clip alone", _anything),
    "exchanged": (".*", _says("exchanged")),
    "put back": (".*", _says("put back")),
    "further read": (".*", _anything),
    "reading exchanged": (".*", _anything),
    "links on": ("Links on", _count),
    "links off": ("Clip and links off", _count),
    "clip off": (".*", _says("off", "clip off")),
    "hands in": ("Hands in", _says("in")),
    "looked": ("Look at plug and clip", _says("in place")),
    "hands out": ("Hands out", _says("out")),
    "back to power": (".*", _says("back to power")),
    "slipped": (".*", _says("slip")),
    "cause found": (r"What was it\?", _anything),
    "cause open": (r"What was it\?", _says("not found yet")),
    "retest": ("What is read again", _says("listed", "all")),
    "broke down": ("Finished", _says("stopped")),
    "brought back": ("Finished", _says("checkup", "check-up", "check up")),
    "told": (r"Which fuse blew\?|How does the fuse look\?|Smell, .*|What happened .*|What does it do\?", _anything),
    "clear": ("Chassis clear", _says("clear")),
    "rail low": ("[Rr]ail at .*", _DEAD),
    "ohms good": (r"HT\+ to chassis", _anything),
    "covered": ("Cover.*", _says("cover on", "one hand", "last screw")),
    "overruled": ("The ratings review objects", _begins("go on")),
    "power on": ("First power", _anything),
    "limiter good": (r"What does the limiter show\?", _anything),
    "full mains": ("Full mains", _says("full")),
    "mains read": ("Mains now", _anything),
    "warn accepted": (".*", _anything),
    "capacitor low": ("Before fitting .*|Discharge .*", _DEAD),
    "step done": ("Step .*|Look over.*|What the fuse says", _step),
    "made": ("(Wire|Hole): .*", _makes),
    "undone": (".*", _takes_off),
    "ht live": ("HT before power-down", _volts()),
    "next bare": ("Stage complete", _says("complete")),
    "bare ends": ("Stage complete", _says("complete")),
    "next hands": ("Stage complete", _says("complete")),
    "next closing": ("Hands out", _says("out")),
    "next powered": ("Stage complete", _says("complete")),
    "next gate": ("Switch off", _says("off")),
    "last complete": ("Switch off", _says("off")),
    "finished": ("The end", _says("finished")),
    "finished shut": ("The end", _says("finished")),
    "room read": (r"How warm is the room\?", _anything),
    "winding cold": ("The mains winding, cold", _anything),
    "winding hot": ("The mains winding as it cools", _anything),
    "winding left": (r"How warm is the room\?|.* winding.*", _says_why),
}

_MOVES = {"next bare", "bare ends", "next hands", "next closing", "next powered", "next gate"}


class Field:
    """What stands in the field, and which of its characters hands struck with this prompt in sight."""

    def __init__(self) -> None:
        self.text = ""
        self._by_hand: tuple[bool, ...] = ()

    @property
    def by_hand(self) -> bool:
        return all(self._by_hand)

    def shows(self, text: str, character: str, by_hand: bool) -> None:
        """The field shows `text` after a key with this `character`."""
        head = len(commonprefix((self.text, text)))
        tail = len(commonprefix((self.text[head:][::-1], text[head:][::-1])))
        new = text[head : len(text) - tail]
        struck = (by_hand and new == character,) * len(new)
        self._by_hand = self._by_hand[:head] + struck + self._by_hand[len(self.text) - tail :]
        self.text = text


class Watcher:
    """Watches one run of the app after the other on one record."""

    def __init__(self, clock: StillClock) -> None:
        self._clock = clock
        self.counts: dict[str, int] = {}
        self.forget()

    def forget(self) -> None:
        """Another record comes next."""
        self.account = Account()
        self.field = Field()
        self._mode, self._phase, self._known = Mode.OFF_GATE, 0, 0
        self._number, self._title, self._since_s = -1, "", 0.0

    @property
    def title(self) -> str:
        """The title of the prompt in sight."""
        return self._title

    @property
    def number(self) -> int:
        """Its number."""
        return self._number

    def opened(self, session: Session, events: tuple[Event, ...]) -> None:
        """A session was opened on a record that held `events` by then; what it did itself is no one's typing."""
        if self._known == 0:
            for event in events:
                self._enter(session, event)
        self.account.restarted(session._ledger.state.at(session._ledger.plan))
        self.field = Field()
        self._known = len(session._journal.events)
        self._picture(session, session.view())

    def struck(self, session: Session, view: View, field: str, key: str, character: str, how: How) -> None:
        """A key, a paste (its `key` is "") or a flood was dealt with; `field` is what stands in the field since."""
        line = None
        if key == "enter" and how == "hand":
            line = Typed(self._title, self.field.text, self.field.by_hand)
        seen = how == "hand" and self._clock.steady() >= self._since_s + _UNREAD_S
        self.look(session, view, line=line, stop=key == "f8", machine=how != "hand")
        self.field.shows(field, character, seen)

    def unwatched(self) -> None:
        """The computer slept, or the program stood still: whatever it says of it, nothing stands any more."""
        if not self.account.powered:
            self.account.drop()

    def look(
        self, session: Session, view: View, *, line: Typed | None = None, stop: bool = False, machine: bool = False
    ) -> None:
        """Hold what is shown and recorded now against what was typed."""
        events = session._journal.events[self._known :]
        self._known = len(session._journal.events)
        typed = [event.kind for event in events if event.kind not in UNTYPED]
        self.must(len(typed) <= 1, f"one line recorded as {typed}")
        for event in events:
            self.must(event.kind != "stop key" or stop, "STOP recorded without its key")
            self._justify(event, line, machine)
            self._enter(session, event, judged=True)
            self.counts[event.kind] = self.counts.get(event.kind, 0) + 1
        touched = line is not None and line.by_hand and line.says() in _TOUCHED.get(self._mode, ())
        if touched and events and self._title != _ASKED_FIRST:
            self.must(typed == [] and session._ledger.state.mode is Mode.OFF_GATE, f"{line} and {events[-1].kind}")
            self.must(events[-1].kind in ("disturbed", "unwatched"), f"{line} and {events[-1].kind}")
            self.unwatched()
        self._modes(session, view, [event.kind for event in events])
        if stop:
            self._stopped(session, view)
        self._picture(session, view)

    def _picture(self, session: Session, view: View) -> None:
        state = session._ledger.state
        if view.prompt.number != self._number:
            self.field, self._since_s = Field(), self._clock.steady()
        self._mode, self._phase = state.mode, state.phase
        self._number, self._title = view.prompt.number, view.prompt.title

    # -- rules

    def must(self, holds: bool, rule: str) -> None:
        """Raise Violation, naming the rule, unless it `holds`."""
        if not holds:
            raise Violation(rule)

    def _justify(self, event: Event, line: Typed | None, machine: bool) -> None:
        """Was this event typed, at the prompt in sight, by hands?"""
        kind, data = event.kind, event.data
        if kind in UNTYPED:
            return
        told = f"{kind!r} recorded after {line}" if line else f"{kind!r} recorded and no line was finished"
        if kind in TAKES_BACK:
            self.must(line is not None or machine, told)
            return
        if kind in READINGS or (kind == "mains read" and self._mode is Mode.POWERED):
            self.must(line is not None and (line.by_hand or self._mode not in (Mode.OFF_GATE, Mode.CLOSING)), told)
            assert line is not None
            self.must(data.get("text", line.text).strip() == line.text.strip(), told)
            return
        self.must(kind in TYPED, f"{kind!r} is not in the watcher's table")
        titles, says = TYPED[kind]
        self.must(line is not None and line.by_hand, told)
        assert line is not None
        self.must(re.fullmatch(titles, line.title) is not None and says(line, data), told)

    def _enter(self, session: Session, event: Event, *, judged: bool = False) -> None:
        ledger = session._ledger
        phases = ledger.plan.phases
        at = self._phase if event.kind in _MOVES else ledger.state.phase
        whole = ledger.plan.whole
        repaired = self.account.returned and whole is not None and whole.power.id == phases[at].id
        phase = whole.power if repaired and whole is not None else phases[at]
        wrong = self.account.take(event.kind, event.data, ledger.plan, phase, self._clock.steady())
        if judged:
            self.must(not wrong, f"{event.kind!r} recorded without: {wrong}")

    def _modes(self, session: Session, view: View, kinds: list[str]) -> None:
        state, before = session._ledger.state, self._mode
        word = view.danger.word
        self.must(word in _WORDS[state.mode], f"{word} shown in mode {state.mode}")
        self.must((word == "LIVE, LIMITED") == (state.mode is Mode.POWERED and state.limited), f"{word} shown")
        self.must(view.saved == self._known, f"saved #{view.saved} shown, {self._known} events in the record")
        if state.mode is not before:
            due = {
                Mode.HANDS: {"hands in"}, Mode.POWERED: {"power on"}, Mode.BARE: {"bare"},
                Mode.DONE: {"finished", "finished shut"},
                Mode.CLOSING: {"hands out", "next closing", "back to power"},
            }.get(state.mode, set())  # fmt: skip
            self.must(not due or bool(due & set(kinds)), f"from {before} to {state.mode} by {kinds}")
            self.must({before, state.mode} != {Mode.POWERED, Mode.HANDS}, "33 power and hands in one step")
        if before is Mode.HANDS and _HANDS_OUT & set(kinds):
            self.must(state.mode is Mode.OFF_GATE, f"hands stay in after {kinds}")
        if before is Mode.POWERED and {"reading stopped", "limiter bad", "power down"} & set(kinds):
            self.must(state.mode is Mode.OFF_GATE and bool(view.power_off or "power down" in kinds), "28 power stays")
        if {"broke down", "brought back"} & set(kinds):
            whole = session._ledger.plan.whole
            self.must(whole is not None and state.at(session._ledger.plan) is whole.power, "64, 74 it is elsewhere")
        elif state.phase != self._phase and "build changed" not in kinds:
            moved = [kind for kind in kinds if kind in _MOVES]
            self.must(state.phase == self._phase + 1 == self._phase + len(moved), f"20-22 stage moved by {kinds}")

    def _stopped(self, session: Session, view: View) -> None:
        mode = session._ledger.state.mode
        self.must(mode in (Mode.OFF_GATE, Mode.HALT, Mode.READONLY), f"23 STOP led to {mode}")
        self.must(bool(view.power_off), "STOP did not lead to the power-off text")
        if mode is Mode.OFF_GATE:
            self.must(view.power_off[0] == POWER_OFF, f"STOP led to {view.power_off[0]!r}")
            self.account.take("stop key", {}, session._ledger.plan, session._ledger.plan.phases[0], 0.0)
