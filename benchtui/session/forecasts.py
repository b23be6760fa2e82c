"""The forecasts that a session has, and which one it wants next. It computes nothing itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import inf, nan
from typing import TYPE_CHECKING, Any

from benchtui.buildfile.models import Build
from benchtui.forecast.results import Course, Finding, TrimTarget
from benchtui.procedure.ask import Ask
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode, State
from benchtui.session.earlier import Earlier
from benchtui.session.forecaster import Forecaster, GateFacts, Simulator, StageFacts
from benchtui.verdicts.expectation import Expectation, Limit

if TYPE_CHECKING:
    from benchtui.diagnosis.retest import Retest
    from benchtui.forecast.inspection import Inspection
    from benchtui.session.view import Figure, Suspects
    from benchtui.wiring.wires import Wire

Key = tuple[object, ...]

#: Questions that wait for the gate of the stage whose charge they are about.
_OF_GATE = ("round 1", "wait", "round 2", "bleed", "links")

#: Questions that wait for the gate of the stage that is about to be powered or is.
_OF_CLOSING = (
    "hands out", "clip off", "links off", "clear", "rail", "ohms", "cover", "power on", "ht live", "trim ht",
    "switch off",
)  # fmt: skip


#: Questions that end a stage's hands-in work, which is not over before what shows its wiring slips is known.
_OF_INSPECTION = ("go on", "hands out", "finish", "found")

#: What the ratings review is kept under.
REVIEW: Key = ("review",)

#: What the wires with their sizes are kept under.
WIRES: Key = ("wires",)

#: Questions about what is fitted that may be a reservoir once all is built.
_OF_BENCH = ("capacitor", "capacitor charged")


@dataclass(frozen=True)
class Found:
    """What a job gives back: the key it was made for and its result."""

    key: Key
    result: Any


class Forecasts:
    """What was computed for one build, by key: the forecaster's method and its arguments."""

    def __init__(self, build: Build, forecaster: Forecaster | Simulator) -> None:
        self._build, self._forecaster = build, forecaster
        self._found: dict[Key, Any] = {}
        self._failed: dict[Key, str] = {}
        self._given: Key | None = None

    def gates(self) -> dict[str, GateFacts]:
        """The gates computed so far, by stage."""
        return {str(key[1]): found for key, found in self._found.items() if key[0] == "gate"}

    def facts(self, key: Key) -> StageFacts | None:
        """What was computed for a `cold_key`, `stage_key` or `limited_key`."""
        return self._found.get(key)

    def inspections(self) -> dict[str, Inspection]:
        """What shows the wiring slips of a stage, of those computed so far."""
        facts = {str(key[1]): found for key, found in self._found.items() if key[0] == "cold"}
        return {stage: found.inspection for stage, found in facts.items() if found.inspection is not None}

    def whole_inspection(self) -> Inspection | None:
        """The same of the whole amplifier in a repair."""
        return next((found.inspection for key, found in self._found.items() if key[:2] == ("whole", "cold")), None)

    def retest(self, key: Key) -> Retest | None:
        return self._found.get(key)

    def review(self) -> tuple[Finding, ...] | None:
        return self._found.get(REVIEW)

    def wires(self) -> tuple[Wire, ...] | None:
        """The wires with their sizes."""
        return self._found.get(WIRES)

    def trim(self, key: Key) -> TrimTarget | None:
        return self._found.get(key)

    def suspects(self, key: Key) -> Suspects | None:
        return self._found.get(key)

    def figure(self, key: Key) -> Figure | None:
        return self._found.get(key)

    def has(self, key: Key) -> bool:
        """Was the forecast of `key` computed?"""
        return key in self._found

    def answer(self, key: Key) -> Any:
        """What the simulated amplifier answered."""
        return self._found[key]

    def settled(self, key: Key | None) -> bool:
        """Is nothing to be waited for: no key, or one that was computed or has failed?"""
        return key is None or key in self._found or key in self._failed

    def failure(self, key: Key | None) -> str:
        """Why the forecast of `key` failed; "" if it did not."""
        return self._failed.get(key, "") if key else ""

    def job(self, keys: list[Key]) -> Callable[[], Found] | None:
        """The first job of `keys` that is still to be done, as a pure call for a worker."""
        key = next((key for key in keys if not self.settled(key)), None)
        if key is None:
            return None
        self._given = key
        return partial(_run, key, self._call(key))

    def take(self, found: Found) -> None:
        self._found[found.key] = found.result

    def fail(self, text: str) -> Key | None:
        """The job given out last came to nothing and is not tried again; its key."""
        if self._given is not None:
            self._failed[self._given] = text
        return self._given

    def _call(self, key: Key) -> Callable[[], Any]:
        kind, *rest = key
        return partial(getattr(self._forecaster, str(kind)), self._build, *rest)


