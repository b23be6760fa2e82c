"""The forming gate as a plain dialogue, a line at a time: every typed line is on the disk before it is answered."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from benchtui.cli.answer import Exit
from benchtui.cli.tables import hanging
from benchtui.identify import forming
from benchtui.identify.forming import Plan
from benchtui.identify.forming_gate import Answer, Event, State, after
from benchtui.parts.guide import value
from benchtui.quantities.clean import clean
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.record import Event as Recorded
from benchtui.record import Journal, ReadOnly

LONGEST_LINE = 200
_WIDTH = 78  # a dialogue is read in a terminal, which may be no wider than 80
OPENED, TYPED = "opened", "typed"

_HALT = "NOT SAVED ({why}). Hand off. Supply off, plug out. It is live and charged; nothing more is taken."
_LEFT = "Left without the proof. It is to be taken as live and charged: supply off, plug out, and a tag on it."


def state_of(events: Iterable[Recorded]) -> State:
    """The state that a record comes to."""
    return result_of(events)[0]


def _states(events: Iterable[Recorded]) -> Iterator[tuple[Recorded, State]]:
    """Each event with the state after it; each opening brings the plan that holds from then on."""
    state, plan = State(), None
    for event in events:
        if event.kind == OPENED:
            plan = Plan(**event.data["plan"])
        if plan is not None and event.kind in (OPENED, TYPED):
            state, _ = after(state, _event(event), plan)
            yield event, state


def place_of(notes: Path, capacitor: str) -> Path:
    """Where the record of forming a capacitor of these notes lies."""
    return notes.parent / f"{notes.stem}.{capacitor}.forming"


def result_of(events: Iterable[Recorded]) -> tuple[State, float | None]:
    """The state of a record, and when (wall clock) the capacitor was last found formed; None if it never was."""
    state, at = State(), None
    for event, now in _states(events):
        if now.result is not None and now.result is not state.result:
            at = event.t_wall
        state = now
    return state, at


def _event(recorded: Recorded) -> Event:
    line = recorded.data["line"] if recorded.kind == TYPED else None
    return Event(line, recorded.t_steady, recorded.boot)


def talk(journal: Journal, plan: Plan, hear: Callable[[], str], say: Callable[[str], None]) -> Exit:
    """Ask and answer until it is left. `hear` gives a typed line and raises EOFError where there is none any more.

    Gives FINE if it was left through the gate, FINDINGS if it was given up or left without, PLACE_WRONG if the record
    takes no more.
    """
    state = state_of(journal.events)

    def tell(lines: Iterable[str]) -> None:
        for line in lines:
            say("\n".join(hanging(line, "", width=_WIDTH)))

    try:
        state, answer = _put(journal, state, plan, OPENED, {"plan": asdict(plan)})
        tell((*beginning(plan, str(journal.header["forming"])), answer.text))
        while state.mode != "left":
            tell(prompt(state, plan))
            line = hear()[:LONGEST_LINE]
            state, answer = _put(journal, state, plan, TYPED, {"line": line, "mode": state.mode})
            tell(told_of(answer))
    except (EOFError, KeyboardInterrupt):
        tell((_LEFT,))
        return Exit.FINDINGS
    except ReadOnly as why:
        tell((_HALT.format(why=clean(str(why))),))
        return Exit.PLACE_WRONG
    tell((_ending(state),))
    return Exit.FINDINGS if state.given_up else Exit.FINE


def _put(journal: Journal, state: State, plan: Plan, kind: str, data: Mapping[str, Any]) -> tuple[State, Answer]:
    """Make it durable, and only then take it. Raises ReadOnly."""
    recorded = journal.append(kind, data)
    return after(state, _event(recorded), plan)


def told_of(answer: Answer) -> Iterator[str]:
    """An answer in a line: its word first, as a sign that needs no colour."""
    word = _SIGNS.get(answer.word, answer.word.upper())
    text = " ".join(part for part in (word, answer.text) if part)
    if text:
        yield clean(text)


_SIGNS = {"stop": "STOP ■", "warn": "WARN ▲", "pass": "PASS ●", "again": "AGAIN ?", "ok": "noted.", "charging": "WAIT"}


def prompt(state: State, plan: Plan) -> Iterator[str]:
    """What is asked now."""
    words = _words()[state.mode]
    yield ""
    yield words["ask"].format(**_filled(state, plan))
    yield f"  type {words['type']}"


def _filled(state: State, plan: Plan) -> dict[str, Any]:
    due = plan.steps[state.step]
    power = ""
    if state.mode == "supply" and state.step_since_s is None:
        power = f"Plug in, supply on, turned to {due:.0f} V (step {state.step + 1} of {len(plan.steps)}). "
    then = "It was given up: take another one." if state.given_up else "It was formed." if state.formed else ""
    return {
        "bleed": f"{show(plan.bleed_ohm, Unit.OHM)}, {plan.bleed_w:g} W",
        "bleed_s": plan.bleed_s,
        "wait_s": value("gate.wait"),
        "threshold": value("gate.threshold"),
        "then": then,
        "power": power,
        "due": f"With a good one {due * 0.9:.0f} V or more once it is charged ({plan.charged_s:.0f} s).",
    }


def _ending(state: State) -> str:
    if state.given_up:
        return "Given up. Mark it, so that nobody tries again."
    if state.formed:
        return "Formed. 12 to 48 hours of rest, then the last step once more: what leaks then is what counts."
    return "Left through the gate, not formed yet. The next start begins with the gate again."


def beginning(plan: Plan, name: str) -> Iterator[str]:
    """What is said before anything is asked."""
    yield f"Forming {clean(name)}"
    yield (
        "Hundreds of volts with charge behind them kill, also with the plug out. This is an aid and no authority: it "
        "knows "
        "only what you type. Never alone, one hand, RCD before the supply. `stop` at any time: hand off, supply off, "
        "plug out."
    )
    yield from (f"  {line}" for line in forming.words(plan))


@cache
def _words() -> dict[str, dict[str, str]]:
    return tomllib.loads(files(__package__).joinpath("forming.toml").read_text("utf-8"))
