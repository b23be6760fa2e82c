"""The rules of gate, closing, power and stages: all there, each said in a sentence, each held by something."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.state import Closing, Gate, State
from tests.procedure.monitor import Monitor
from tests.procedure.rulebook import ELSEWHERE, RULES, table
from tests.procedure.rules import SHOWN, STATES, STEPS, Rule
from tests.procedure.seen import BARE, CLOSING, DONE, GATE, HALT, HANDS, POWERED, READONLY, TICK, Move, Seen
from tests.procedure.small import plan, read

ROOT = Path(__file__).parents[2]


def test_every_number_is_there_once() -> None:
    assert [rule.number for rule in RULES] == list(range(1, len(RULES) + 1))
    assert len(RULES) >= 45


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: str(rule.number))
def test_a_rule_is_one_sentence_and_is_walked_or_held_by_a_test(rule: Rule) -> None:
    assert rule.says.endswith(".") and "\n" not in rule.says and len(rule.says) < 120
    assert (rule.kept is None) == bool(rule.held)


@pytest.mark.parametrize("rule", ELSEWHERE, ids=lambda rule: str(rule.number))
def test_the_tests_that_hold_a_rule_exist(rule: Rule) -> None:
    for held in rule.held:
        path, _, name = held.partition("::")
        assert f"def {name}(" in (ROOT / path).read_text("utf-8")


def test_the_developers_table_has_every_rule() -> None:
    """`python -m tests.procedure.rulebook` prints it."""
    assert table() in (ROOT / "DEVELOPERS.md").read_text("utf-8")


# --- each rule can be broken ---

PLAN = plan(
    1, kinds=("hands", "power", "hands"), fits=True, mains_before=True, objections=("V3 past a rating",), repair=True,
    wired=True,
)  # fmt: skip
ONE = frozenset({"C1"})
SOUND = Seen(
    told="met", plug=True, dc=True, ac=True, dead=True, first=ONE, waited=2, second=ONE, clip=True, clipped=1, dc2=True,
    ac2=True, off=True, clear=True, rail=True, ohms=True, cover=True, before=True, passed=True, stepped=True,
    on=True, overruled=frozenset({1}),
)  # fmt: skip
LAMP = e.PowerOn("60 W lamp")
HIGH, LIVE = c.ReadReservoir("C1", 80.0), c.ReadMainsSide(230.0)


def step(given: object, mode: object, to: object, phase: int = 0, moved: int = 0, **seen: object) -> Move:
    """A step after everything was borne out, but for what `seen` says."""
    return Move(SOUND._replace(**seen), mode, phase, given, to, phase + moved)  # type: ignore[arg-type]


def goes_in(**seen: object) -> Move:
    return step(c.GoIn(), GATE, HANDS, **seen)


def goes_on(**seen: object) -> Move:
    return step(LAMP, CLOSING, POWERED, 1, **seen)


SOUND_STEPS = (goes_in(), goes_on(), step(c.GoOn(), HANDS, CLOSING, 0, 1), step(e.Stopped(), POWERED, GATE, 1))

BROKEN: dict[int, Move] = {
    1: goes_in(plug=False), 2: goes_in(ac=False), 3: goes_in(first=frozenset()), 4: goes_in(waited=1),
    5: goes_in(second=frozenset()), 6: goes_in(dc2=False), 7: goes_in(clip=False), 8: goes_in(doubt="open"),
    9: step(c.GoIn(), CLOSING, HANDS), 10: step(e.HandsOut(), GATE, HANDS), 11: step(e.ClipOff(), HANDS, HANDS),
    12: step(HIGH, HANDS, HANDS), 13: step(c.ProveMeter("dc", 0.2), HANDS, HANDS), 14: step(LAMP, GATE, POWERED, 1),
    15: step(e.PowerOn("", " "), CLOSING, POWERED, 1), 16: goes_on(off=False), 17: goes_on(clear=False),
    18: goes_on(cover=False), 19: step(LAMP, CLOSING, POWERED, 0), 20: step(c.GoOn(), HANDS, HANDS, 0, 2),
    21: step(c.GoOn(), HANDS, CLOSING, 0, 1, passed=False), 22: step(TICK, HANDS, CLOSING, 0, 1),
    23: step(e.Stopped(), HANDS, HANDS), 25: step(e.Restarted(), HANDS, HANDS),
    27: step(e.Restarted(), HANDS, GATE, 0, 1), 28: step(read("p1", 200.0), POWERED, POWERED, 1),
    29: step(e.PlugOut(), HALT, GATE), 30: step(e.PlugOut(), READONLY, GATE), 33: step(c.GoIn(), POWERED, HANDS, 1),
    37: goes_in(dead=False), 39: step(LIVE, HANDS, HANDS), 40: goes_in(clipped=0),
    44: step(c.GoOn(), HANDS, CLOSING, 0, 1, in_for=1), 46: goes_on(before=False),
    47: step(e.PowerOn("", "known good"), CLOSING, POWERED, 1, back=True, place=True), 48: goes_on(alarm="stop"),
    49: goes_on(unwatched=True), 50: goes_on(rail=False), 51: goes_on(overruled=frozenset()),
    52: step(c.GoOn(), HANDS, CLOSING, 0, 1, stepped=False), 53: step(e.SaidBare(), GATE, BARE, 0),
    54: step(HIGH, CLOSING, CLOSING, 1), 55: step(e.BackToPower(), GATE, CLOSING, 1, plug=False, place=True),
    56: step(c.SeeClip(), CLOSING, CLOSING, 1, back=True), 57: step(e.Finished(), HANDS, DONE, 1),
    58: step(e.ClipOff(), DONE, DONE, 2), 60: step(e.PoweredDown(), POWERED, POWERED, 1),
    61: step(c.GoOn(), HANDS, HANDS, 0, 1), 62: goes_in(told="never"), 63: goes_on(put=1),
    64: step(e.BrokeDown(), DONE, GATE, 2), 65: step(e.PowerOn("", "known good"), CLOSING, POWERED, 1, open=True),
    68: step(c.GoOn(), HANDS, CLOSING, 0, 1, on=False), 69: step(e.HandsOut(), HANDS, CLOSING, 1, slack=True),
    74: step(e.BroughtBack(), DONE, DONE, 2),
    66: step(e.HandsOut(), HANDS, CLOSING, 1, named=True), 67: step(c.GoOn(), POWERED, POWERED, 1, 1, exchanged=True),
    70: step(LAMP, CLOSING, POWERED, 1, screwed=True, outside=False), 71: step(c.GoOn(), POWERED, GATE, 1, rounds=1),
    72: step(e.FinishedShut(), GATE, DONE, 1, last=True, dead=False), 73: step(LAMP, CLOSING, POWERED, 1, cold=False),
}  # fmt: skip
#: The plan of the rules about a soak.
SOAKED = plan(1, kinds=("hands", "power"), soak=True)


@pytest.mark.parametrize("rule", STEPS, ids=lambda rule: str(rule.number))
def test_each_rule_about_steps_can_be_broken(rule: Rule) -> None:
    of = SOAKED if 70 <= rule.number <= 73 else PLAN
    assert rule in Monitor(of).watch(BROKEN[rule.number]).broken


def test_sound_steps_break_none() -> None:
    for move in SOUND_STEPS:
        assert Monitor(PLAN).watch(move).broken == ()


LEFT = State(phase=1, gate=Gate(plug=True), closing=Closing(clear=True), read=frozenset({"p1"}))


@pytest.mark.parametrize(
    ("number", "move"),
    [(24, step(e.Stopped(), HANDS, GATE)), (26, step(e.Restarted(), HANDS, GATE)), (32, step(TICK, POWERED, GATE, 1))],
)
def test_each_rule_about_what_shows_after_a_step_can_be_broken(number: int, move: Move) -> None:
    watcher = Monitor(PLAN)
    asked = watcher.watch(move).asked
    assert [rule.number for rule in watcher.shown(asked, LEFT)] == [number]
    assert watcher.shown(asked, State()) == ()
    assert number in {rule.number for rule in SHOWN}


def test_each_rule_about_what_shows_can_be_broken() -> None:
    seen = Seen(unproved=frozenset({"p0"}))
    assert [rule.number for rule in Monitor(PLAN).standing(LEFT, seen)] == [rule.number for rule in STATES] == [38, 59]
    assert Monitor(PLAN).standing(State(), Seen()) == ()
