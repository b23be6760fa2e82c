"""What is asked now: the one thing that comes next in a state, by plan. Pure; the words are the session's."""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.procedure.guards import GATE_ITEMS, due_links, holds
from benchtui.procedure.plan import WINDING, Phase, Plan, Point, Step, clip_s, wait_s
from benchtui.procedure.shut import next_mark_s, next_reading_s, winding_due
from benchtui.procedure.state import Mode, State


@dataclass(frozen=True, slots=True)
class Ask:
    """`kind` of question, id of its `subject`, its place `k` of `n`, and seconds still to wait if any."""

    kind: str
    subject: str = ""
    k: int = 0
    n: int = 0
    wait_s: float | None = None


@dataclass(frozen=True, slots=True)
class Item:
    """One item of gate or closing and whether it is borne out."""

    name: str
    done: bool


def gate_items(plan: Plan, state: State) -> tuple[Item, ...]:
    """The gate items in order, without links where none is due; for a chassis that never met mains its shorter gate."""
    linked = bool(due_links(plan, state))
    names = tuple(name for name in GATE_ITEMS if linked or name != "links_on")
    if ends_shut(plan, state):
        names = names[:3]
    if state.mains == "never":
        names = ("plug_out", "meter_proved", "round_1", "meter_again")
        names += ("links_on", "clip_time") if linked else ()
    return tuple(Item(name, holds(name, plan, state)) for name in names)


def closing_items(plan: Plan, state: State) -> tuple[Item, ...]:
    """The closing items in order; back to power asks for nothing inside."""
    names = ["chassis_clear"] if state.closing.back else ["clip_taken_off", "chassis_clear"]
    if not state.closing.back:
        names += ["rails_low"] if state.at(plan).rails else []
        names += ["ohms_right"] if state.at(plan).ohms else []
    names += ["covered"]
    if soak := state.at(plan).soak:
        names += ["outside_read"] if soak.outside else []
    return tuple(Item(name, holds(name, plan, state)) for name in names)


def ends_shut(plan: Plan, state: State) -> bool:
    """Is the soak over, so that the amplifier is finished without being opened?"""
    return state.last_complete and state.at(plan).soak is not None


def ask(plan: Plan, state: State) -> Ask:
    """The present question."""
    match state.mode:
        case Mode.BARE:
            return _work(plan, state) or Ask("go on")
        case Mode.OFF_GATE:
            return _gate(plan, state)
        case Mode.HANDS:
            return _hands(plan, state)
        case Mode.CLOSING:
            return _closing(plan, state)
        case Mode.POWERED:
            return _powered(plan, state)
    return Ask(state.mode.value)


def _numbered(items: tuple[Item, ...], kind: str, subject: str = "", wait_s: float | None = None) -> Ask:
    """`kind` at the place of the first item that is still open."""
    k = next((k for k, item in enumerate(items, 1) if not item.done), len(items))
    return Ask(kind, subject, k, len(items), wait_s)


def _gate(plan: Plan, state: State) -> Ask:
    phase, gate, items = state.at(plan), state.gate, gate_items(plan, state)
    never = state.mains == "never"
    if phase.bare and not gate.fitted and holds("never_met", plan, state):
        return Ask("bare")
    if state.mains == "unknown":
        return Ask("met mains")
    if not holds("plug_out", plan, state):
        return _numbered(items, "no lead" if never else "plug")
    if state.repair and (story := _story(plan, state)):
        return story
    if not holds("meter_proved", plan, state):
        if not gate.dc:
            return _numbered(items, "proof dc" if state.pending_v is None else "fallen")
        return _numbered(items, "proof ac")
    if not holds("mains_dead", plan, state):
        return _numbered(items, "mains side")
    if ends_shut(plan, state):
        return _shut(plan, state)
    if gate.charged:
        return _numbered(items, "bleed", gate.charged)
    return _rounds(plan, state, items) or (Ask("finish") if state.last_complete else Ask("hands in"))


