"""A watcher of a bring-up that sees what is typed and which mode the program shows, and none of its flags.

It keeps its own account of what was borne out (seen.py) and asks of each step which rule it broke (rules.py).
"""

from __future__ import annotations

from typing import NamedTuple

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode, State
from tests.procedure import soaking
from tests.procedure.rules import SHOWN, STATES, STEPS, Rule
from tests.procedure.seen import (
    BARE,
    CLOSING,
    DONE,
    GATE,
    HALT,
    HANDS,
    POWERED,
    READONLY,
    TICK,
    Facts,
    Move,
    Seen,
    bad,
    high,
    live,
    shorted,
    stops,
)

_CLIP = dict(shunted="", clip=False, linked=False, clipped=0)
_GATE = dict(
    plug=False, since_plug=0, dc=False, ac=False, dead=False, first=frozenset(), waited=0, second=frozenset(),
    shunted="", clip=False, linked=False, clipped=0, dc2=False, ac2=False, doubt="",
)  # fmt: skip
_CLOSING = dict(back=False, off=False, clear=False, rail=False, ohms=False, cover=False, before=False)
_SOUND = dict(
    alarm="", checked=False, found=False, repair=False, checkup=False, open=False, named=False, again=False,
    spared=False,
)  # fmt: skip
_READINGS = dict(passed=False, warned=False, mains=False, loose=frozenset(), stepped=False, over=False)
_ROUNDS = dict(first=frozenset(), waited=0, second=frozenset(), dc2=False, ac2=False, **_CLIP)
_ALL = {**_GATE, **_CLOSING, "place": False, "live": False, "last": False}
_UNSEEN = {key: value for key, value in _ALL.items() if key != "last"} | {"off_s": -1}


class Watched(NamedTuple):
    """What a step comes to: what is seen after it, the rules it broke, and those to ask of what it shows as done."""

    seen: Seen
    broken: tuple[Rule, ...]
    asked: tuple[Rule, ...]


