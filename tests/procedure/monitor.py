"""A watcher of a bring-up that sees what is typed and which mode the program shows, and none of its flags.

It keeps its own account of what was borne out, by the rules of gate, closing and power, and names each rule that a
step breaks. Numbers are those of the rules as DEVELOPERS.md lists them.
"""

from __future__ import annotations

from typing import NamedTuple

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode

BARE, GATE, HANDS, CLOSING, POWERED, HALT, READONLY, DONE = Mode


class Seen(NamedTuple):
    """What was seen so far, as far as it still bears."""

    told: str = ""  # "never" or "met", as typed first; "met" after any power
    plug: bool = False
    since_plug: int = 0
    dc: bool = False
    ac: bool = False
    dead: bool = False
    first: frozenset[str] = frozenset()
    waited: int = 0
    second: frozenset[str] = frozenset()
    clip: bool = False
    clipped: int = 0
    dc2: bool = False
    ac2: bool = False
    doubt: str = ""
    hot: bool = False  # power was on since hands were last in
    live: bool = False  # an HT reading typed just before power-down still stands
    place: bool = False  # the clip is known off since before the last power
    back: bool = False
    off: bool = False
    clear: bool = False
    rail: bool = False
    ohms: bool = False
    cover: bool = False
    before: bool = False  # mains was read at an outlet since the cover went on
    limited: bool = False
    dim: bool = False
    dark: bool = False  # the limiter was seen dark where it should not be, and that alone is asked again
    watched: bool = False
    mains: bool = False
    passed: bool = False
    warned: bool = False
    last: bool = False
    unproved: frozenset[str] = frozenset()  # points whose last good reading was by no instrument that proves them
    loose: frozenset[str] = frozenset()  # capacitors on the bench read low since hands went in
    stepped: bool = False
    alarm: str = ""  # "short" or "stop": why power ended, until it is on again or was typed to be a slip
    checked: bool = False  # since then every check of the stage without power was read once more
    found: bool = False  # and what was found was typed
    overruled: frozenset[int] = frozenset()  # phases that get power although something speaks against it
    unwatched: bool = False  # left for long or moved, and not looked over since
    over: bool = False  # the look over's reading was good since then
    in_for: int = 0
    looked: frozenset[str] = frozenset()


_GATE = dict(
    plug=False, since_plug=0, dc=False, ac=False, dead=False, first=frozenset(), waited=0, second=frozenset(),
    clip=False, clipped=0, dc2=False, ac2=False, doubt="",
)  # fmt: skip
_CLOSING = dict(back=False, off=False, clear=False, rail=False, ohms=False, cover=False, before=False)
_READINGS = dict(passed=False, warned=False, mains=False, loose=frozenset(), stepped=False, over=False)
_ROUNDS = dict(first=frozenset(), waited=0, second=frozenset(), clip=False, clipped=0, dc2=False, ac2=False)
_ALL = {**_GATE, **_CLOSING, "place": False, "live": False, "last": False}