def _run(key: Key, call: Callable[[], Any]) -> Found:
    return Found(key, call())


def gate_stage(plan: Plan, state: State) -> str | None:
    """The stage whose charge the present gate is about: the last powered one, None before the first."""
    before = [phase.stage for phase in plan.phases[: state.phase + 1] if phase.kind == "power"]
    return before[-1] if before else None


def clip_stage(plan: Plan, state: State) -> str | None:
    """The stage whose gate knows where the clip goes: the last powered one, before the first the one that will be."""
    return gate_stage(plan, state) or next((phase.stage for phase in plan.phases if phase.kind == "power"), None)


def linked(state: State) -> bool:
    """Are there links and no clip? A bare chassis has neither, nor a capacitor."""
    return state.mains == "never" or state.mode is Mode.BARE


def cold_key(plan: Plan, state: State, stage: str) -> Key:
    """What the ohms of `stage` are kept under: they include what clip and links stand across after the present gate."""
    return _of_whole(plan, state, stage, ("cold", stage, linked(state), gate_stage(plan, state)))


def _of_whole(plan: Plan, state: State, stage: str, key: Key) -> Key:
    """The key, for the whole amplifier where that is on the bench again: its last powered stage with all it reads."""
    returned = state.returned and plan.whole is not None and plan.whole.power.stage == stage
    return ("whole", *key) if returned else key


def retest_key(state: State) -> Key:
    """What is read again after the parts that were named."""
    return ("retest", tuple(sorted(state.replaced)))


def power_stage(plan: Plan, state: State) -> str | None:
    """The stage that the next closing leads to: this phase's, or the next one's."""
    for phase in plan.phases[state.phase : state.phase + 2]:
        if phase.kind == "power":
            return phase.stage
    return None


def last_power_stage(plan: Plan) -> str | None:
    """The powered stage whose gate reads every reservoir of the whole build; None without one."""
    powered = [phase.stage for phase in plan.phases if phase.kind == "power"]
    return powered[-1] if powered else None


def stage_key(plan: Plan, state: State, stage: str, mains_v: float | None, earlier: Earlier) -> Key:
    """What is read before mains is measured goes by nothing earlier: it is what mains is worked out from."""
    key = ("stage", stage, mains_v, () if mains_v is None else earlier.before(stage))
    return _of_whole(plan, state, stage, key)


def limited_key(plan: Plan, state: State, stage: str) -> Key:
    """What is read under the limiter."""
    return _of_whole(plan, state, stage, ("limited", stage))


def cold_stage(plan: Plan, state: State, subject: str) -> str:
    """The stage whose ohms tell what point `subject` reads without power: the present one, but for a look over's
    reading the one that lists it.
    """
    if subject in {point.id for point in plan.look_over.points}:
        return next(phase.stage for phase in plan.phases if subject in {point.id for point in phase.readings})
    return state.at(plan).stage


def _inspects(plan: Plan, state: State) -> bool:
    """Is a stage wired or checked again with hands in?"""
    phase = state.at(plan)
    return state.mode is Mode.HANDS and (bool(state.alarm) if phase.kind == "power" else not phase.bare)