class Monitor:
    """Watches one plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.of = plan, Facts(plan)
        self._asked: dict[tuple[object, ...], tuple[tuple[Rule, ...], tuple[Rule, ...]]] = {}

    def watch(self, move: Move) -> Watched:
        """Account for a step."""
        s, mode, phase, given, to, to_phase = move
        asked, shown = self._rules(mode, to, to_phase != phase, type(given))
        broken = tuple([rule for rule in asked if not rule.kept(self.of, move)]) if asked else ()
        after = self._after(move)
        return Watched(s if after is s or after == s else after, broken, shown)

    def _after(self, move: Move) -> Seen:
        s, mode, phase, given, to, to_phase = move
        after = self._see(s, mode, phase, given, to)
        if to_phase != phase or (to is GATE and after.last and mode is POWERED):
            after = after._replace(**_READINGS)
        if to_phase != phase or self._reads_badly(move):
            after = after._replace(spared=False)
        if to is DONE and mode is not DONE:
            after = after._replace(**_SOUND)
        after = after if after.last else after._replace(**soaking.NO_END)
        if to is not mode:
            after = after._replace(in_for=0, loose=frozenset(), full=0, rounds=0, stale=False)
            if to is not POWERED:
                after = after._replace(mains=False, limited=False, dim=False, dark=False, watched=False)
        return after

    def _reads_badly(self, move: Move) -> bool:
        """Does something read badly or did nobody watch, so that nothing is left out any more?"""
        s, mode, phase, given, to, _ = move
        if isinstance(given, e.Unwatched):
            return to is GATE
        if shorted(given):
            return mode is POWERED and to is GATE
        if isinstance(given, c.JudgeWinding):
            return mode is GATE and given.celsius > 150.0
        if stops(given):
            return mode in (BARE, GATE, HANDS) or (mode is POWERED and to is GATE)
        if isinstance(given, c.ReadOhms):
            return mode is CLOSING and given.ohm == 100.0 and self.plan.phases[phase].ohms is not None
        if not isinstance(given, c.ReadPoint) or not given.value < 90.0:
            return False
        if mode is POWERED:
            return self.of.reads(phase, given) and not s.limited and s.mains and not s.spared
        check = given.point == self.of.check_point(phase) and bool(s.alarm or s.again)
        own = self.of.reads(phase, given) and self.plan.phases[phase].kind == "hands"
        return mode in (BARE, HANDS) and (check or own or (given.point == "bond" and s.unwatched))

    def shown(self, asked: tuple[Rule, ...], state: State) -> tuple[Rule, ...]:
        """Those of the rules `asked` that a step broke by what `state` shows as done after it."""
        return tuple([rule for rule in asked if not rule.kept(self.of, state)])

    def standing(self, state: State, seen: Seen) -> tuple[Rule, ...]:
        """The rules that `state` breaks by what it shows as done, however it came about."""
        return tuple(rule for rule in STATES if not rule.kept(self.of, state, seen))

    def _rules(self, *way: object) -> tuple[tuple[Rule, ...], tuple[Rule, ...]]:
        """The rules to ask about steps of this kind."""
        if way not in self._asked:
            self._asked[way] = tuple(tuple(rule for rule in rules if rule.when(*way)) for rules in (STEPS, SHOWN))
        return self._asked[way]

    # -- the account

    def _see(self, s: Seen, mode: Mode, phase: int, given: object, to: Mode) -> Seen:
        if isinstance(given, e.Restarted) or to is HALT or to is READONLY:
            return self._unseen(s, mode, phase, to)
        if isinstance(given, e.Event):
            known = self._told(s, mode, phase, given)
            if known is not None:
                return known
        if mode is GATE:
            return self._gate(s, phase, given, to)
        if mode is HANDS:
            return self._hands(s, phase, given, to)
        if mode is CLOSING:
            return self._closing(s, phase, given, to)
        if mode is POWERED:
            return self._power(s, phase, given, to)
        return self._work(s, mode, phase, given, to)

    def _unseen(self, s: Seen, mode: Mode, phase: int, to: Mode) -> Seen:
        """Nobody knows what happened meanwhile; what was read cold stands."""
        if mode is DONE and to is DONE:
            return s
        powered = self.plan.phases[phase].kind == "power"
        kept = {**_UNSEEN, **(_READINGS if powered else {})}
        return s._replace(**kept, checked=s.checked and not powered)

    def _told(self, s: Seen, mode: Mode, phase: int, given: e.Event) -> Seen | None:
        """What means the same in every mode; None for all else."""
        match given:
            case e.Stopped():
                place = s.place and mode in (GATE, POWERED, BARE)
                return s._replace(**{**_ALL, **_READINGS, "checked": False, "place": place})
            case e.SaidNever() if mode is GATE and not s.told:
                return s._replace(told="never")
            case e.SaidMet() if mode is GATE and not s.told:
                return s._replace(told="met")
            case e.LeadAttached() if mode in (BARE, GATE, HANDS):
                return s._replace(**_ALL, told="met")
            case e.Disturbed() if mode is POWERED:
                return s._replace(live=False)
            case e.Disturbed():
                return s._replace(**_UNSEEN) if mode in (GATE, HANDS, CLOSING) else s
            case e.BrokeDown() if mode is DONE and self.plan.whole:
                return s._replace(**_ALL, **(_SOUND | {"alarm": "repair", "repair": True}), **_READINGS, unwatched=True)
            case e.BroughtBack() if mode is DONE and self.plan.whole:
                begun = _SOUND | {"alarm": "checkup", "checkup": True}
                return s._replace(**_ALL, **begun, **_READINGS, unwatched=True)
            case e.Unwatched():
                counts = self.of.behind(phase) and mode in (GATE, HANDS, CLOSING)
                last = s.last and not self.of.soak(phase)
                return s if not counts else s._replace(**_UNSEEN, unwatched=True, over=False, last=last)
        return None

    def _gate(self, s: Seen, phase: int, given: object, to: Mode) -> Seen:
        soak = self.of.soak(phase)
        if soak and (told := soaking.gate(self.of, soak, s, given)):
            return told
        s = soaking.ticked(s, given)
        if given is TICK:
            plug = min(s.since_plug + 1, 1 if self.of.fast else 0) if s.plug else 0
            full = self.of.ids <= s.first and s.told != "never"
            waited = min(s.waited + 1, 2) if full else s.waited
            on = (s.clip or s.linked) and self.of.held_down(s)
            return s._replace(since_plug=plug, waited=waited, clipped=1 if on else s.clipped)
        proved = s.plug and s.dc and (s.told == "never" or (s.ac and s.dead))
        match given:
            case e.PlugOut() if s.told != "never":
                return s._replace(plug=True)
            case e.NoLead() if s.told == "never":
                return s._replace(plug=True)
            case c.ProveMeter(kind=kind) if not bad(given):
                return self._proof(s, kind) if s.plug else s
            case c.ProveMeter():
                return s._replace(**_ROUNDS, dc=False, ac=False, dead=False, live=False)
            case c.ReadFallen(value_v=v) if s.live and v <= 150.0:
                return self._proof(s, "dc")._replace(live=False) if s.plug else s
            case c.ReadFallen() if s.live:
                return s._replace(**_GATE, live=False)
            case c.ReadMainsSide(value_v=v) if v < 10.0:
                return s._replace(dead=True) if s.plug and s.dc and (s.ac or s.told == "never") else s
            case c.ReadMainsSide():
                return s._replace(**_ALL)
            case c.ReadReservoir(id=id) if high(given):
                return s._replace(**_ROUNDS)
            case c.ReadReservoir(id=id):
                return self._low(s, id) if proved else s
            case c.ReadRail() if high(given):
                return s._replace(**_ROUNDS)
            case e.Bled():
                return s._replace(**_ROUNDS, place=False) if proved else s
            case c.ReadClip(ohm=ohm) if ohm in (2100.0, 0.2):
                full = self.of.ids <= s.first and (self.of.ids <= s.second or s.told == "never")
                return self._clip(s, ohm) if full else s
            case c.CountLinks(count=count):
                read = self.of.ids <= s.first and (s.dc2 if s.told == "never" else self.of.ids <= s.second and s.clip)
                return s._replace(linked=True, clipped=0, put=count) if read and count == self.of.due(s) else s
            case e.ClipOff():
                return s._replace(**_CLIP)
            case c.GoIn() if to is HANDS:
                s = s._replace(last=s.last and not self.of.soak(phase))
                spared = s.spared and not s.hot
                return s._replace(hot=False, live=False, found=s.found and not s.open, spared=spared)
            case e.Slipped() if s.plug and s.alarm == "stop":
                return s._replace(alarm="", checked=s.checked and s.again, found=False)
            case e.BackToPower() if to is CLOSING:
                return s._replace(**_GATE, **{**_CLOSING, "back": True}, live=False)
            case e.SaidBare() if to is BARE:
                return s._replace(**_GATE, live=False)
            case e.Finished() | e.FinishedShut() if to is DONE:
                return s._replace(**_GATE, live=False)
            case c.ReadPoint(point=point) if stops(given):
                own, checked = self.of.reads(phase, given), s.checked and point != self.of.check_point(phase)
                passed, warned = s.passed and not own, s.warned and not own
                return s._replace(live=False, last=False, passed=passed, warned=warned, checked=checked)
        return s

    def _clip(self, s: Seen, ohm: float) -> Seen:
        """HT+ to chassis, or the clip by itself where less than the clip was read there."""
        if s.shunted == "seen":
            return s._replace(shunted="alone") if ohm == 2100.0 else s
        if ohm == 2100.0 or s.shunted == "alone":
            return s._replace(clip=True, clipped=0, place=False, shunted="")
        return s._replace(shunted="seen")

    def _proof(self, s: Seen, kind: str) -> Seen:
        full = self.of.ids <= s.first and (self.of.ids <= s.second or s.told == "never")
        doubt = "settled" if s.doubt == "open" and kind == "dc" else s.doubt
        s = s._replace(doubt=doubt, **{kind: True})
        return s._replace(**{f"{kind}2": True}) if full else s

    def _low(self, s: Seen, id: str) -> Seen:
        first_full = self.of.ids <= s.first
        second = first_full and s.waited >= 2 and s.told != "never"
        if s.hot and id in self.of.fast and s.since_plug < 1 and s.doubt != "settled":
            s = s._replace(dc=False, ac=False, dc2=False, ac2=False, doubt="open", live=False)
            if second:
                return s._replace(second=s.second - {id}, **_CLIP)
            return s._replace(first=s.first - {id}, waited=0)
        s = s._replace(dc2=False, ac2=False)
        if not first_full:
            return s._replace(first=s.first | {id})
        return s._replace(second=s.second | {id}) if second else s

    def _wire(self, s: Seen, mode: Mode, phase: int, given: e.Made | e.Undone) -> Seen:
        """A wire is on, or loose: then what the stage reads without power is read again."""
        if isinstance(given, e.Made):
            due = (phase == 0 and not s.on) or (mode is HANDS and s.slack)
            looked = mode is BARE or s.in_for < 1
            return s._replace(on=True, slack=False) if due and looked and not s.exchanged else s
        if not s.on:
            return s
        if phase > 0 and self.of.behind(phase):
            s = s._replace(unwatched=True, over=False)
        s = s._replace(on=False, slack=True, spared=False)
        if self.plan.phases[phase].kind == "hands":
            return s._replace(passed=False, warned=False)
        return s._replace(again=bool(self.of.cold(phase)), checked=False)

    def _hands(self, s: Seen, phase: int, given: object, to: Mode) -> Seen:
        if to is GATE:
            return s._replace(**_ALL)
        if isinstance(given, (e.Made, e.Undone)):
            return self._wire(s, HANDS, phase, given)
        if to in (CLOSING, DONE) or isinstance(given, c.GoOn) and s.passed:
            s = s._replace(unwatched=s.unwatched and not s.over)
        if to is CLOSING:
            s = s._replace(**_GATE, **_CLOSING)
        due = s.in_for >= 1
        match given:
            case e.CauseFound() | e.CauseOpen() | e.Retest() | e.Accepted() if s.exchanged:
                return s
            case c.ReadPoint(value=value) if s.exchanged and 90.0 <= value <= 150.0:
                return s
            case e.CauseFound() | e.CauseOpen() | e.Retest():
                return s if due else self._cause(s, phase, given)
            case c.ReadPoint(point=point) if (s.alarm or s.again) and point == self.of.check_point(phase):
                good = s.checked if due else given.value >= 90.0
                return s._replace(checked=good and given.value <= 150.0)
            case e.Exchanged() if not due and not s.exchanged and self._may_exchange(s, phase):
                return s._replace(exchanged=True, last=False, spared=False)
            case e.PutBack() if s.exchanged and not due:
                again = bool(self.of.cold(phase))
                return s._replace(exchanged=False, spared=False, again=again, checked=s.checked and not again)
            case c.ReadPoint(point="bond") if s.unwatched:
                return s._replace(over=given.value >= 90.0 and (s.over or not due))
            case ("tick",):
                return s._replace(in_for=min(s.in_for + 1, 1))
            case e.Looked():
                return s._replace(in_for=0)
        return self._work(s, HANDS, phase, given, to)

    def _may_exchange(self, s: Seen, phase: int) -> bool:
        """Is nothing due before power, in a stage that has it?"""
        over = not s.unwatched or s.over
        return self.plan.phases[phase].kind == "power" and over and not s.named and self.of.cleared(s, phase)

    def _cause(self, s: Seen, phase: int, given: object) -> Seen:
        """What is told about a cause, and what is read again once parts were replaced."""
        asked = self.of.asks(s) and self.plan.phases[phase].kind == "power"
        match given:
            case e.CauseFound(text=text, parts=parts) if asked and text.strip():
                again = s.repair and not (s.alarm and parts) and bool(self.of.cold(phase))
                s = s._replace(checked=s.checked and not again, again=again if s.repair else s.again)
                return s._replace(found=True, open=False, named=s.repair and bool(parts), spared=False)
            case e.CauseOpen() if asked:
                return s._replace(found=True, open=True, named=False, spared=False)
            case e.Retest(again=again, spared=spared) if s.named and (not spared or self.of.may_spare(phase)):
                due = bool(set(again) & set(self.of.cold(phase)))
                return s._replace(named=False, again=due, spared=bool(spared), checked=s.checked and not due)
        return s

    def _work(self, s: Seen, mode: Mode, phase: int, given: object, to: Mode) -> Seen:
        """Readings of a phase without power."""
        if mode is DONE and to is GATE:
            return s._replace(**_ALL)
        if mode is BARE and isinstance(given, (e.Made, e.Undone)):
            return self._wire(s, BARE, phase, given)
        if mode is BARE and to is GATE:
            return s._replace(**(_ALL if high(given) or live(given) else {}))
        due = mode is HANDS and s.in_for >= 1
        here = mode in (BARE, HANDS) and self.plan.phases[phase].kind == "hands"
        if isinstance(given, c.ReadPoint) and self.of.reads(phase, given) and here:
            value = given.value
            if value > 150.0:
                return s._replace(passed=False, warned=False)
            if value < 90.0:
                return s._replace(passed=False, warned=True)
            return s if due else self._good(s, phase)
        if isinstance(given, e.Accepted) and self.of.accepts(s, phase, given) and here and not due:
            return s._replace(passed=True, warned=False)
        return self._fit(s, phase, given, due) if mode is HANDS else s

    def _fit(self, s: Seen, phase: int, given: object, due: bool) -> Seen:
        """A capacitor on the bench, and the step that fits it."""
        fits = frozenset(c.id for step in self.plan.phases[phase].steps for c in step.capacitors)
        if isinstance(given, c.ReadCapacitor) and given.id in fits:
            if not abs(given.value_v) < 10.0:
                return s._replace(loose=s.loose - {given.id})
            return s if due else s._replace(loose=s.loose | {given.id})
        if isinstance(given, e.StepDone) and fits and fits <= s.loose and not due:
            return s._replace(stepped=True)
        return s

    def _good(self, s: Seen, phase: int) -> Seen:
        """A good reading: complete either way, and open for good where the instrument that proves it is lacking."""
        point = self.plan.phases[phase].points[0]
        unproved = s.unproved | {point.id} if point.lacks else s.unproved - {point.id}
        return s._replace(passed=True, warned=False, unproved=unproved)

    def _closing(self, s: Seen, phase: int, given: object, to: Mode) -> Seen:
        if to is GATE:
            kept = {"last": s.last} if self.of.clip_seen(phase, given) else {}  # as after a touch
            return s._replace(**(_ALL | kept), off_s=-1)
        if to is POWERED:
            limited, before = isinstance(given, e.PowerOn) and bool(given.limiter), s.before
            s = s._replace(**_GATE, **_CLOSING, **_READINGS, live=False, last=False)
            s = s._replace(alarm="", checked=False, found=False, again=False)
            s = s._replace(mains=before)
            return s._replace(told="met", hot=True, place=True, limited=limited, dim=False, dark=False, watched=False)
        soak = self.of.soak(phase)
        if soak and (told := soaking.closing(self.of, soak, s, phase, given)):
            return told
        rails = not self.plan.phases[phase].rails or s.rail
        match given:
            case c.Overrule(reason=reason) if reason.strip() and self.plan.phases[phase].kind == "power":
                return s._replace(overruled=s.overruled | {phase})
            case c.ReadMains(value_v=230.0) if s.cover and self.plan.phases[phase].mains_before:
                return s._replace(before=True)
            case e.ClipOff() if not s.put:
                return s._replace(off=True)
            case c.CountLinksOff(count=count) if count == s.put:
                return s._replace(off=True, put=0)
            case e.Clear() if s.off or (s.back and s.place):
                return s._replace(clear=True)
            case c.ReadRail(value_v=v) if v < 10.0 and s.clear and self.plan.phases[phase].rails:
                return s._replace(rail=True)
            case c.ReadOhms(ohm=2150.0) if self.plan.phases[phase].ohms:
                return s._replace(off=False, clear=False, rail=False, ohms=False, cover=False)
            case c.ReadOhms(ohm=50e3) if self.plan.phases[phase].ohms and rails and s.clear:
                return s._replace(ohms=True)
            case c.ReadOhms(ohm=100.0) if self.plan.phases[phase].ohms:
                return s._replace(ohms=False, cover=False)
            case e.Covered() if s.clear and (s.back or self.of.inside(s, phase)):
                return s._replace(cover=True)
        return s

    def _power(self, s: Seen, phase: int, given: object, to: Mode) -> Seen:
        if to is GATE:
            ends = stops(given) or shorted(given)
            read = s.passed or self.of.spares(s, phase)
            s = s._replace(**_GATE, last=isinstance(given, c.GoOn) and phase == len(self.plan.phases) - 1 and read)
            if ends:
                alarm = "stop" if stops(given) else "short"
                return s._replace(**_READINGS, checked=False, found=False, live=False, alarm=alarm)
            soak = self.of.soak(phase)
            cools = isinstance(given, c.GoOn) and s.last and soak is not None and soak.winding is not None
            s = s._replace(off_s=0) if cools else s
            return s if isinstance(given, c.GoOn) else s._replace(**_READINGS)
        soak = self.of.soak(phase)
        if soak and (told := soaking.power(self.of, soak, s, phase, given)):
            return told
        match given:
            case c.SeeLimiter(dark=dark) if s.limited:
                sure = s.dark or not dark
                return s._replace(dim=sure, dark=not sure)
            case e.FullMains() if s.limited and s.dim and (s.watched or not self.of.limited(s, phase)):
                return s._replace(limited=False)
            case c.ReadMains(value_v=230.0) if not s.limited:
                return s._replace(mains=True, live=False)
            case c.ReadHt(value_v=v) if v >= 30.0:
                return s._replace(live=True)
            case c.GoOn() if s.passed and to is POWERED:
                return s._replace(live=False)
            case c.ReadPoint() if s.spared and not self.of.limited(s, phase):
                return s  # it is not asked
            case c.ReadPoint() if self.of.reads(phase, given) and s.limited:
                return s._replace(watched=given.value >= 90.0 or s.exchanged, dark=False, live=False)
            case c.ReadPoint() if s.exchanged and not s.limited:
                return s._replace(live=s.live and not (self.of.reads(phase, given) and s.mains))
            case c.ReadPoint() if self.of.reads(phase, given) and s.mains:
                return s._replace(passed=given.value >= 90.0, warned=given.value < 90.0, live=False)
            case e.Accepted() if self.of.accepts(s, phase, given):
                return s._replace(passed=True, warned=False)
        return s
