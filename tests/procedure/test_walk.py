"""Every input in every state of a small bring-up: no rule broken, no dead end, and each guard is missed."""

from __future__ import annotations

import os
from functools import cache

import pytest

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.effects import EFFECTS
from benchtui.procedure.guards import GUARDS, Guard
from benchtui.procedure.state import Mode
from benchtui.procedure.table import TABLE
from tests.procedure.explore import Walk, walk
from tests.procedure.small import plan
from tests.record.counts import count

USED = sorted({guard for rows in TABLE.values() for row in rows.values() for guard in row.guards})

#: Guards that this small plan has nothing for; test_decide.py has a case for each.
ELSEWHERE = {
    "limited", "settled", "step_of_phase", "trim_due", "trim_ht_read", "mains_in_range", "ht_live",
    "limiter_or_reason", "mains_before", "power_behind",
}  # fmt: skip


@cache
def whole(reservoirs: int) -> Walk:
    """The small plan walked with everything that can be typed."""
    return walk(plan(reservoirs))


@pytest.mark.parametrize("reservoirs", [0, 1])
def test_no_rule_is_broken_whatever_is_typed(reservoirs: int) -> None:
    found = whole(reservoirs)
    assert found.broken == []
    assert set(found.modes) == set(Mode)
    assert found.states > 4000


@pytest.mark.parametrize("reservoirs", count(short=(2,), full=(2, 3)))
def test_no_rule_is_broken_with_more_reservoirs(reservoirs: int) -> None:
    """The short gate of a chassis that never met mains is left out here; the smaller plans walk it."""
    found = walk(plan(reservoirs), without=(e.SaidNever,))
    assert found.broken == []


def test_a_guarded_point_is_never_passed_by_a_reason() -> None:
    found = walk(plan(0, kinds=("hands", "power"), guarded=True), without=(e.SaidNever,))
    assert found.broken == []
    assert {Mode.BARE, Mode.POWERED, Mode.DONE} <= set(found.modes)


def test_a_point_whose_instrument_is_not_owned_is_open_to_the_end() -> None:
    found = walk(plan(0, kinds=("hands", "power"), bare=False, lacking=True), without=(e.SaidNever,))
    assert found.broken == []
    assert Mode.DONE in found.modes


def test_no_capacitor_is_fitted_that_was_not_read_on_the_bench() -> None:
    found = walk(plan(0, kinds=("hands", "power"), fits=True), without=(e.SaidNever,))
    assert found.broken == []
    assert Mode.DONE in found.modes


def test_no_stage_has_power_while_an_objection_is_open() -> None:
    found = walk(plan(0, kinds=("hands", "power", "power"), objections=("V3 past a rating",)), without=(e.SaidNever,))
    assert found.broken == []
    assert {Mode.POWERED, Mode.DONE} <= set(found.modes)


def test_where_mains_is_read_before_power_no_power_goes_on_without_it() -> None:
    found = walk(plan(0, kinds=("hands", "power"), bare=False, mains_before=True), without=(e.SaidNever,))
    assert found.broken == []
    assert {Mode.POWERED, Mode.DONE} <= set(found.modes)


def test_a_chassis_that_nobody_watched_has_no_power_before_it_was_looked_over() -> None:
    elsewhere = (
        e.SaidNever, e.OtherHolds, e.RecordFailed, e.LeadAttached, e.Slipped, e.Bled, e.Disturbed, c.ReadHt,
        c.ReadFallen,
    )  # fmt: skip
    found = walk(plan(0, kinds=("hands", "power"), bare=False, look_over=True), without=elsewhere)
    assert found.broken == []
    assert {Mode.POWERED, Mode.DONE} <= set(found.modes)


def test_hands_power_and_the_end_can_be_reached_from_every_state() -> None:
    found = whole(1)
    for goal in (Mode.HANDS, Mode.POWERED, Mode.DONE):
        assert _reaching(found.edges, {n for n, mode in enumerate(found.modes) if mode is goal}) == set(found.edges)


def _reaching(edges: dict[int, list[int]], goals: set[int]) -> set[int]:
    """Every state from which one of `goals` can be reached."""
    back: dict[int, list[int]] = {}
    for at, there in edges.items():
        for to in there:
            back.setdefault(to, []).append(at)
    found, queue = set(goals), list(goals)
    while queue:
        for before in back.get(queue.pop(), ()):
            if before not in found:
                found.add(before)
                queue.append(before)
    return found


#: Most guards are missed without what only takes back, and far sooner.
ASIDE = (
    e.Stopped, e.Restarted, e.Disturbed, e.RecordFailed, e.OtherHolds, e.LeadAttached, e.LookFailed, e.SaidNever,
    e.SaidBare, e.CauseFound, e.Bled, e.PoweredDown, c.ReadFallen, c.ReadHt,
)  # fmt: skip

#: Guards of these.
NEEDS = {
    "bare_phase": e.SaidBare, "never_met": e.SaidBare, "not_never": e.SaidNever, "not_told_yet": e.SaidNever,
    "said": e.CauseFound,
}  # fmt: skip


@pytest.mark.parametrize("name", [name for name in USED if name not in ELSEWHERE])
def test_a_guard_that_is_off_breaks_a_rule(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(GUARDS, name, Guard(lambda plan, state, event: True, ""))
    kinds = ("hands", "power", "hands") if name not in ("last_phase", "last_complete") else ("hands", "power")
    of = plan(
        2 if name == "undrained_read" else 1, kinds=kinds,
        guarded=name == "not_guarded", lacking=name == "instrument_owned", fits=name == "capacitors_low",
        objections=("V3 past a rating",) * (name == "objections_answered"),
        mains_before=name == "mains_read_before", look_over=name == "looked_over",
    )  # fmt: skip
    assert walk(of, stop_at=1, without=tuple(one for one in ASIDE if one is not NEEDS.get(name))).broken


#: Effects that take back what was borne out. An alarm that stays asks for more, and test_decide.py has it end.
TAKEN_BACK = sorted(
    name for name in EFFECTS if name.startswith(("drop_", "open_", "enter_hands")) and name != "drop_alarm"
)


@pytest.mark.skipif("BENCHTUI_LONG" not in os.environ, reason="a minute; set BENCHTUI_LONG to run it")
@pytest.mark.parametrize("name", TAKEN_BACK)
def test_an_item_that_is_not_taken_back_breaks_a_rule(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(EFFECTS, name, lambda plan, state, event: state)
    kinds = ("hands", "power") if name == "drop_end" else ("hands", "power", "hands")
    assert walk(plan(2, kinds=kinds), stop_at=1).broken