def wanted_for(plan: Plan, state: State, ask: Ask, earlier: Earlier, *, infers_mains: bool) -> Key | None:
    """The forecast without which `ask` cannot be put honestly; None if it needs none."""
    stage = state.at(plan).stage
    if ask.kind in ("clip", "clip alone") or (ask.kind == "links" and state.mains == "met"):
        clip = clip_stage(plan, state)
        return ("gate", clip) if clip else None
    if ask.kind in _OF_INSPECTION and _inspects(plan, state):
        return cold_key(plan, state, stage)
    if ask.kind in _OF_GATE:
        gate = gate_stage(plan, state)
        return ("gate", gate) if gate else None
    if ask.kind in _OF_CLOSING:
        power = power_stage(plan, state)
        return ("gate", power) if power else None
    if ask.kind == "objection":
        return REVIEW
    if ask.kind in _OF_BENCH:
        last = last_power_stage(plan)
        return ("gate", last) if last else None
    if ask.kind in ("point", "warned", "settle", "soak", "exchanged"):
        powered = state.mode is Mode.POWERED
        cold = cold_key(plan, state, cold_stage(plan, state, ask.subject))
        return stage_key(plan, state, stage, state.mains_v, earlier) if powered else cold
    if ask.kind == "limited point":
        return limited_key(plan, state, stage)
    if ask.kind == "retest":
        return retest_key(state)
    if ask.kind == "mains" and infers_mains:
        return stage_key(plan, state, stage, None, earlier)
    if ask.kind == "trim":
        return ("trim", stage, ask.subject, state.trim.ht_v, state.mains_v)
    return None


def wanted(plan: Plan, state: State, ask: Ask, earlier: Earlier, *, infers_mains: bool) -> list[Key]:
    """All forecasts that are of use soon, the present question's first, the ratings review last."""
    keys: list[Key] = []
    now = wanted_for(plan, state, ask, earlier, infers_mains=infers_mains)
    stage, gate, power = state.at(plan).stage, gate_stage(plan, state), power_stage(plan, state)
    if now:
        keys.append(now)
    if gate:
        keys.append(("gate", gate))
    if ask.kind == "trim" and now:
        keys += [(*now[:2], trim.id, *now[3:]) for trim in state.at(plan).trims]
    if (state.at(plan).kind == "hands" or state.alarm) and not state.at(plan).bare and state.mains != "unknown":
        keys.append(cold_key(plan, state, stage))
    if state.mode is Mode.POWERED and state.mains_v is not None:
        keys.append(stage_key(plan, state, stage, state.mains_v, earlier))
    if power and state.closing.mains_v is not None:
        keys.append(stage_key(plan, state, power, state.closing.mains_v, earlier))
    if power:
        keys += [("gate", power), limited_key(plan, state, power)]
    if power and state.mode in (Mode.HANDS, Mode.CLOSING) and (read := earlier.before(power)):
        keys.append(("prepare", read))
    soon = plan.phases[state.phase : state.phase + 3]
    if any(step.capacitors for phase in soon for step in phase.steps):
        keys.append(("gate", last_power_stage(plan)))
    if any(step.makes == "wire" for phase in soon for step in phase.steps):
        keys.append(WIRES)
    return [*keys, REVIEW]


def watched(facts: StageFacts | None, point: str, quantity: str, unit: str) -> Expectation:
    """The limits of `point` while it settles: its own, and the figure of the course to switch off at."""
    known = facts.expectations.get(point) if facts else None
    high = known.stop_high if known else None
    course: Course | None = facts.course if facts else None
    if course is not None and course.point == point and (high is None or course.switch_off_v < high.value):
        high = Limit(course.switch_off_v, f"over the figure to switch off at: {course.reason}")
    return Expectation(point, quantity, unit, nan, -inf, inf, None, high)


def unknown(point: str, quantity: str, unit: str, guards: str | None) -> Expectation:
    """What is expected where nothing could be computed: never a pass."""
    return Expectation(point, quantity, unit, nan, -inf, inf, guards=guards)
