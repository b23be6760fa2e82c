"""The forming gate: no hands without every proof in its order, no power without the closing, whatever is typed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from random import Random
from typing import get_args

import pytest

from benchtui.identify.forming import Plan
from benchtui.identify.forming_gate import Event, Mode, State, after, fold, wanted

PLAN = Plan(50e-6, 450.0, 450.0, 47e3, 10.0, 2200.0, 10.0, 12.0, 10e6, 6000, 3)
MODES: tuple[Mode, ...] = get_args(Mode)
WORDS = ("out", "on", "off", "close", "leave", "right", "covered", "one hand", "up")
READINGS = ("0.3", "9.1", "12.6", "60", "101", "112", "230", "447", "4400", "47000", "47k")
JUNK = (
    "",
    "OL",
    "9,1",
    "hello",
    "nan",
    "1e3",
    "3.1 mV ac",
    "0.3 A",
    "inf",
    "\x00",
    "9" * 300,
    "o ut",
    "yes",
    "0.3 ohm of it",
)
LIVE = {"supply", "capacitor"}


def at(mode: Mode, **fields: object) -> State:
    """A state in which a mode may be met."""
    live = {"supply_v": 112.0, "step_since_s": 0.0, "live_v": 100.0} if mode in LIVE else {}
    return replace(State(mode), **{**live, **fields})  # type: ignore[arg-type]


@pytest.mark.parametrize("mode", MODES)
def test_stop_leads_to_the_gate_from_every_mode_that_can_change(mode: Mode) -> None:
    moved, answer = after(at(mode), Event("stop", 100.0), PLAN)
    assert moved.mode == ("left" if mode == "left" else "plug")
    assert answer.word == ("again" if mode == "left" else "stop")


@pytest.mark.parametrize("mode", MODES)
def test_an_opening_takes_everything_to_be_live(mode: Mode) -> None:
    moved, answer = after(at(mode, step=2, on=True, reproved=True, doubted=1.0), Event(None, 5.0, "b"), PLAN)
    assert (moved.mode, moved.on, moved.reproved, moved.step) == ("plug", False, False, 0)
    assert "live and charged" in answer.text


@pytest.mark.parametrize("mode", MODES)
def test_what_is_no_answer_changes_nothing(mode: Mode) -> None:
    state = at(mode)
    for line in JUNK:
        moved, answer = after(state, Event(line, 1e6), PLAN)
        assert moved == state, line
        assert answer.word == "again" and answer.text


@pytest.mark.parametrize("mode", MODES)
def test_hands_and_power_have_one_door_each(mode: Mode) -> None:
    for line in (*WORDS, *READINGS):
        moved, _ = after(at(mode), Event(line, 1e6), PLAN)
        if moved.mode == "hands" != mode:
            assert mode == "prove" and line in ("9.1", "12.6", "60")
        if moved.mode in LIVE and mode not in LIVE:
            assert mode == "cover" and line in ("covered", "one hand")
        if moved.mode == "left" != mode:
            assert mode == "hands" and line == "leave"


@pytest.mark.parametrize("mode", MODES)
def test_a_word_of_another_mode_changes_nothing(mode: Mode) -> None:
    for line in WORDS:
        if line not in wanted(mode) and not (mode in LIVE and line == "up"):
            assert after(at(mode), Event(line, 1e6), PLAN)[0] == at(mode), line


class Watch:
    """An account of its own, kept from what is typed and the mode before it; it knows no flag of the state."""

    def __init__(self) -> None:
        self.reset()

    def reset(self) -> None:
        self.out = self.proved = False
        self.dead: list[tuple[str, float]] = []
        self.on_at: float | None = None
        self.off_at: float | None = None
        self.clip = self.closing = False

    def see(self, mode: str, line: str | None, now: float) -> None:
        if line is None or line == "stop":
            return self.reset()
        number = float(line) if len(line) < 9 and line.replace(".", "", 1).isdigit() else None
        if mode == "plug" and line == "out":
            self.out = True
        elif mode in ("proof", "prove") and number is not None:
            self.proved = 1 <= number <= 60
        elif mode in ("bleed", "clip") and line == "on":
            self.on_at, self.clip = now, mode == "clip"
            self.dead = [each for each in self.dead if each[0] != "bled"] if mode == "bleed" else self.dead
        elif mode == "open" and line == "off":
            self.off_at, self.clip = now, False
        elif mode == "clear" and line == "off":
            self.clip = False
        elif number is not None and mode in ("read", "bled", "rest"):
            since = {"read": 0.0, "bled": self.on_at or 0.0, "rest": self.off_at or 0.0}[mode]
            if now - since >= {"read": 0.0, "bled": 10.0, "rest": 60.0}[mode]:
                if number < 10:
                    self.dead.append((mode, now))
                else:
                    self.dead = []
        return None

    @property
    def bears_out_hands(self) -> bool:
        kinds = [kind for kind, _ in self.dead]
        return self.out and self.proved and self.clip and "bled" in kinds and kinds[-1:] == ["rest"]


def walk(seed: int, steps: int) -> Iterator[tuple[State, Event, State]]:
    random = Random(seed)
    state, now = State(), 0.0
    helpful = {
        "plug": ["out"], "proof": ["9.1", "0.3"], "read": ["0.3", "230", "4400"],
        "bleed": ["on"], "bled": ["0.3", "60"],
        "open": ["off"], "rest": ["0.3", "12.6"], "clip": ["on"], "prove": ["9.1", "0.3"], "hands": ["close", "leave"],
        "resistor": ["47k", "4.7k"], "polarity": ["right"], "clear": ["off"], "cover": ["covered"],
        "supply": ["112", "up", "225"], "capacitor": ["108", "60", "3"], "left": [""],
    }  # fmt: skip
    for _ in range(steps):
        now += random.choice([0.5, 5.0, 70.0, 400.0])
        pick = random.random()
        other = (*WORDS, *READINGS, *JUNK, "stop")
        line = random.choice(helpful[state.mode] if pick < 0.85 else other)
        event = Event(None if pick > 0.99 or state.mode == "left" else line, now)
        moved, _ = after(state, event, PLAN)
        yield state, event, moved
        state = moved


def test_random_walks_reach_hands_only_where_every_typed_proof_bears_it_out() -> None:
    reached = powered = 0
    for seed in range(15):
        watch = Watch()
        for before, event, moved in walk(seed, 400):
            watch.see(before.mode, event.line, event.at_s)
            if before.mode in LIVE and moved.mode == "plug":
                watch.reset()
            if moved.mode == "hands" != before.mode:
                assert watch.bears_out_hands, (seed, event)
                reached += 1
            if moved.mode in LIVE and before.mode not in LIVE:
                assert before.mode == "cover" and not watch.clip
                powered += 1
    assert reached > 50 and powered > 10


def test_every_prefix_replays_to_the_same_state_and_resumes_at_the_gate() -> None:
    events, states = [], [State()]
    for _, event, moved in walk(3, 300):
        events.append(event)
        states.append(moved)
    for count in range(0, len(events), 7):
        assert fold(PLAN, events[:count]) == states[count]
        resumed = fold(PLAN, [*events[:count], Event(None, 0.0, "next boot")])
        assert resumed.mode == "plug"
        assert after(resumed, Event("0.3", 1.0, "next boot"), PLAN)[0].mode == "plug"


def typed(*lines: str, gap: float = 100.0, start: State | None = None) -> tuple[State, list[str]]:
    state, now, said = start or State(), 1000.0, []
    for line in lines:
        now += gap
        state, answer = after(state, Event(line, now), PLAN)
        said.append(answer.word)
    return state, said


GATE = ("out", "9.1", "0.3", "on", "0.2", "off", "0.4", "on", "9.1")
CLOSE = ("close", "47.1k", "right", "off", "covered")


def test_the_gate_in_its_order_gives_hands() -> None:
    state, said = typed(*GATE)
    assert state.mode == "hands" and set(said) == {"ok"}


def test_no_wait_is_cut_short_by_typing_again() -> None:
    state, said = typed(*GATE[:4], "0.2", "0.2", gap=1.0)
    assert (state.mode, said[-2:]) == ("bled", ["not yet", "not yet"])
    state, said = typed(*GATE[:6])
    for second in range(1, 59, 10):
        state, answer = after(state, Event("0.4", state.since_s + second), PLAN)
        assert (state.mode, answer.word) == ("rest", "not yet")


def test_charge_that_creeps_back_is_bled_again() -> None:
    state, said = typed(*GATE[:6], "14.2")
    assert (state.mode, said[-1]) == ("bleed", "warn")


def test_a_resistor_that_does_not_touch_leaves_it_charged_and_is_told() -> None:
    state, said = typed(*GATE[:4], "310")
    assert (state.mode, said[-1]) == ("bleed", "warn")


def test_a_dead_reading_too_soon_after_a_live_one_has_the_meter_proved_again() -> None:
    state, _ = typed(*GATE, *CLOSE, "112", "108", "stop", "out", "9.1", "0.1")
    assert state.mode == "proof" and state.live_v == 108
    state, said = typed("9.1", "0.1", start=state)
    assert state.mode == "bleed"


def test_a_meter_that_fails_its_second_proof_takes_back_all_readings() -> None:
    state, said = typed(*GATE[:8], "0.0")
    assert (state.mode, said[-1]) == ("proof", "warn")


def test_another_resistor_than_planned_gets_no_power() -> None:
    state, said = typed(*GATE, "close", "4.7k")
    assert (state.mode, said[-1]) == ("resistor", "again")


def test_volts_beyond_the_rating_stop_at_once() -> None:
    state, said = typed(*GATE, *CLOSE, "501")
    assert (state.mode, said[-1]) == ("plug", "stop")


def test_minus_where_plus_should_be_stops_at_once() -> None:
    for lines in (("-112",), ("112", "-40")):
        state, said = typed(*GATE, *CLOSE, *lines)
        assert (state.mode, said[-1]) == ("plug", "stop")


def test_a_reading_ten_times_off_is_asked_again_before_it_counts() -> None:
    state, said = typed(*GATE, *CLOSE, "112", "1.08")
    assert (state.mode, said[-1], state.verdict) == ("capacitor", "again", None)
    state, said = typed("1.08", start=replace(state, step_since_s=900.0))
    assert (state.mode, said[-1]) == ("supply", "warn")


def test_no_step_is_taken_before_the_one_before_has_passed() -> None:
    state, said = typed(*GATE, *CLOSE, "112", "108", "up")
    assert (state.step, said[-1]) == (0, "not yet")


def test_one_that_was_given_up_gets_no_power_again_even_after_a_resume() -> None:
    state = replace(State("supply"), step_since_s=0.0)
    for line, now in (("112", 3700.0), ("60", 3701.0)):
        state, answer = after(state, Event(line, now), PLAN)
    assert (answer.word, state.mode, state.given_up) == ("stop", "plug", True)
    state, _ = after(state, Event(None, 0.0, "next"), PLAN)
    state, said = typed(*GATE, "close", start=state)
    assert (state.mode, said[-1]) == ("hands", "again")


def test_a_good_capacitor_is_formed_step_by_step() -> None:
    state, _ = typed(*GATE, *CLOSE)
    now = state.since_s
    for step, volts in enumerate(PLAN.steps):
        state, _ = after(state, Event(f"{volts:.1f}", now), PLAN)
        state, answer = after(state, Event(f"{volts * 0.5:.1f}", now + 1), PLAN)
        assert answer.word == "charging"
        wait = PLAN.hold_s if step == len(PLAN.steps) - 1 else 301.0
        state, _ = after(state, Event(f"{volts:.1f}", now + wait), PLAN)
        state, answer = after(state, Event(f"{volts - 4.5:.1f}", now + wait + 1), PLAN)
        assert (answer.word, state.on) == ("pass", True)
        now += wait + 10
        if step < len(PLAN.steps) - 1:
            state, _ = after(state, Event("up", now), PLAN)
    assert state.formed
