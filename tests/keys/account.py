"""What hands have typed so far towards hands in and power on, by the rules of the gate, and none of the app's flags."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from benchtui.procedure.plan import Phase, Plan, clip_s, links_due, wait_s

#: The threshold of a discharged reservoir and the shortest wait between two rounds: nothing may go below.
THRESHOLD_V, LEAST_WAIT_S, LEAST_CLIP_S = 10.0, 60.0, 10.0

#: A clock that is read between two ticks may be ahead of the app's count by so much.
_SLACK_S = 0.6

NEVER = float("inf")


@dataclass(frozen=True)
class Gate:
    """The items between power and hands, each since the last thing that took it back; times on the steady clock."""

    plug_s: float = NEVER
    dc: bool = False
    ac: bool = False
    dead: bool = False
    first: frozenset[str] = frozenset()
    full_s: float = NEVER
    second: frozenset[str] = frozenset()
    clip_s: float = NEVER
    links_s: float = NEVER
    dc_again: bool = False
    ac_again: bool = False
    doubt: str = ""


@dataclass(frozen=True)
class Closing:
    """The items between hands out and power on."""

    back: bool = False
    off: bool = False
    clear: bool = False
    rails: frozenset[str] = frozenset()
    ohms: bool = False
    cover: bool = False
    mains: bool = False


@dataclass
class Account:
    """Fed with each event that was borne out; `wrong` says what an event lacked."""

    told: str = ""
    """"never" or "met", as typed first; "met" after any power."""

    hot: bool = False
    """Power was on since hands were last in."""

    powered: bool = False
    hands: bool = False
    place: bool = False
    """The clip is known to be off since before the last power."""

    links: int = 0
    """Links put on and not counted off."""

    alarm: str = ""
    found: bool = False
    last: bool = False
    repair: bool = False
    """It was finished and has stopped working."""

    checkup: bool = False
    """It was finished, works, and was brought back."""

    open: bool = False
    """The cause was told not to be found."""

    spared: set[str] = field(default_factory=set)
    """Points that are not read again in a repair, as long as nothing else reads badly."""

    limited: bool = False
    """Power is on through a limiter, of which nothing was seen yet."""

    read: set[str] = field(default_factory=set)
    """Points with a good reading or an accepted warn and steps done, in the present phase."""

    on: set[str] = field(default_factory=set)
    """Wires that are on, of any phase."""

    slack: set[str] = field(default_factory=set)
    """Wires that were told to be loose."""

    low: set[str] = field(default_factory=set)
    """Capacitors read low on the bench in this stay with hands in."""

    gate: Gate = field(default_factory=Gate)
    closing: Closing = field(default_factory=Closing)

    @property
    def returned(self) -> bool:
        """Was it finished once, and is it on the bench again?"""
        return self.repair or self.checkup

    # -- what is still missing

    def lacks_for_hands(self, plan: Plan, phase: Phase, now_s: float) -> list[str]:
        """What was not typed of all that hands in needs."""
        gate, ids = self.gate, {each.id for each in phase.reservoirs}
        never = self.told == "never"
        linked = bool(links_due(phase, never=never))
        clip_due_s = max(clip_s(plan, phase), LEAST_CLIP_S) - _SLACK_S
        needs = {
            "the plug, or no lead": gate.plug_s <= now_s,
            "the meter proved on DC": gate.dc,
            "round 1": ids <= gate.first,
            "the meter proved again on DC": gate.dc_again,
            "the clip for its time": now_s - gate.clip_s >= clip_due_s or never,
            "the links for their time": now_s - gate.links_s >= clip_due_s or not linked,
            "the meter proved on AC": gate.ac or never,
            "the mains side": gate.dead or never,
            "round 2": ids <= gate.second or never,
            "the meter proved again on AC": gate.ac_again or never,
            "a doubt settled": gate.doubt != "open" or never,
        }
        return [name for name, done in needs.items() if not done]

    def lacks_for_power(self, phase: Phase, limiter: str) -> list[str]:
        """What was not typed of all that power on needs."""
        closing = self.closing
        rails = {each.id for each in phase.rails}
        needs = {
            "a stage with power": phase.kind == "power",
            "the clip off": closing.off or (closing.back and self.place),
            "the links off": not self.links,
            "the chassis clear": closing.clear,
            "the rails": closing.back or rails <= closing.rails,
            "the ohms": closing.back or phase.ohms is None or closing.ohms,
            "the cover": closing.cover,
            "mains read before": closing.mains or not phase.mains_before,
            "a limiter, coming back": bool(limiter) or not closing.back,
            "what was found after an alarm": self.alarm in ("", "checkup") or self.found,
            "a limiter, the cause not found": bool(limiter) or not self.open,
        }
        return [name for name, done in needs.items() if not done]

    # -- what happens

    def drop(self, *, place: bool = False) -> None:
        """Nothing of gate and closing counts any more; `place`: the clip is still known to be off."""
        self.gate, self.closing, self.hands = Gate(), Closing(), False
        self.place = self.place and place
        self.low.clear()

    def restarted(self, phase: Phase) -> None:
        """The program was started again; readings without power stand."""
        self.drop()
        self.powered = False
        if phase.kind == "power":
            self.read.clear()

    def take(self, kind: str, data: Mapping[str, Any], plan: Plan, phase: Phase, now_s: float) -> str:
        """Enter an event of the record; what it lacked, or ""."""
        do = getattr(self, f"_{kind.replace(' ', '_')}", None)
        wrong = do(data, plan, phase, now_s) if do else ""
        return wrong or ""

    def _proved(self, phase: Phase) -> bool:
        gate = self.gate
        return gate.plug_s < NEVER and gate.dc and (self.told == "never" or (gate.ac and gate.dead))

    def _full(self, phase: Phase) -> bool:
        ids = {each.id for each in phase.reservoirs}
        return ids <= self.gate.first and (self.told == "never" or ids <= self.gate.second)

    def _proof(self, kind: str, phase: Phase) -> str:
        if self.gate.plug_s == NEVER:
            return "the plug"
        changes: dict[str, Any] = {kind: True}
        if self._full(phase):
            changes[f"{kind}_again"] = True
        if kind == "dc" and self.gate.doubt == "open":
            changes["doubt"] = "settled"
        self.gate = replace(self.gate, **changes)
        return ""

    def _rounds_over(self, **more: Any) -> None:
        gone = dict(first=frozenset(), full_s=NEVER, second=frozenset(), dc_again=False, ac_again=False)
        self.gate = replace(self.gate, **(gone | more), clip_s=NEVER, links_s=NEVER)

    def _never_met_mains(self, *_: Any) -> str:
        wrong = "a first answer" if self.told else ""
        self.told = self.told or "never"
        return wrong

    def _met_mains(self, *_: Any) -> None:
        self.told = "met"

    def _plug_out(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> None:
        self.gate = replace(self.gate, plug_s=min(self.gate.plug_s, now_s))

    _no_lead = _plug_out

    def _meter_good(self, data: Mapping[str, Any], plan: Plan, phase: Phase, now_s: float) -> str:
        return self._proof(data["kind"], phase)

    def _ht_fallen(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> str:
        return self._proof("dc", phase)

    def _meter_bad(self, *_: Any) -> None:
        self._rounds_over(dc=False, ac=False, dead=False)
        self.hands = False

    def _mains_dead(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> str:
        gate = self.gate
        if gate.plug_s == NEVER or not (gate.dc and (gate.ac or self.told == "never")):
            return "plug and meter"
        self.gate = replace(gate, dead=True)
        return ""

    def _reservoir_low(self, data: Mapping[str, Any], plan: Plan, phase: Phase, now_s: float) -> str:
        gate, id = self.gate, data["id"]
        if not self._proved(phase):
            return "plug, meter and mains side"
        due = next((each for each in phase.reservoirs if each.id == id), None)
        soon = due is not None and now_s - gate.plug_s < plan.settings.early_share * due.fastest_s - _SLACK_S
        if self.hot and soon and gate.doubt != "settled":
            return "time since the plug"
        ids = {each.id for each in phase.reservoirs}
        gate = replace(gate, dc_again=False, ac_again=False)
        if not ids <= gate.first:
            first = gate.first | {id}
            gate = replace(gate, first=first, full_s=now_s if ids <= first else NEVER)
        elif self.told != "never" and now_s - gate.full_s >= max(wait_s(plan, phase), LEAST_WAIT_S) - _SLACK_S:
            gate = replace(gate, second=gate.second | {id})
        self.gate = gate
        return ""

    def _reservoir_too_soon(self, data: Mapping[str, Any], plan: Plan, phase: Phase, now_s: float) -> None:
        gate = replace(self.gate, doubt="open", dc=False, ac=False, dc_again=False, ac_again=False)
        ids, id = {each.id for each in phase.reservoirs}, data["id"]
        if ids <= gate.first and now_s - gate.full_s >= wait_s(plan, phase) - _SLACK_S:
            self.gate = replace(gate, second=gate.second - {id}, clip_s=NEVER, links_s=NEVER)
        else:
            self.gate = replace(gate, first=gate.first - {id}, full_s=NEVER)

    def _reservoir_high(self, *_: Any) -> None:
        self._rounds_over()
        self.closing, self.hands = Closing(), False

    _rail_high = _reservoir_high

    def _bled(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> str:
        proved = self._proved(phase)
        self._rounds_over()
        self.place = False
        return "" if proved else "plug, meter and mains side"

    def _clip_on(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> str:
        full = self._full(phase)
        self.gate = replace(self.gate, clip_s=now_s)
        self.place = False
        return "" if full else "both rounds"

    def _links_on(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> str:
        ready = self.gate.dc_again if self.told == "never" else self.gate.clip_s < NEVER
        self.gate, self.links = replace(self.gate, links_s=now_s), data["count"]
        return "" if ready and self._full(phase) else "the rounds, and the clip or the meter proved again"

    def _hands_in(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> str:
        lacking = self.lacks_for_hands(plan, phase, now_s)
        self.gate, self.hands, self.hot = Gate(), True, False
        self.found = self.found and not self.open
        self.low.clear()
        return ", ".join(lacking)

    def _hands_out(self, data: Any, plan: Plan, *_: Any) -> str:
        self.drop()
        return ", ".join(sorted(self._loose(plan)))

    def _back_to_power(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> str:
        ready = self.gate.plug_s < NEVER and self.place and not self.alarm and phase.kind == "power"
        self.gate, self.closing = Gate(), Closing(back=True)
        return "" if ready else "plug out, clip off, no alarm, a stage with power"

    def _slipped(self, *_: Any) -> str:
        ready = self.gate.plug_s < NEVER and self.alarm == "stop"
        self.alarm, self.found = "", False
        return "" if ready else "plug out after a stop reading"

    def _cause_found(self, *_: Any) -> None:
        self.found, self.open = True, False
        self.spared.clear()

    def _cause_open(self, *_: Any) -> None:
        self.found = self.open = True
        self.spared.clear()

    def _retest(self, data: Mapping[str, Any], plan: Plan, phase: Phase, *_: Any) -> str:
        """What is left out may be none that guards something or is read under the limiter."""
        always = {each.id for each in phase.points if each.guards is not None} | {phase.watch, *phase.limited}
        self.spared = set(data["spared"])
        self.read -= set(data["again"])
        return ", ".join(sorted(self.spared & always)) if self.repair and self.found else "a repair, and what was found"

    def _broke_down(self, *_: Any) -> None:
        self.drop()
        self.read.clear()
        self.spared.clear()
        self.alarm, self.found, self.open, self.last, self.repair = "repair", False, False, False, True

    def _brought_back(self, *_: Any) -> None:
        self._broke_down()
        self.alarm, self.repair, self.checkup = "checkup", False, True

    # -- closing and power

    def _clip_off(self, *_: Any) -> None:
        """Wanted while closing; at the gate it takes back the clip, with hands in everything."""
        if self.hands:
            self.drop()
        self.closing = replace(self.closing, off=True)
        self.gate = replace(self.gate, clip_s=NEVER, links_s=NEVER)

    def _links_off(self, data: Mapping[str, Any], *_: Any) -> str:
        counted = data["count"] == self.links
        self.closing, self.links = replace(self.closing, off=True), 0
        return "" if counted else "as many links off as were put on"

    def _clear(self, *_: Any) -> str:
        ready = self.closing.off or (self.closing.back and self.place)
        self.closing = replace(self.closing, clear=True)
        return "" if ready else "the clip off"

    def _rail_low(self, data: Mapping[str, Any], *_: Any) -> str:
        ready = self.closing.clear
        self.closing = replace(self.closing, rails=self.closing.rails | {data["id"]})
        return "" if ready else "the chassis clear"

    def _ohms_good(self, data: Mapping[str, Any], plan: Plan, phase: Phase, now_s: float) -> str:
        ready = self.closing.clear and {each.id for each in phase.rails} <= self.closing.rails
        inside = phase.ohms is not None and phase.ohms.low <= data["ohm"] <= phase.ohms.high
        self.closing = replace(self.closing, ohms=True)
        return "" if ready and inside else "the rails, and ohms in their window"

    def _ohms_bad(self, *_: Any) -> None:
        self.spared.clear()
        self.closing = replace(self.closing, ohms=False, cover=False)

    def _clip_found(self, *_: Any) -> None:
        self.closing = Closing(back=self.closing.back)

    def _covered(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> str:
        closing = self.closing
        inside = closing.back or (
            {each.id for each in phase.rails} <= closing.rails and (phase.ohms is None or closing.ohms)
        )
        self.closing = replace(closing, cover=True)
        return "" if closing.clear and inside else "the items before the cover"

    def _mains_read(self, *_: Any) -> None:
        self.closing = replace(self.closing, mains=self.closing.cover)

    def _power_on(self, data: Mapping[str, Any], plan: Plan, phase: Phase, now_s: float) -> str:
        lacking = self.lacks_for_power(phase, data["limiter"])
        self.drop()
        self.told, self.hot, self.powered, self.place, self.alarm = "met", True, True, True, ""
        self.found = self.last = False
        self.limited = bool(data["limiter"])
        self.read.clear()
        return ", ".join(lacking)

    def _limiter_good(self, *_: Any) -> None:
        self.limited = False

    def _full_mains(self, *_: Any) -> str:
        return "what the limiter showed" if self.limited else ""

    def _limiter_bad(self, *_: Any) -> None:
        self._off()
        self.spared.clear()
        self.alarm, self.found = "short", False

    def _power_down(self, *_: Any) -> None:
        self._off()

    def _off(self) -> None:
        self.drop(place=True)
        self.powered = False
        self.read.clear()

    # -- readings, steps, and the way on

    def _reading_passed(self, data: Mapping[str, Any], *_: Any) -> None:
        self.read.add(data["point"])

    _reading_unproved = _warn_accepted = _reading_passed

    def _reading_warned(self, data: Mapping[str, Any], *_: Any) -> None:
        self.spared.clear()
        self.read.discard(data["point"])

    def _reading_stopped(self, data: Mapping[str, Any], *_: Any) -> None:
        self.spared.clear()
        self.read.discard(data["point"])
        if self.powered:
            self._off()
            self.alarm, self.found = "stop", False
        self.last = False

    def _capacitor_low(self, data: Mapping[str, Any], *_: Any) -> None:
        self.low.add(data["id"])

    def _capacitor_high(self, data: Mapping[str, Any], *_: Any) -> None:
        self.low.discard(data["id"])

    def _step_done(self, data: Mapping[str, Any], plan: Plan, phase: Phase, now_s: float) -> str:
        self.read.add(data["step"])
        fits = {each.id for step in phase.steps if step.id == data["step"] for each in step.capacitors}
        return ", ".join(sorted(fits - self.low))

    def _made(self, data: Mapping[str, Any], *_: Any) -> None:
        self.on.update(data["steps"])
        self.slack.difference_update(data["steps"])

    def _undone(self, data: Mapping[str, Any], plan: Plan, phase: Phase, now_s: float) -> str:
        wrong = sorted(set(data["steps"]) - self.on)
        self.on.difference_update(data["steps"])
        self.slack.update(data["steps"])
        self.read -= {point.id for point in phase.points}
        self.spared.clear()
        return ", ".join(wrong)

    def _loose(self, plan: Plan) -> set[str]:
        """Wires of the plan that were told to be loose."""
        return self.slack & {step.id for phase in plan.phases for step in phase.steps}

    def _next_hands(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> str:
        due = {step.id for step in phase.steps} | {point.id for point in phase.points} | self._loose(plan)
        lacking = sorted(due - self.read - self.on - (self.spared if self.powered else set()))
        self.read.clear()
        self.spared.clear()
        return ", ".join(lacking)

    _next_bare = _bare_ends = _next_powered = _next_hands

    def _next_closing(self, *given: Any) -> str:
        self.drop()
        return self._next_hands(*given)

    def _next_gate(self, *given: Any) -> str:
        wrong = self._next_hands(*given)
        self._off()
        return wrong

    def _last_complete(self, *given: Any) -> str:
        wrong = self._next_gate(*given)
        self.last = True
        return wrong

    def _finished(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> str:
        self.repair = self.checkup = self.open = False
        if self.hands:
            self.hands = False
            return self._next_hands(data, plan, phase, now_s)
        wrong = self.lacks_for_hands(plan, phase, now_s) + ([] if self.last else ["the last stage complete"])
        self.gate = Gate()
        return ", ".join(wrong)

    def _lead_attached(self, *_: Any) -> None:
        self.drop()
        self.told, self.last = "met", False

    def _mains_live(self, *_: Any) -> None:
        self.drop()
        self.last = False

    def _ht_not_fallen(self, *_: Any) -> None:
        self.gate = Gate()

    def _disturbed(self, *_: Any) -> None:
        if not self.powered:
            self.drop()

    def _unwatched(self, *_: Any) -> None:
        self._disturbed()
        self.spared.clear()

    def _bare(self, *_: Any) -> None:
        self.gate = Gate()

    def _restarted(self, data: Any, plan: Plan, phase: Phase, now_s: float) -> None:
        self.restarted(phase)

    def _build_changed(self, data: Mapping[str, Any], *_: Any) -> None:
        if not data["keep"]:
            self.read.clear()

    def _stop_key(self, *_: Any) -> None:
        """The place of the clip stays known where it was not with hands in or while closing."""
        self.drop(place=self.powered or self.closing == Closing())
        self.powered = self.last = False
        self.read.clear()