def _shut(plan: Plan, state: State) -> Ask:
    """After a soak, the mains side dead: the winding as it cools, and the end."""
    due, hot = winding_due(plan, state), state.winding.hot
    if due is None or holds("winding_settled", plan, state):
        return Ask("finish shut")
    if state.winding.verdict == "warned":
        return Ask("winding warned", WINDING)
    if holds("cooled_enough", plan, state):
        return Ask("winding judged", WINDING)
    if not holds("cooling", plan, state):
        return Ask("winding lost")
    wait_s = max(next_reading_s(plan, state), 0.0)
    return Ask("winding hot", k=len(hot) + 1, n=max(due.count, len(hot) + 1), wait_s=wait_s or None)


def _story(plan: Plan, state: State) -> Ask | None:
    """What a repair begins with, one question after the other."""
    for k, question in enumerate(plan.story, 1):
        if question not in state.told:
            return Ask("told", question, k, len(plan.story))
    return None


def _rounds(plan: Plan, state: State, items: tuple[Item, ...]) -> Ask | None:
    phase, gate = state.at(plan), state.gate
    if not holds("round_1", plan, state):
        return _numbered(items, "round 1", _first_open(phase, gate.first))
    if not holds("wait_over", plan, state):
        first = phase.reservoirs[0].id  # round 2 begins there, so the probes may stay on it meanwhile
        return _numbered(items, "wait", first, wait_s=wait_s(plan, phase) - gate.wait_s)
    if not holds("round_2", plan, state):
        return _numbered(items, "round 2", _first_open(phase, gate.second))
    never, again = state.mains == "never", holds("meter_again", plan, state)
    if not holds("clip_on", plan, state):
        return _numbered(items, "clip alone" if gate.shunted == "seen" else "clip")
    if not holds("links_on", plan, state) and (again or not never):
        return _numbered(items, "links")
    if not again:  # while the clip's time runs
        return _numbered(items, "proof ac again" if gate.dc_again else "proof dc again")
    if not holds("clip_time", plan, state):
        return _numbered(items, "clip time", wait_s=clip_s(plan, phase) - gate.clip_s)
    return None


def _first_open(phase: Phase, read: frozenset[str]) -> str:
    return next(reservoir.id for reservoir in phase.reservoirs if reservoir.id not in read)


def _hands(plan: Plan, state: State) -> Ask:
    phase = state.at(plan)
    if not holds("look_answered", plan, state):
        return Ask("look")
    if left_over := state.left_over(plan):
        return Ask("come off", left_over[0], 1, len(left_over))
    if state.exchange:
        ready = all(holds(name, plan, state) for name in ("looked_over", "alarm_cleared", "retest_settled"))
        return Ask("hands out") if ready and phase.kind == "power" else Ask("put back")
    if work := _work(plan, state):
        return work
    if phase.kind == "power":
        if holds("cause_asked", plan, state) and not state.found:
            return Ask("found")
        return Ask("retest", " ".join(sorted(state.replaced))) if state.replaced else Ask("hands out")
    if holds("last_phase", plan, state):
        return Ask("finish")
    return Ask("go on" if plan.phases[state.phase + 1].kind == "hands" else "hands out")


def _closing(plan: Plan, state: State) -> Ask:
    phase, items = state.at(plan), closing_items(plan, state)
    name = next((item.name for item in items if not item.done), "")
    if name == "outside_read":
        return _work(plan, state) or Ask("no power")
    if not name and not holds("winding_cold", plan, state):
        return Ask("winding cold" if holds("room_told", plan, state) else "winding room")
    if not name:
        if phase.kind != "power":
            return Ask("no power")
        if not holds("objections_answered", plan, state):
            return Ask("objection")
        return Ask("power on" if holds("mains_read_before", plan, state) else "mains")
    rail = next((rail.id for rail in phase.rails if rail.id not in state.closing.rails), "")
    off = "links off" if state.links_on else "clip off"
    kinds = {"clip_taken_off": off, "chassis_clear": "clear", "ohms_right": "ohms", "covered": "cover"}
    return _numbered(items, "rail", rail) if name == "rails_low" else _numbered(items, kinds[name])


