"""The gate around forming one capacitor: when hands may go to its leads, and when power may go on.

A pure state machine: a state, an event, the next state and what is answered. An event is a typed line or the opening of
the record; both carry the steady clock. Only typed readings count; a time says "not before", never "now". Whatever
opens the record anew, everything is taken to be live and charged.

    plug - proof - read - bleed - bled - open - rest - clip - prove - HANDS - close... - SUPPLY - CAPACITOR - (SUPPLY)
      '---------- from anywhere by `stop`, by a stop verdict, and by every opening of the record ------------------'
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from benchtui.identify.forming import Plan, Verdict, judge
from benchtui.identify.spans import Span
from benchtui.parts.guide import value
from benchtui.quantities.errors import Question
from benchtui.quantities.reading import read
from benchtui.quantities.units import Unit

Mode = Literal[
    "plug", "proof", "read", "bleed", "bled", "open", "rest", "clip", "prove", "hands",
    "resistor", "polarity", "clear", "cover", "supply", "capacitor", "left",
]  # fmt: skip

#: A reading that is this many times off what is due is asked for again.
_FAR_OFF = 10.0

#: Below this a reading on the plus side is no offset of the meter.
_WRONG_WAY_V = -1.0
_WRONG_WAY = (
    "Minus where plus should be: the probes are exchanged, or the capacitor is fed the wrong way round and bursts."
)


@dataclass(frozen=True)
class Event:
    """`line` as typed, None for an opening of the record; `at_s` is the steady clock, which compares within `boot`."""

    line: str | None
    at_s: float
    boot: str = ""


@dataclass(frozen=True)
class State:
    """Where the work stands. `since_s` is when the mode was entered, on the steady clock of this opening.

    `live_v` is the largest reading of the capacitor with power on, None once it was read dead. `doubted` is a reading
    that is asked for again. `on`: the step may be left; `formed`: the last step ended well, with `result`; `given_up`:
    it never will. Steps begin anew with each opening, however far it was.
    """

    mode: Mode = "plug"
    since_s: float = 0.0
    live_v: float | None = None
    reproved: bool = False
    doubted: float | None = None
    step: int = 0
    step_since_s: float | None = None
    supply_v: float = 0.0
    leak: Span | None = None
    on: bool = False
    formed: bool = False
    given_up: bool = False
    verdict: Verdict | None = None
    result: Verdict | None = None


@dataclass(frozen=True)
class Answer:
    """What is said after an event; `word` is what stands before it, like a verdict."""

    word: Literal["", "ok", "again", "not yet", "charging", "pass", "warn", "stop"]
    text: str


def after(state: State, event: Event, plan: Plan) -> tuple[State, Answer]:
    """The state after `event`, and the answer. What does not belong here changes nothing but what is asked again."""
    if event.line is None:
        kept = State("plug", event.at_s, formed=state.formed, given_up=state.given_up, result=state.result)
        return kept, Answer("", _OPENED)
    line = " ".join(event.line.split()).casefold()
    if state.mode == "left":
        return state, Answer("again", "this was left; open it again")
    if line == "stop":
        return _to_plug(state, event.at_s), Answer("stop", _OFF)
    if state.mode in _WORDS:
        return _word(state, event, line)
    return _READINGS[state.mode](state, event, plan)


def fold(plan: Plan, events: list[Event]) -> State:
    """The state after all events of a record."""
    state = State()
    for event in events:
        state, _ = after(state, event, plan)
    return state


_OPENED = "Everything is taken to be live and charged until it is proved otherwise."
_OFF = "Hand off. Supply off, plug out. Then prove it dead."

_WORDS: Mapping[Mode, Mapping[str, Mode]] = {
    "plug": {"out": "proof"},
    "bleed": {"on": "bled"},
    "open": {"off": "rest"},
    "clip": {"on": "prove"},
    "hands": {"close": "resistor", "leave": "left"},
    "polarity": {"right": "clear"},
    "clear": {"off": "cover"},
    "cover": {"covered": "supply", "one hand": "supply"},
}
"""What is typed in the modes that want a word, and where it leads; anything else changes nothing."""


def wanted(mode: Mode) -> tuple[str, ...]:
    """The words that a mode takes; none where a reading is wanted."""
    return tuple(_WORDS.get(mode, ()))


def _word(state: State, event: Event, line: str) -> tuple[State, Answer]:
    to = _WORDS[state.mode].get(line)
    if to is None:
        return state, Answer("again", f"type {' or '.join(wanted(state.mode))}, or stop")
    if to == "resistor" and state.given_up:
        return state, Answer("again", "this one was given up: it gets no power again. Type leave")
    moved = replace(state, mode=to, since_s=event.at_s, doubted=None)
    if to == "supply":
        moved = replace(moved, step_since_s=None, leak=None, on=False, verdict=None, reproved=False)
    return moved, Answer("ok", "")


def _to_plug(state: State, at_s: float) -> State:
    return replace(
        state, mode="plug", since_s=at_s, doubted=None, reproved=False, step_since_s=None, leak=None, on=False
    )


def _volts(event: Event) -> float:
    """The reading in a line. Raises Question for anything but a plain number of volts."""
    return read(event.line or "", Unit.VOLT, plain=True, current="dc").value


def _asks(
    take: Callable[[State, Event, Plan, float], tuple[State, Answer]], unit: Unit = Unit.VOLT
) -> Callable[..., tuple[State, Answer]]:
    """A mode that wants a reading: what is none is asked for again and changes nothing."""

    def reading(state: State, event: Event, plan: Plan) -> tuple[State, Answer]:
        try:
            number = read(event.line or "", unit, plain=unit is Unit.VOLT, current="dc" if unit is Unit.VOLT else None)
        except Question as question:
            return state, Answer("again", question.ask)
        return take(state, event, plan, number.value)

    return reading


def _proof(state: State, event: Event, plan: Plan, volts: float) -> tuple[State, Answer]:
    least, most = value("gate.proof_least"), value("gate.proof_most")
    if state.mode == "prove" and not least <= abs(volts):
        text = (
            "the meter does not show its known source: what it read since counts for nothing. Prove it, then read again"
        )
        return replace(state, mode="proof", since_s=event.at_s, doubted=None), Answer("warn", text)
    if not least <= abs(volts) <= most:
        text = (
            f"a known source of {least:g} V to {most:g} V is wanted, such as a 9 V block: battery, range, leads, "
            "function?"
        )
        return state, Answer("again", text)
    if state.mode == "proof":
        return replace(state, mode="read", since_s=event.at_s, reproved=state.doubted is not None), Answer(
            "ok", "the meter works"
        )
    return replace(state, mode="hands", since_s=event.at_s, live_v=None, reproved=False), Answer(
        "ok", "the meter still works"
    )


def _dead(volts: float) -> bool:
    return abs(volts) < value("gate.threshold")


def _first(state: State, event: Event, plan: Plan, volts: float) -> tuple[State, Answer]:
    """The first reading: live ones lead to bleeding too, and one that is dead too soon has the meter proved again."""
    live = state.live_v is not None and abs(state.live_v) >= value("gate.live_thresholds") * value("gate.threshold")
    if _dead(volts) and live and not state.reproved:
        text = (
            f"{volts:g} V so soon after {state.live_v:g} V, and nothing bled it: the meter may be off. Prove it again"
        )
        return replace(state, mode="proof", since_s=event.at_s, doubted=volts), Answer("again", text)
    if abs(volts) > plan.rated_v * _FAR_OFF / 2 and state.doubted is None:
        return replace(state, doubted=volts), Answer(
            "again", f"{volts:g} V would be far beyond it: range, or a slip? Read it again"
        )
    text = "under the threshold; it is bled all the same" if _dead(volts) else f"{volts:g} V: charged. Bleed it"
    return replace(state, mode="bleed", since_s=event.at_s, doubted=None), Answer(
        "ok" if _dead(volts) else "warn", text
    )


def _bled(state: State, event: Event, plan: Plan, volts: float) -> tuple[State, Answer]:
    if not _long_enough(state, event, plan.bleed_s):
        return state, Answer("not yet", f"not before the resistor was on for {plan.bleed_s:.0f} s")
    if not _dead(volts):
        text = f"{volts:g} V: it does not fall. Does the resistor touch, is the supply really off? Put it on again"
        return replace(state, mode="bleed", since_s=event.at_s), Answer("warn", text)
    return replace(state, mode="open", since_s=event.at_s), Answer("ok", "under the threshold")


def _rested(state: State, event: Event, plan: Plan, volts: float) -> tuple[State, Answer]:
    """The second reading, after a wait with nothing across it: charge creeps back into an electrolytic."""
    if not _long_enough(state, event, value("gate.wait")):
        return state, Answer("not yet", f"not before it was open for {value('gate.wait'):.0f} s: charge creeps back")
    if not _dead(volts):
        text = f"{volts:g} V crept back (dielectric absorption). Bleed it again"
        return replace(state, mode="bleed", since_s=event.at_s), Answer("warn", text)
    return replace(state, mode="clip", since_s=event.at_s), Answer("ok", "under the threshold, twice")


def _long_enough(state: State, event: Event, seconds: float) -> bool:
    return event.at_s - state.since_s >= seconds


def _resistor(state: State, event: Event, plan: Plan, ohm: float) -> tuple[State, Answer]:
    """The series resistor, read before each power-up: nothing else limits what a shorted capacitor takes."""
    if not plan.resistor_ohm * 0.8 <= ohm <= plan.resistor_ohm * 1.2:
        return state, Answer(
            "again", f"{ohm:g} ohm is not the {plan.resistor_ohm:g} ohm of the plan: wrong one, or burnt"
        )
    return replace(state, mode="polarity", since_s=event.at_s), Answer("ok", "")


def _supplied(state: State, event: Event, plan: Plan) -> tuple[State, Answer]:
    """Volts at the supply end of the resistor, or the word for the next step."""
    line = " ".join((event.line or "").split()).casefold()
    if line == "up":
        return _up(state, event, plan)
    try:
        volts = _volts(event)
    except Question as question:
        return state, Answer("again", question.ask)
    if volts < _WRONG_WAY_V:
        return _to_plug(state, event.at_s), Answer("stop", f"{_WRONG_WAY} {_OFF}")
    due = plan.steps[state.step]
    if volts > 1.1 * plan.rated_v:
        return _to_plug(state, event.at_s), Answer(
            "stop", f"{volts:g} V is beyond the rated {plan.rated_v:g} V. {_OFF}"
        )
    if not due / 2 <= volts <= due * 1.1:
        return state, Answer(
            "again", f"{volts:g} V is not the {due:.0f} V of this step: set the supply, then read again"
        )
    started = event.at_s if state.step_since_s is None else state.step_since_s
    return replace(state, mode="capacitor", since_s=event.at_s, supply_v=volts, step_since_s=started), Answer("ok", "")


def _up(state: State, event: Event, plan: Plan) -> tuple[State, Answer]:
    if not state.on or state.step >= len(plan.steps) - 1:
        return state, Answer(
            "not yet", "this step has not passed yet" if not state.formed else "this was the last step"
        )
    step = state.step + 1
    moved = replace(state, step=step, step_since_s=None, leak=None, on=False, since_s=event.at_s)
    return moved, Answer("ok", f"set the supply to {plan.steps[step]:.0f} V")


def _formed(state: State, event: Event, plan: Plan, volts: float) -> tuple[State, Answer]:
    """Volts of the capacitor: the leakage, and its verdict."""
    if volts < _WRONG_WAY_V:
        return _to_plug(state, event.at_s), Answer("stop", f"{_WRONG_WAY} {_OFF}")
    volts = max(volts, 0.0)
    elapsed = 0.0 if state.step_since_s is None else max(event.at_s - state.step_since_s, 0.0)
    far = volts > state.supply_v * 1.02 or (elapsed > plan.charged_s and volts < state.supply_v / _FAR_OFF)
    if far and state.doubted is None:
        text = f"{volts:g} V with {state.supply_v:g} V from the supply: range, probe place, or a slip? Read it again"
        return replace(state, doubted=volts, live_v=_largest(state.live_v, volts)), Answer("again", text)
    if volts > state.supply_v * 1.02:
        text = "more than the supply gives: one of both was misread. Read the supply end again"
        return replace(state, mode="supply", since_s=event.at_s, doubted=None), Answer("again", text)
    verdict = judge(plan, state.step, state.supply_v, volts, elapsed, state.leak)
    known = _largest(state.live_v, volts)
    if verdict.word == "stop":
        ended = replace(_to_plug(state, event.at_s), given_up=True, live_v=known, verdict=verdict)
        return ended, Answer("stop", f"{verdict.text}. {_OFF}")
    last = state.step == len(plan.steps) - 1
    leak = verdict.leak if elapsed >= plan.charged_s else None
    formed = last and verdict.on
    moved = replace(
        state, mode="supply", since_s=event.at_s, live_v=known, doubted=None, leak=leak, on=verdict.on,
        formed=state.formed or formed, verdict=verdict, result=verdict if formed else state.result,
    )  # fmt: skip
    return moved, Answer(verdict.word, verdict.text)


def _largest(known: float | None, volts: float) -> float:
    return max(known or 0.0, volts)


_READINGS: Mapping[Mode, Callable[[State, Event, Plan], tuple[State, Answer]]] = {
    "proof": _asks(_proof),
    "read": _asks(_first),
    "bled": _asks(_bled),
    "rest": _asks(_rested),
    "prove": _asks(_proof),
    "resistor": _asks(_resistor, Unit.OHM),
    "supply": _supplied,
    "capacitor": _asks(_formed),
}
