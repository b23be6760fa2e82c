"""Weigh a command: what has happened, if it may happen? Numbers become facts by the plan's guide values.

Every test is written for what must hold, so that a value that is no number falls on the careful side.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import Any

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.guards import due_links, holds
from benchtui.procedure.plan import WINDING, Plan
from benchtui.procedure.state import Mode, State
from benchtui.verdicts.expectation import Expectation
from benchtui.verdicts.judge import doubtful, judge


def weigh(plan: Plan, state: State, command: c.Command) -> e.Event | str:
    """The event that `command` amounts to in `state`, or a sentence saying why it amounts to none."""
    return _WEIGH[type(command)](plan, state, command)


def low(plan: Plan, value_v: float) -> bool:
    """Is the magnitude under the threshold? Never for what is no number."""
    return abs(value_v) < plan.settings.threshold_v


def _proof(plan: Plan, state: State, command: c.ProveMeter) -> e.Event | str:
    if command.kind not in ("dc", "ac"):
        return "the meter is proved on DC and on AC"
    good = plan.settings.proof_low_v <= abs(command.value_v) <= plan.settings.proof_high_v
    return (e.MeterGood if good else e.MeterBad)(command.kind, command.value_v)


def _fallen(plan: Plan, state: State, command: c.ReadFallen) -> e.Event | str:
    if state.pending_v is None:
        return "there is no HT reading from just before power-down to compare with"
    fallen = abs(command.value_v) <= plan.settings.fallen_share * abs(state.pending_v)
    return (e.Fallen if fallen else e.NotFallen)(state.pending_v, command.value_v)


def _mains_side(plan: Plan, state: State, command: c.ReadMainsSide) -> e.Event | str:
    return (e.MainsDead if low(plan, command.value_v) else e.MainsLive)(command.value_v)


def _reservoir(plan: Plan, state: State, command: c.ReadReservoir) -> e.Event | str:
    if not low(plan, command.value_v):
        return e.ReservoirHigh(command.id, command.value_v)
    reservoir = next((r for r in state.at(plan).reservoirs if r.id == command.id), None)
    if reservoir is None:
        return "no reservoir of that name is fitted in this stage"
    after_s = state.gate.plug_s
    early = state.powered and not after_s >= plan.settings.early_share * reservoir.fastest_s
    if early and state.mode is Mode.OFF_GATE and state.gate.doubt != "settled":
        return e.ReservoirSoon(command.id, command.value_v, after_s)
    return e.ReservoirLow(command.id, command.value_v, after_s, early)


def near_clip(plan: Plan, state: State, ohm: float) -> bool:
    """Does HT+ to chassis read as it does with the bleed clip on?"""
    clip, near = state.at(plan).clip, plan.settings.clip_near
    return clip.reads_ohm / near <= ohm <= clip.reads_ohm * near


def _clip(plan: Plan, state: State, command: c.ReadClip) -> e.Event | str:
    """The clip by HT+ to chassis. A short there hides it, and must not keep hands out: then it is read alone."""
    clip, near, ohm = state.at(plan).clip, plan.settings.clip_near, command.ohm
    if ohm < 0.0:
        return "less than nothing: a charge is there, or the leads are swapped; wait, and read it again"
    if state.gate.shunted == "seen":
        alone = clip.ohm / near <= ohm <= clip.ohm * near
        return e.ClipAlone(ohm) if alone else f"that is not the clip: alone it has about {clip.ohm:.0f} ohm"
    if near_clip(plan, state, ohm) or (state.gate.shunted and ohm < clip.reads_ohm):
        return e.ClipOn(ohm)
    if ohm < clip.reads_ohm:
        return e.ClipShunted(ohm)
    return f"that is not the clip: with it on, about {clip.reads_ohm:.0f} ohm are due"


def _links(plan: Plan, state: State, command: c.CountLinks) -> e.Event | str:
    """One on each that is due; one that this phase fits may be in already or not, while steps are open."""
    due, steps = due_links(plan, state), state.at(plan).steps
    fitting = any(step.id not in state.read for step in steps)
    most = len(due)
    least = sum(not (link.new and fitting) for link in due)
    if most and least <= command.count <= most:
        return e.LinksOn(command.count)
    if not most:
        return "no link is due here"
    return f"{least} to {most} are due, one on each that is fitted" if least < most else f"{most} are due, one on each"


def _links_off(plan: Plan, state: State, command: c.CountLinksOff) -> e.Event | str:
    """As many as were put on: one that is left on a reservoir of its own shows in no reading at HT+."""
    if not state.links_on:
        return "no link was put on"
    if command.count == state.links_on:
        return e.LinksOff(command.count)
    return f"{state.links_on} were put on: find every one, or STOP, and the gate counts them anew"


def _go_in(plan: Plan, state: State, command: c.GoIn) -> e.Event | str:
    return e.HandsIn(state.gate.wait_s, state.gate.clip_s)


def _rail(plan: Plan, state: State, command: c.ReadRail) -> e.Event | str:
    if not low(plan, command.value_v):
        return e.RailHigh(command.id, command.value_v)
    if command.id not in {rail.id for rail in state.at(plan).rails}:
        return "no rail of that name is listed for this stage"
    return e.RailLow(command.id, command.value_v)


def _clip_seen(plan: Plan, state: State, command: c.SeeClip) -> e.Event | str:
    return _on_after_all(state, None)


def _on_after_all(state: State, ohm: float | None) -> e.Event:
    """The clip is on: taken off and begun anew, or, with a charge still inside, the gate."""
    return e.Disturbed("the bleed clip is on") if state.closing.back else e.ClipFound(ohm)


def _ohms(plan: Plan, state: State, command: c.ReadOhms) -> e.Event | str:
    ohms = state.at(plan).ohms
    if ohms is None:
        return "no HT is fitted in this stage"
    if near_clip(plan, state, command.ohm):
        return _on_after_all(state, command.ohm)
    return (e.OhmsGood if ohms.low <= command.ohm <= ohms.high else e.OhmsBad)(command.ohm)


def _overrule(plan: Plan, state: State, command: c.Overrule) -> e.Event | str:
    return e.Overruled(state.at(plan).id, plan.objections, command.reason)


def _limiter(plan: Plan, state: State, command: c.SeeLimiter) -> e.Event | str:
    """Dark where it should not be is asked about once; the readings behind it must then show that mains is there."""
    if command.short:
        return e.LimiterBad(command.says)
    odd = command.dark and state.asked != "limiter"
    return (e.LimiterDark if odd else e.LimiterGood)(command.says)


def _mains(plan: Plan, state: State, command: c.ReadMains) -> e.Event | str:
    return e.MainsRead(command.text, command.value_v)


def _capacitor(plan: Plan, state: State, command: c.ReadCapacitor) -> e.Event | str:
    if command.id not in {capacitor.id for step in state.at(plan).steps for capacitor in step.capacitors}:
        return "no capacitor of that name is fitted in this stage"
    return (e.CapacitorLow if low(plan, command.value_v) else e.CapacitorHigh)(command.id, command.value_v)


def _ht(plan: Plan, state: State, command: c.ReadHt) -> e.Event | str:
    return e.HtLive(command.value_v)


def _point(plan: Plan, state: State, command: c.ReadPoint) -> e.Event | str:
    expectation, value = command.expectation, command.value
    judgement = judge(value, expectation)
    read_here = {point.id for point in state.due(plan).points}
    if state.mode is Mode.POWERED:
        read_here |= {state.at(plan).watch, *state.at(plan).limited}
    if expectation.point != command.point or (command.point not in read_here and judgement.verdict != "stop"):
        return "that point is not read in this stage"
    kind: type[e.PointRead] = {"pass": e.PointPassed, "warn": e.PointWarned, "stop": e.PointStopped}[judgement.verdict]
    powered = state.mode is Mode.POWERED
    if powered and kind is not e.PointStopped and _only_watched(plan, state):
        free = bool(state.exchange) and expectation.guards is None  # a bias must be there whatever is exchanged
        seen = not state.limited or free or expectation.low <= value <= expectation.high
        kind = e.PointWatched if seen else e.PointNothing
    elif powered and kind is not e.PointStopped and state.exchange:
        kind = e.PointExchanged
    elif kind is not e.PointStopped and _doubted(plan, state, command):
        kind = e.PointDoubted
    read = _read(kind, command.point, command.text, value, expectation)
    if kind is e.PointPassed and not holds("instrument_owned", plan, state, read):
        return _unproved(plan, state, read)
    return read


def _only_watched(plan: Plan, state: State) -> bool:
    """Does no window apply yet: behind the limiter, while it settles, or between the marks of a soak?"""
    return state.limited or not (holds("settled", plan, state) and holds("mark_due", plan, state))


def _doubted(plan: Plan, state: State, command: c.ReadPoint) -> bool:
    """Is it asked again: once where it is far off, and always where the meter cannot show it?"""
    if command.expectation.unit == "V" and not abs(command.value) <= plan.meter_v:
        return True
    return state.asked != command.point and doubtful(command.value, command.expectation)


def _read(kind: type[e.PointRead], point: str, text: str, value: float, by: Expectation) -> e.PointRead:
    return kind(point, text, value, by.nominal, by.low, by.high, judge(value, by).reasons, by.plain)


def _unproved(plan: Plan, state: State, read: e.PointRead) -> e.PointUnproved:
    """A good reading where the instrument that would prove it is not owned."""
    lacks = next(point.lacks for point in state.due(plan).points if point.id == read.point)
    return _lacking(read, lacks)


def _lacking(read: e.PointRead, lacks: str) -> e.PointUnproved:
    return e.PointUnproved(
        read.point, read.text, read.value, read.nominal, read.low, read.high, read.reasons, read.plain, lacks
    )


def _trim(plan: Plan, state: State, command: c.ReadTrim) -> e.Event | str:
    trim = next((t for t in state.at(plan).trims if t.id == command.trim), None)
    if trim is None or command.expectation.point != trim.point:
        return "that pot is not trimmed in this stage"
    judgement = judge(command.value_v, command.expectation)
    if judgement.verdict == "stop":
        return _read(e.PointStopped, trim.point, command.text, command.value_v, command.expectation)
    inside = command.low <= command.value_v <= command.high
    return (e.TrimInside if inside else e.TrimOutside)(
        command.trim, command.text, command.value_v, command.target_v, command.low, command.high, state.full_s
    )


def _room(plan: Plan, state: State, command: c.ReadRoom) -> e.Event | str:
    low, high = plan.settings.room_c
    if not low <= command.celsius <= high:
        return f"a room for this has {low:.0f} to {high:.0f} degrees Celsius: is that what was meant?"
    return e.RoomRead(command.celsius)


def _winding(plan: Plan, state: State, command: c.ReadWinding) -> e.Event | str:
    if not 0.0 < command.ohm < inf:
        return "that is no winding: is the mains switch on, and the meter on ohms at the inlet's pins?"
    if state.mode is Mode.CLOSING:
        return e.WindingCold(command.text, command.ohm)
    cold = state.winding.cold_ohm
    if cold is not None and not cold / 2.0 <= command.ohm <= 2.0 * cold:  # copper would be 250 K hotter
        return f"cold it was typed as {cold:.4g} ohm, and no winding moves that far: range, or decimal point?"
    return e.WindingHot(command.text, command.ohm, state.winding.off_s or 0.0)


def _judged(plan: Plan, state: State, command: c.JudgeWinding) -> e.Event | str:
    """What cannot be told is not measured, unless even so it is beyond its limit."""
    if state.mode is not Mode.OFF_GATE:
        return "a winding's temperature is told at the gate, as it cools"
    verdict = judge(command.celsius, command.expectation).verdict
    kind: type[e.PointRead] = {"pass": e.PointPassed, "warn": e.PointWarned, "stop": e.PointStopped}[verdict]
    read = _read(kind, WINDING, command.text, command.celsius, command.expectation)
    if not command.lacks or kind is e.PointStopped:
        return read
    return _lacking(read, command.lacks)


def _go_on(plan: Plan, state: State, command: c.GoOn) -> e.Event | str:
    """Which way on: the mode now and the kind of the next phase decide."""
    if state.phase == len(plan.phases) - 1:
        return e.LastComplete() if state.mode is Mode.POWERED else e.Finished()
    there = plan.phases[state.phase + 1]
    if state.mode is Mode.BARE:
        return (e.NextBare if there.bare else e.BareEnds)(there.id)
    if state.mode is Mode.HANDS:
        return (e.NextHands if there.kind == "hands" else e.NextClosing)(there.id)
    return (e.NextPowered if there.kind == "power" else e.NextGate)(there.id)


_WEIGH: dict[type[c.Command], Callable[[Plan, State, Any], e.Event | str]] = {
    c.ProveMeter: _proof,
    c.ReadFallen: _fallen,
    c.ReadMainsSide: _mains_side,
    c.ReadReservoir: _reservoir,
    c.ReadClip: _clip,
    c.CountLinks: _links,
    c.CountLinksOff: _links_off,
    c.GoIn: _go_in,
    c.ReadRail: _rail,
    c.SeeClip: _clip_seen,
    c.ReadOhms: _ohms,
    c.Overrule: _overrule,
    c.SeeLimiter: _limiter,
    c.ReadMains: _mains,
    c.ReadPoint: _point,
    c.ReadCapacitor: _capacitor,
    c.ReadHt: _ht,
    c.ReadTrim: _trim,
    c.ReadRoom: _room,
    c.ReadWinding: _winding,
    c.JudgeWinding: _judged,
    c.GoOn: _go_on,
}
