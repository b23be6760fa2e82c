"""Where the work stands: the state that events are folded into.

Named tuples, since the tests walk through millions of them; they are compared and hashed much faster.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Literal, NamedTuple

from benchtui.procedure.plan import Phase, Plan, Step, Work, checks, made_steps


class Mode(StrEnum):
    """OFF_GATE is where all begins: assume live and charged. HALT: not recording. READONLY: locked out."""

    BARE = "bare"
    OFF_GATE = "gate"
    HANDS = "hands"
    CLOSING = "closing"
    POWERED = "powered"
    HALT = "halt"
    READONLY = "readonly"
    DONE = "done"


class Gate(NamedTuple):
    """The items before hands go in, each with the seconds it has stood where time counts; `clip_s` counts from the
    last of clip and links.

    A chassis that never met mains has a shorter gate: `plug` then says that no lead is attached, and there are links
    alone.
    """

    plug: bool = False
    plug_s: float = 0.0
    dc: bool = False
    ac: bool = False
    mains: bool = False
    first: frozenset[str] = frozenset()
    wait_s: float = 0.0
    second: frozenset[str] = frozenset()
    shunted: Literal["", "seen", "alone"] = ""
    """HT+ to chassis reads less than the clip: it is to be read alone, or was, and is to be on again."""

    clip: bool = False
    links: bool = False
    clip_s: float = 0.0
    dc_again: bool = False
    ac_again: bool = False
    doubt: Literal["none", "open", "settled"] = "none"
    fitted: bool = False
    """In a bare phase: a lead or a part that may be charged is fitted all the same."""

    charged: str = ""
    """The reservoir that was read charged last, while bleeding it is offered."""


class Closing(NamedTuple):
    """The items between hands out and power on.

    `back`: no hands were in since the last power, so nothing inside is asked.
    """

    back: bool = False
    clip_off: bool = False
    clear: bool = False
    rails: frozenset[str] = frozenset()
    ohms: bool = False
    cover: bool = False
    mains_v: float | None = None
    """Mains as read at an outlet just before power."""


class Trimming(NamedTuple):
    """Where the bias trim stands: HT read for this pass, the pots found inside their target in it, the round.

    A round is over after a pass in which no pot had to be turned. Round 0 is the first; the others fall due
    at the plan's marks, counted in `since_s` from the end of round 0.
    """

    round: int = 0
    since_s: float = 0.0
    ht_v: float | None = None
    inside: frozenset[str] = frozenset()
    turned: bool = False


class Soaking(NamedTuple):
    """Where the readings of a soak stand: how many rounds are over, and whether mains is to be read for this one."""

    round: int = 0
    stale: bool = False


class Wound(NamedTuple):
    """What is known of the mains winding's temperature: the room and its ohms cold, then as it cools.

    `off_s` is counted from the end of the soak, None where nobody knows. `verdict` is that of its temperature; `left`:
    it is not measured, as was typed.
    """

    room_c: float | None = None
    cold_ohm: float | None = None
    off_s: float | None = None
    hot: tuple[tuple[float, float], ...] = ()
    verdict: Literal["", "warned", "read"] = ""
    left: bool = False


class State(NamedTuple):
    """Everything that decides what may come next. `phase` is an index into the plan's phases."""

    mode: Mode = Mode.OFF_GATE
    phase: int = 0
    mains: Literal["unknown", "never", "met"] = "unknown"
    """Whether the chassis was ever connected to mains, as typed once; any power-on is `met` for good."""

    gate: Gate = Gate()
    closing: Closing = Closing()
    clip_off: bool = False
    """The clip is known to be off since before the last power."""

    links_on: int = 0
    """How many bleed links were put on, until as many are counted off: also after a STOP or a restart."""

    powered: bool = False
    """Power was on since hands were last in."""

    pending_v: float | None = None
    """The HT reading typed just before power-down: the live half of the meter's proof."""

    hands_s: float = 0.0
    bench_low: frozenset[str] = frozenset()
    """Capacitors on the bench that were read under the threshold in this stay with hands in."""

    bench_high: str = ""
    """The one of them that was read charged last."""

    alarm: Literal["", "short", "stop", "repair", "checkup"] = ""
    """Why power ended last, if it was a limiter that showed a short, a reading beyond a limit, or a finished amplifier
    that stopped working or is brought back, until power is on again. A stop reading that was a slip of the meter is
    none."""

    found: bool = False
    """It was told what the alarm came from, or that nobody knows yet."""

    cause_open: bool = False
    """It was told that the cause is not found: power comes through a limiter, and the question again with hands in."""

    repair: bool = False
    """A finished amplifier has stopped working, and is not finished again."""

    checkup: bool = False
    """A finished amplifier that works was brought back, and is not finished again."""

    told: frozenset[str] = frozenset()
    """What of the plan's story was told, or skipped."""

    replaced: frozenset[str] = frozenset()
    """Parts that were named as the cause, until it is settled what is read again."""

    again: frozenset[str] = frozenset()
    """Checks without power that are read once more before the next power, beside those of an alarm."""

    spared: frozenset[str] = frozenset()
    """Points whose earlier pass stands, since what was replaced cannot move them; as long as all else reads well."""

    exchange: str = ""
    """What is exchanged, pulled or opened to find a fault, until it is told to be put back: also after a restart."""

    tried: str = ""
    """The point that is to be read with that; "" once it was."""

    made: frozenset[str] = frozenset()
    """Steps whose wire is on or whose hole is done, of any phase: through STOP, restart and a changed build file."""

    undone: frozenset[str] = frozenset()
    """Those of them that were told to be so no longer, until they are made again."""

    unwatched: bool = False
    """The chassis was left for long or moved since power was last on: before the next power it is looked over."""

    overruled: frozenset[tuple[str, str]] = frozenset()
    """(Phase, objection) of every decision to power it all the same."""

    limiter: str = ""
    """What the mains goes through while power is limited; "" at full mains."""

    limiter_good: bool = False
    watched: frozenset[str] = frozenset()
    """Points that under the limiter were read inside their limits and not as nothing at all."""

    full_s: float = 0.0
    mains_v: float | None = None
    read: frozenset[str] = frozenset()
    """Points with a pass or an accepted warn, or not measured for want of an instrument, and steps done, in the
    present phase."""

    warned: frozenset[str] = frozenset()
    unproved: frozenset[str] = frozenset()
    """Points of any phase that were read for want of their instrument with a hand meter alone: open at sign-off."""

    asked: str = ""
    """What is asked again: the point whose last reading was far off or nothing at all, or "limiter"."""

    trim: Trimming = Trimming()
    soak: Soaking = Soaking()
    winding: Wound = Wound()
    last_complete: bool = False

    @property
    def limited(self) -> bool:
        """Is power on through a limiter?"""
        return bool(self.limiter)

    @property
    def returned(self) -> bool:
        """Was it finished once, and is it on the bench again?"""
        return self.repair or self.checkup

    @property
    def asks_cause(self) -> bool:
        """Did something go wrong of which the cause is asked?"""
        return self.cause_open or self.alarm not in ("", "checkup")

    def at(self, plan: Plan) -> Phase:
        """The present phase; what was finished once has the whole amplifier's as its last one with power."""
        phase = plan.phases[self.phase]
        return plan.whole.power if self.returned and plan.whole and plan.whole.power.id == phase.id else phase

    def checks(self, plan: Plan) -> Work:
        """What is looked at and read without power after an alarm in the present phase."""
        phase = self.at(plan)
        return plan.whole.checks if plan.whole and phase is plan.whole.power else checks(plan, phase)

    def due(self, plan: Plan) -> Work:
        """The steps and points of the present phase but those whose pass stands and what is made: none of power's own
        with hands in, but after an alarm the checks without power once more; before them what is loose, and first the
        look over, where nobody watched. Before a soak, what is read from outside after the last screw."""
        phase = self.at(plan)
        steps = tuple(step for step in phase.steps if step.id not in self.made)
        own = Work(steps, tuple(point for point in phase.points if point.id not in self.spared))
        if self.mode is Mode.CLOSING and phase.soak:
            return Work((), phase.soak.outside if self.closing.cover else ())
        if self.mode is not Mode.HANDS:
            return own
        if phase.kind == "power":
            own = self._checks_due(plan)
        own = Work((*self.off_before(plan), *own.steps), own.points)
        over = plan.look_over if self.unwatched else Work()
        first = {point.id for point in over.points}
        rest = tuple(point for point in own.points if point.id not in first)
        return Work((*over.steps, *own.steps), (*over.points, *rest))

    def off_before(self, plan: Plan) -> tuple[Step, ...]:
        """What an earlier phase made and is told to be loose, and the wires that a changed build file has new there.

        Phases before the first with a wire that is on were walked before wires were asked for: theirs are not new.
        """
        if not self.made and not self.undone:
            return ()
        earlier = plan.phases[: self.phase]
        first = next((n for n, each in enumerate(earlier) if self.made & each.wires), len(earlier))
        off = self.undone | frozenset().union(*(each.wires for each in earlier[first:])) - self.made
        if not off:
            return ()
        return tuple(step for id, step in made_steps(earlier).items() if id in off)

    def can_be_undone(self, plan: Plan) -> frozenset[str]:
        """What is made, and all of the earlier phases: a record older than the wire list has none of it as made."""
        return self.made | (made_steps(plan.phases[: self.phase]).keys() - self.undone)

    def left_over(self, plan: Plan) -> tuple[str, ...]:
        """Wires that are on and that the build file no longer has: they come off."""
        known = made_steps(plan.phases) if self.made else {}
        return tuple(sorted(id for id in self.made if id.startswith("wire ") and id not in known))

    def _checks_due(self, plan: Plan) -> Work:
        """After an alarm all of them; of an amplifier that works and at which nobody has wired since, fewer."""
        own = self.checks(plan)
        if self.alarm == "checkup" and plan.whole and not self.again:
            return plan.whole.before
        if self.alarm:
            return own
        steps = tuple(step for step in own.steps if step.id in self.again)
        return Work(steps, tuple(point for point in own.points if point.id in self.again))

    def with_gate(self, **changes: object) -> State:
        return self._replace(gate=self.gate._replace(**changes))

    def with_closing(self, **changes: object) -> State:
        return self._replace(closing=self.closing._replace(**changes))