def _powered(plan: Plan, state: State) -> Ask:
    phase = state.at(plan)
    if state.limited:
        if not state.limiter_good:
            return Ask("limiter")
        for k, point in enumerate(phase.limited, 1):
            if point not in state.watched:
                return Ask("limited point", point, k, len(phase.limited))
        return Ask("full mains")
    if state.mains_v is None:
        return Ask("mains")
    if not holds("mark_due", plan, state) and holds("settled", plan, state):
        return Ask("soak", phase.watch, wait_s=next_mark_s(plan, state) - state.full_s)
    if not holds("mains_known", plan, state):
        return Ask("mains")
    if not holds("settled", plan, state):
        return Ask("settle", phase.watch, wait_s=phase.settle_s - state.full_s)
    if state.exchange:
        return _exchanged(phase, state)
    if holds("trim_due", plan, state):
        return _trim(phase, state)
    return _work(plan, state) or _leave(plan, state)


def _exchanged(phase: Phase, state: State) -> Ask:
    """The one reading that something was exchanged for; then the power goes off again."""
    if state.tried in {point.id for point in phase.points}:
        return Ask("exchanged", state.tried)
    return Ask("exchange read")


def _trim(phase: Phase, state: State) -> Ask:
    if state.trim.ht_v is None:
        return Ask("trim ht", phase.ht.id if phase.ht else "")
    ids = [trim.id for trim in phase.trims]
    at = next(id for id in ids if id not in state.trim.inside)
    return Ask("trim", at, ids.index(at) + 1, len(ids))


def _work(plan: Plan, state: State) -> Ask | None:
    """The first step or point that is still due; None if only waiting is left."""
    phase = state.due(plan)
    for step in phase.steps:
        if step.id not in state.read:
            return _capacitor(state, step) or _step(plan, state, step)
    for k, point in enumerate(phase.points, 1):
        if point.id not in state.read:
            return Ask(_point_kind(state, point), point.id, k, len(phase.points))
    return None


def _step(plan: Plan, state: State, step: Step) -> Ask:
    """What is made is counted among all of its kind in its phase, what is only done among what is due."""
    steps = state.due(plan).steps
    if step.makes:
        steps = next(phase.steps for phase in plan.phases if step in phase.steps)
    same = [each.id for each in steps if each.makes == step.makes]
    return Ask(step.makes or "step", step.id, same.index(step.id) + 1, len(same))


def _capacitor(state: State, step: Step) -> Ask | None:
    """The first capacitor of the step that was not read on the bench yet; one that is charged goes on being asked."""
    for k, capacitor in enumerate(step.capacitors, 1):
        if capacitor.id not in state.bench_low:
            kind = "capacitor charged" if capacitor.id == state.bench_high else "capacitor"
            return Ask(kind, capacitor.id, k, len(step.capacitors))
    return None


def _point_kind(state: State, point: Point) -> str:
    return "warned" if point.id in state.warned and point.guards is None else "point"


def _leave(plan: Plan, state: State) -> Ask:
    phase = state.at(plan)
    if phase.soak and not holds("complete", plan, state):
        return Ask("soak", phase.watch, wait_s=phase.soak.marks_s[-1] - state.full_s)
    if not holds("complete", plan, state):
        return Ask("trim wait", wait_s=plan.trim_marks_s[state.trim.round - 1] - state.trim.since_s)
    if not holds("last_phase", plan, state) and plan.phases[state.phase + 1].kind == "power":
        return Ask("go on")
    if phase.ht is not None and state.pending_v is None:
        return Ask("ht live", phase.ht.id)
    return Ask("switch off")
