"""What a watcher of a bring-up keeps in mind: its account of what was typed, and what it makes of a single input."""

from __future__ import annotations

from typing import NamedTuple

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.plan import Plan, Soak
from benchtui.procedure.state import Mode

BARE, GATE, HANDS, CLOSING, POWERED, HALT, READONLY, DONE = Mode

#: A second on the steady clock.
TICK = ("tick",)


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
    shunted: str = ""  # less than the clip was read: "seen", and "alone" once it was read by itself
    clip: bool = False
    linked: bool = False
    clipped: int = 0
    dc2: bool = False
    ac2: bool = False
    doubt: str = ""
    hot: bool = False  # power was on since hands were last in
    live: bool = False  # an HT reading typed just before power-down still stands
    put: int = 0  # links that were put on and not counted off again
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
    alarm: str = ""  # why power ended or what was begun, until it is on again or a stop was typed to be a slip
    checked: bool = False  # since then every check of the stage without power was read once more
    found: bool = False  # and what was found was typed
    overruled: frozenset[int] = frozenset()  # phases that get power although something speaks against it
    unwatched: bool = False  # left for long or moved, and not looked over since
    over: bool = False  # the look over's reading was good since then
    repair: bool = False  # it was finished and has stopped working
    checkup: bool = False  # it was finished, works, and was brought back
    open: bool = False  # the cause was told not to be found
    named: bool = False  # parts were named as the cause, and what is read again is not settled
    again: bool = False  # the check without power is due once more, whatever it read before
    spared: bool = False  # the phase's own point is not read again, and nothing has read badly since
    exchanged: bool = False  # something is exchanged to find a fault, and not put back
    on: bool = False  # the wire of the first phase is on
    slack: bool = False  # it was, and is told to be loose
    in_for: int = 0
    screwed: bool = False  # the cover went on with its last screw
    outside: bool = False  # what is read from outside was good since then
    full: int = 0  # seconds of full mains
    rounds: int = 0  # rounds of a soak's readings that are over
    stale: bool = False  # mains was not read yet in this round
    room: bool = False
    cold: bool = False  # the winding was read cold
    off_s: int = -1  # since the end of the soak; -1 where nobody knows
    cooled: tuple[int, ...] = ()  # when it was read since
    verdict: str = ""
    left: bool = False  # its temperature was told not to be measured


class Move(NamedTuple):
    """One input: what was seen before it, the mode and phase in which it came and those that it led to."""

    seen: Seen
    mode: Mode
    phase: int
    given: object
    to: Mode
    to_phase: int


class Facts:
    """What the watcher knows of a plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.ids = frozenset(r.id for r in plan.phases[0].reservoirs)
        self.links = len(plan.phases[0].links)
        self.beside = sum(not link.clipped for link in plan.phases[0].links)
        self.fast = frozenset(r.id for r in plan.phases[0].reservoirs if r.fastest_s)
        self.wired = any(step.makes for step in plan.phases[0].steps)
        self._checks = tuple(self._checks_of(n) for n in range(len(plan.phases)))

    def _checks_of(self, phase: int) -> int | None:
        here = self.plan.phases[phase]
        before = [n for n, each in enumerate(self.plan.phases) if each.stage == here.stage and each.kind == "hands"]
        return before[0] if before and here.kind == "power" else None

    def behind(self, phase: int) -> bool:
        """Has a phase with power begun?"""
        return any(each.kind == "power" for each in self.plan.phases[: phase + 1])

    def check_point(self, phase: int) -> str:
        """The point that the stage of a power phase reads without power; "" if none."""
        checks = self._checks[phase]
        return "" if checks is None else self.plan.phases[checks].points[0].id

    def due(self, s: Seen) -> int:
        """How many links are due: all that the clip does not drain, without a clip all."""
        return self.links if s.told == "never" else self.beside

    def held_down(self, s: Seen) -> bool:
        """Are the clip, where there is one, and the links on?"""
        return (s.clip or s.told == "never") and (s.linked or not self.due(s))

    def nothing_to_link(self, s: Seen) -> bool:
        """A chassis that never met mains and in which nothing is fitted."""
        return s.told == "never" and not self.links

    def cleared(self, s: Seen, phase: int) -> bool:
        """After an alarm: its checks read again, where the stage has any, and what was found told, or that it is open;
        where something was mended, the checks that are due for it. Before a check-up's power its checks alone."""
        checked = s.checked or self._checks[phase] is None
        told = s.found or s.back or not self.asks(s)
        return told and (checked or not (s.alarm or s.again))

    def asks(self, s: Seen) -> bool:
        """Is a cause asked for?"""
        return s.open or s.alarm not in ("", "checkup")

    @property
    def last(self) -> int:
        """The last phase with power."""
        return max(n for n, each in enumerate(self.plan.phases) if each.kind == "power")

    def limited(self, s: Seen, phase: int) -> bool:
        """Is a point read under the limiter?"""
        return bool(self.plan.phases[phase].limited) and not ((s.repair or s.checkup) and phase == self.last)

    def cold(self, phase: int) -> tuple[str, ...]:
        """The ids of what a phase checks without power."""
        return tuple(filter(None, (self.check_point(phase),)))

    def may_spare(self, phase: int) -> bool:
        """May the phase's own point be left out at all?"""
        here = self.plan.phases[phase]
        return here.kind == "power" and here.points[0].guards is None

    def soak(self, phase: int) -> Soak | None:
        """The soak of a phase, where it has one."""
        return self.plan.phases[phase].soak

    def spares(self, s: Seen, phase: int) -> bool:
        """Is it left out, with the power at full mains, and the mains read?"""
        return s.spared and self.may_spare(phase) and s.mains and not s.limited

    def inside(self, s: Seen, phase: int) -> bool:
        """Rails and ohms of the closing, as far as the phase has any."""
        here = self.plan.phases[phase]
        return (s.rail or not here.rails) and (s.ohms or here.ohms is None)

    def clip_seen(self, phase: int, given: object) -> bool:
        """Is the bleed clip still on, by its ohms or as typed?"""
        by_ohms = isinstance(given, c.ReadOhms) and given.ohm == 2150.0 and self.plan.phases[phase].ohms is not None
        return by_ohms or isinstance(given, c.SeeClip)

    def reads(self, phase: int, given: object) -> bool:
        """Is it a reading of the phase's own point, or about it?"""
        return getattr(given, "point", "") == self.plan.phases[phase].points[0].id

    def accepts(self, s: Seen, phase: int, given: e.Accepted) -> bool:
        """Does it accept a warn of the phase, with a reason, where one may be?"""
        guarded = self.plan.phases[phase].points[0].guards
        return s.warned and self.reads(phase, given) and guarded is None and bool(given.reason.strip())


def high(given: object) -> bool:
    """A reservoir or rail at or over the threshold."""
    return isinstance(given, (c.ReadReservoir, c.ReadRail)) and not abs(given.value_v) < 10.0


def live(given: object) -> bool:
    """Mains on the mains side."""
    return isinstance(given, c.ReadMainsSide) and not given.value_v < 10.0


def bad(given: object) -> bool:
    """A meter that did not read its known source."""
    return isinstance(given, c.ProveMeter) and not 1.0 <= given.value_v <= 60.0


def shorted(given: object) -> bool:
    """A limiter that shows a short."""
    return isinstance(given, c.SeeLimiter) and given.short


def stops(given: object) -> bool:
    """A reading beyond a limit."""
    return isinstance(given, c.ReadPoint) and given.value > 150.0