class Monitor:
    """Watches one plan; `step` gives what is seen after an input and the rules that the step broke."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.ids = frozenset(r.id for r in plan.phases[0].reservoirs)
        self.fitted = any(not r.presumed for r in plan.phases[0].reservoirs)
        self.undrained = frozenset(r.id for r in plan.phases[0].reservoirs if not r.clipped)
        self.fast = frozenset(r.id for r in plan.phases[0].reservoirs if r.fastest_s)

    def gate_done(self, s: Seen) -> bool:
        """Rules 1 to 8, 37 and 40: everything that hands in need, by what was typed."""
        if not (s.plug and s.dc and self.ids <= s.first and self.clip_done(s) and s.dc2):
            return False
        full = s.ac and s.dead and s.waited >= 2 and self.ids <= s.second and s.ac2 and s.doubt != "open"
        return s.told == "never" or full

    def clip_done(self, s: Seen) -> bool:
        """The clip or links for their time; none where nothing is fitted in a chassis that never met mains."""
        return (s.clip and s.clipped >= 1) or (s.told == "never" and not self.fitted)

    def step(
        self, s: Seen, mode: Mode, phase: int, given: object, to: Mode, to_phase: int
    ) -> tuple[Seen, tuple[str, ...]]:
        """Account for `given` in `mode`, which led to `to`."""
        broken = tuple(rule for rule in self._rules(s, mode, phase, given, to, to_phase) if rule)
        after = self._see(s, mode, phase, given, to)
        if to_phase != phase or (to is GATE and after.last and mode is POWERED):
            after = after._replace(**_READINGS)
        if to is not mode:
            after = after._replace(in_for=0, looked=frozenset(), loose=frozenset())
        if to is not mode and to is not POWERED:
            after = after._replace(mains=False)
        if to is not mode and to is not POWERED:
            after = after._replace(limited=False, dim=False, dark=False, watched=False)
        return after, broken

    # -- the rules

    def _rules(self, s: Seen, mode: Mode, phase: int, given: object, to: Mode, to_phase: int):  # noqa: ANN202
        kind = self.plan.phases[phase].kind
        if to is HANDS and mode is not HANDS:
            yield "" if mode is GATE else "9 hands in from elsewhere than the gate"
            yield "" if isinstance(given, c.GoIn) else "10 hands in unasked"
            yield "" if self.gate_done(s) else "1-8 hands in without the gate"
        if mode is HANDS and to is HANDS:
            yield "11 clip off with hands in" if isinstance(given, e.ClipOff) else ""
            yield "12 charge with hands in" if _high(given) else ""
            yield "13 bad meter with hands in" if _bad(given) else ""
            yield "39 mains with hands in" if _live(given) else ""
            yield "touched with hands in" if isinstance(given, e.Disturbed | e.LeadAttached | e.LookFailed) else ""
        if to is POWERED and mode is not POWERED:
            yield "" if mode is CLOSING and isinstance(given, e.PowerOn) else "14-15 power from elsewhere or unasked"
            yield "" if (s.off or (s.back and s.place)) and s.clear and s.cover else "16-18 power without closing"
            yield "" if s.before or not self.plan.phases[phase].mains_before else "power before mains was read"
            yield "back to power without a limiter" if s.back and not given.limiter else ""
            yield "power on an alarm without its checks" if s.alarm and not self._cleared(s, phase) else ""
            yield "power in a chassis that nobody watched" if s.unwatched else ""
            yield "" if s.back or self._inside(s, phase) else "closing readings missing"
            yield "" if kind == "power" else "19 power in a stage without"
            yield "" if not self.plan.objections or phase in s.overruled else "power against an open objection"
        if to_phase != phase:
            yield "" if to_phase == phase + 1 else "20 stages skipped"
            yield "" if isinstance(given, c.GoOn) else "22 stage moved unasked"
            yield "" if s.passed else "21 stage moved without its readings"
            yield "" if s.stepped or not self.plan.phases[phase].steps else "a capacitor fitted that was not read"
            yield "44 moved on with a look due" if mode is HANDS and s.in_for >= 1 else ""
        if isinstance(given, e.Stopped) and mode not in (HALT, READONLY):
            yield "" if to is GATE else "23 STOP did not lead to the gate"
        if isinstance(given, e.Restarted):
            yield "" if to is (DONE if mode is DONE else GATE) else "25 restart elsewhere than at the gate"
            yield "" if to_phase == phase else "27 restart moved the stage"
        elif mode in (HALT, READONLY):
            yield "" if to in (HALT, READONLY) else "29-30 something went on"
        if mode is POWERED and (_stops(given) or _shorted(given)):
            yield "" if to is GATE else "28 power on after a stop reading"
        if {mode, to} == {POWERED, HANDS}:
            yield "33 power and hands in one step"
        if to is BARE and mode is not BARE:
            ok = mode is GATE and isinstance(given, e.SaidBare) and self.plan.phases[phase].bare and s.told != "met"
            yield "" if ok else "bare without being so"
        if to is BARE:
            yield "" if self.plan.phases[to_phase].bare else "bare goes on in a stage that is not"
        if mode is CLOSING and to is CLOSING:
            yield "charge while closing" if _high(given) or _live(given) else ""
        if to is CLOSING and mode is GATE:
            yield "" if s.place and isinstance(given, e.BackToPower) else "16 back to power, clip not known off"
            yield "" if s.plug else "back to power with the plug in"
            yield "back to power on an alarm" if s.alarm else ""
        if to in (CLOSING, DONE) and mode is HANDS:
            yield "" if s.over or not s.unwatched else "hands out without the look over"
        if to is CLOSING and mode is HANDS and kind == "power":
            yield "" if self._cleared(s, phase) else "hands out on an alarm without its checks"
        if mode is CLOSING and to is CLOSING and s.back:
            yield "the clip seen on a charged chassis" if self._clip_seen(phase, given) else ""
        if to is DONE and mode is not DONE:
            done = s.passed if mode is HANDS else mode is GATE and s.last and self.gate_done(s)
            yield "" if done and phase == len(self.plan.phases) - 1 else "finished too early"
        if mode is DONE and to is DONE:
            yield "DONE kept" if isinstance(given, e.ClipOff) or _high(given) or _live(given) or _stops(given) else ""

    def _inside(self, s: Seen, phase: int) -> bool:
        here = self.plan.phases[phase]
        return (s.rail or not here.rails) and (s.ohms or here.ohms is None)

    def _clip_seen(self, phase: int, given: object) -> bool:
        by_ohms = isinstance(given, c.ReadOhms) and given.ohm == 2150.0 and self.plan.phases[phase].ohms is not None
        return by_ohms or isinstance(given, c.SeeClip)

    def _cleared(self, s: Seen, phase: int) -> bool:
        """After an alarm: its checks read again, where the stage has any, and what was found told."""
        return not s.alarm or ((s.checked or self._checks(phase) is None) and s.found)

    def _checks(self, phase: int) -> int | None:
        """The phase that holds the checks without power of the stage of a power phase."""
        here = self.plan.phases[phase]
        before = [n for n, each in enumerate(self.plan.phases) if each.stage == here.stage and each.kind == "hands"]
        return before[0] if before and here.kind == "power" else None

    # -- the account

    def _see(self, s: Seen, mode: Mode, phase: int, given: object, to: Mode) -> Seen:
        unseen = isinstance(given, e.Restarted) or to in (HALT, READONLY)
        if unseen:
            kind = self.plan.phases[phase].kind
            kept = {**_ALL, **(_READINGS if kind == "power" else {})}
            kept.pop("last")
            kept["checked"] = s.checked and kind != "power"
            return s if mode is DONE and to is DONE else s._replace(**kept)
        if isinstance(given, e.Stopped):
            place = s.place and mode in (GATE, POWERED, BARE)
            return s._replace(**{**_ALL, **_READINGS, "checked": False, "place": place})
        if isinstance(given, e.SaidNever | e.SaidMet) and mode is GATE and not s.told:
            return s._replace(told="never" if isinstance(given, e.SaidNever) else "met")
        if isinstance(given, e.LeadAttached) and mode in (BARE, GATE, HANDS):
            return s._replace(**_ALL, told="met")
        if isinstance(given, e.Disturbed):
            if mode is POWERED:
                return s._replace(live=False)
            kept = {key: value for key, value in _ALL.items() if key != "last"}
            return s._replace(**kept) if mode in (GATE, HANDS, CLOSING) else s
        if isinstance(given, e.Unwatched):
            behind = any(each.kind == "power" for each in self.plan.phases[: phase + 1])
            if not behind or mode not in (GATE, HANDS, CLOSING):
                return s
            kept = {key: value for key, value in _ALL.items() if key != "last"}
            return s._replace(**kept, unwatched=True, over=False)
        watch = {GATE: self._gate, HANDS: self._hands, CLOSING: self._closing, POWERED: self._power}.get(mode)
        if watch is not None:
            return watch(s, phase, given, to)
        return self._work(s, mode, phase, given, to)

    def _gate(self, s: Seen, phase: int, given: object, to: Mode) -> Seen:
        if given == ("tick",):
            plug = min(s.since_plug + 1, 1 if self.fast else 0) if s.plug else 0
            full = self.ids <= s.first and s.told != "never"
            waited = min(s.waited + 1, 2) if full else s.waited
            return s._replace(since_plug=plug, waited=waited, clipped=min(s.clipped + 1, 1) if s.clip else 0)
        proved = s.plug and s.dc and (s.told == "never" or (s.ac and s.dead))
        match given:
            case e.PlugOut() if s.told != "never":
                return s._replace(plug=True)
            case e.NoLead() if s.told == "never":
                return s._replace(plug=True)
            case c.ProveMeter(kind=kind) if not _bad(given):
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
            case c.ReadReservoir(id=id) if _high(given):
                return s._replace(**_ROUNDS)
            case c.ReadReservoir(id=id):
                return self._low(s, id) if proved else s
            case c.ReadRail() if _high(given):
                return s._replace(**_ROUNDS)
            case e.Bled():
                return s._replace(**_ROUNDS, place=False) if proved else s
            case c.ReadClip(ohm=2100.0):
                full = self.ids <= s.first and (self.ids <= s.second or s.told == "never")
                return s._replace(clip=True, clipped=0, place=False) if full else s
            case c.CountLinks():
                ok = s.told == "never" and self.fitted and self.ids <= s.first and s.dc2
                return s._replace(clip=True, clipped=0) if ok else s
            case e.ClipOff():
                return s._replace(clip=False, clipped=0)
            case c.GoIn() if to is HANDS:
                return s._replace(hot=False, live=False)
            case e.Slipped() if s.plug and s.alarm == "stop":
                return s._replace(alarm="", checked=False, found=False)
            case e.BackToPower() if to is CLOSING:
                return s._replace(**_GATE, **{**_CLOSING, "back": True}, live=False)
            case e.SaidBare() if to is BARE:
                return s._replace(**_GATE, live=False)
            case e.Finished() if to is DONE:
                return s._replace(**_GATE, live=False)
            case c.ReadPoint(point=point) if _stops(given):
                own, checked = self._of(phase, given), s.checked and point != self._check_point(phase)
                passed, warned = s.passed and not own, s.warned and not own
                return s._replace(live=False, last=False, passed=passed, warned=warned, checked=checked)
        return s

    def _proof(self, s: Seen, kind: str) -> Seen:
        full = self.ids <= s.first and (self.ids <= s.second or s.told == "never")
        doubt = "settled" if s.doubt == "open" and kind == "dc" else s.doubt
        s = s._replace(doubt=doubt, **{kind: True})
        return s._replace(**{f"{kind}2": True}) if full else s

    def _low(self, s: Seen, id: str) -> Seen:
        first_full = self.ids <= s.first
        second = first_full and s.waited >= 2 and s.told != "never"
        if s.hot and id in self.fast and s.since_plug < 1 and s.doubt != "settled":
            s = s._replace(dc=False, ac=False, dc2=False, ac2=False, doubt="open", live=False)
            if second:
                return s._replace(second=s.second - {id}, clip=False, clipped=0)
            return s._replace(first=s.first - {id}, waited=0)
        s = s._replace(dc2=False, ac2=False)
        if not first_full:
            return s._replace(first=s.first | {id})
        return s._replace(second=s.second | {id}) if second else s

    def _hands(self, s: Seen, phase: int, given: object, to: Mode) -> Seen:
        if to is GATE:
            return s._replace(**_ALL)
        if to in (CLOSING, DONE) or isinstance(given, c.GoOn) and s.passed:
            s = s._replace(unwatched=s.unwatched and not s.over)
        if to is CLOSING:
            s = s._replace(**_GATE, **_CLOSING)
        due = s.in_for >= 1
        match given:
            case e.CauseFound(text=text) if text.strip() and not due:
                return s._replace(found=True)
            case c.ReadPoint(point=point) if s.alarm and point == self._check_point(phase):
                good = s.checked if due else given.value >= 90.0
                return s._replace(checked=good and given.value <= 150.0)
            case c.ReadPoint(point="bond") if s.unwatched:
                return s._replace(over=given.value >= 90.0 and (s.over or not due))
            case ("tick",):
                return s._replace(in_for=min(s.in_for + 1, 1))
            case c.ReadReservoir(id=id):
                return s._replace(looked=s.looked | {id})
            case e.Looked() if s.told == "never" or self.undrained <= s.looked:
                return s._replace(in_for=0, looked=frozenset())
        return self._work(s, HANDS, phase, given, to)

    def _check_point(self, phase: int) -> str:
        checks = self._checks(phase)
        return "" if checks is None else self.plan.phases[checks].points[0].id

    def _work(self, s: Seen, mode: Mode, phase: int, given: object, to: Mode) -> Seen:
        """Readings of a phase without power."""
        if mode is DONE and to is GATE:
            return s._replace(**_ALL)
        if mode is BARE and to is GATE:
            return s._replace(**(_ALL if _high(given) or _live(given) else {}))
        due = mode is HANDS and s.in_for >= 1
        here = mode in (BARE, HANDS) and self.plan.phases[phase].kind == "hands"
        if isinstance(given, c.ReadPoint) and self._of(phase, given) and here:
            value = given.value
            if value > 150.0:
                return s._replace(passed=False, warned=False)
            if value < 90.0:
                return s._replace(passed=False, warned=True)
            return s if due else self._good(s, phase)
        if isinstance(given, e.Accepted) and self._accepts(s, phase, given) and here and not due:
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
            kept = {"last": s.last} if self._clip_seen(phase, given) else {}  # as after a touch
            return s._replace(**(_ALL | kept))
        if to is POWERED:
            limited, before = isinstance(given, e.PowerOn) and bool(given.limiter), s.before
            s = s._replace(**_GATE, **_CLOSING, **_READINGS, live=False, last=False)
            s = s._replace(alarm="", checked=False, found=False)
            s = s._replace(mains=before)
            return s._replace(told="met", hot=True, place=True, limited=limited, dim=False, dark=False, watched=False)
        rails = not self.plan.phases[phase].rails or s.rail
        match given:
            case c.Overrule(reason=reason) if reason.strip() and self.plan.phases[phase].kind == "power":
                return s._replace(overruled=s.overruled | {phase})
            case c.ReadMains() if s.cover and self.plan.phases[phase].mains_before:
                return s._replace(before=True)
            case e.ClipOff():
                return s._replace(off=True)
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
            case e.Covered() if s.clear and (s.back or self._inside(s, phase)):
                return s._replace(cover=True)
        return s

    def _power(self, s: Seen, phase: int, given: object, to: Mode) -> Seen:
        if to is GATE:
            ends = _stops(given) or _shorted(given)
            s = s._replace(**_GATE, last=isinstance(given, c.GoOn) and phase == len(self.plan.phases) - 1)
            if ends:
                alarm = "stop" if _stops(given) else "short"
                return s._replace(**_READINGS, checked=False, found=False, live=False, alarm=alarm)
            return s if isinstance(given, c.GoOn) else s._replace(**_READINGS)
        match given:
            case c.SeeLimiter(dark=dark) if s.limited:
                sure = s.dark or not dark
                return s._replace(dim=sure, dark=not sure)
            case e.FullMains() if s.limited and s.dim and (s.watched or not self.plan.phases[phase].limited):
                return s._replace(limited=False)
            case c.ReadMains() if not s.limited:
                return s._replace(mains=True, live=False)
            case c.ReadHt():
                return s._replace(live=True)
            case c.GoOn() if s.passed and to is POWERED:
                return s._replace(live=False)
            case c.ReadPoint() if self._of(phase, given) and s.limited:
                return s._replace(watched=given.value >= 90.0, dark=False, live=False)
            case c.ReadPoint() if self._of(phase, given) and s.mains:
                return s._replace(passed=given.value >= 90.0, warned=given.value < 90.0, live=False)
            case e.Accepted() if self._accepts(s, phase, given):
                return s._replace(passed=True, warned=False)
        return s

    def _of(self, phase: int, given: object) -> bool:
        return getattr(given, "point", "") == self.plan.phases[phase].points[0].id

    def _accepts(self, s: Seen, phase: int, given: e.Accepted) -> bool:
        guarded = self.plan.phases[phase].points[0].guards
        return s.warned and self._of(phase, given) and guarded is None and bool(given.reason.strip())


def _high(given: object) -> bool:
    return isinstance(given, c.ReadReservoir | c.ReadRail) and not abs(given.value_v) < 10.0


def _live(given: object) -> bool:
    return isinstance(given, c.ReadMainsSide) and not given.value_v < 10.0


def _bad(given: object) -> bool:
    return isinstance(given, c.ProveMeter) and not 1.0 <= given.value_v <= 60.0


def _shorted(given: object) -> bool:
    return isinstance(given, c.SeeLimiter) and given.short


def _stops(given: object) -> bool:
    return isinstance(given, c.ReadPoint) and given.value > 150.0
