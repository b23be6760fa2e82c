"""Hands in a simulated amplifier: no single fault brings them onto mains or a charge, and which pairs do is listed."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import pytest

from benchtui.procedure.guards import GUARDS, Guard
from benchtui.procedure.state import Mode
from tests.procedure import world as w
from tests.procedure.world import FAULTS
from tests.procedure.world_pairs import BENCHES, ROWS, listed, table
from tests.procedure.world_walk import Walked, walk
from tests.record.counts import count

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"

#: Faults for which "quick" has no place.
ELSEWHERE = {
    "second reservoir's bleeder open",
    "path inside a group of reservoirs opens",
    "one reservoir read in place of the other",
    "link put on the wrong node",
    "link does not conduct",
    "link slips off later",
}


@cache
def walked(name: str, budget: int, kinds: tuple[str, ...] = ("hands", "power")) -> Walked:
    return walk(replace(BENCHES[name], budget=budget), kinds)


# --- faults ---


@pytest.mark.parametrize(("name", "budget"), [("quick", 2), ("bias", 1), ("second", 1), ("group", 1), ("never", 1)])
def test_no_single_fault_brings_hands_into_danger(name: str, budget: int) -> None:
    """The program killed and restarted, STOP, or a touched lead may come at any moment besides."""
    found = walked(name, budget)
    assert [faults for faults in found.danger if len(faults) < 2] == []
    assert found.states > 10_000 and {Mode.HANDS, Mode.CLOSING, Mode.POWERED, Mode.DONE} <= found.modes


@pytest.mark.parametrize("name", ["slow", "none"])
def test_without_a_quick_bleeder_single_faults_get_through_as_listed(name: str) -> None:
    assert walked(name, 1).least() == listed(name, 1) != {}


@pytest.mark.parametrize("name", count(short=("quick",), full=tuple(BENCHES)))
def test_the_pairs_of_faults_that_get_through_are_those_listed(name: str) -> None:
    assert walked(name, 2).least() == listed(name, 2)


@pytest.mark.parametrize("name", count(short=(), full=("quick", "slow", "never")))
def test_a_longer_bring_up_adds_no_pair(name: str) -> None:
    assert walked(name, 2, ("hands", "power", "hands", "power")).least() == listed(name, 2)


def test_every_fault_that_has_a_place_strikes() -> None:
    assert w.names(walked("quick", 2).struck) == set(FAULTS) - ELSEWHERE


def test_nothing_that_is_listed_is_listed_twice() -> None:
    for name in BENCHES:
        rows = [row for row in ROWS if name in row["benches"]]
        pairs = [frozenset(pair) for row in rows for pair in product(row["first"], row.get("second", ("",)))]
        assert len(pairs) == len(set(pairs)) and set().union(*pairs) <= {*FAULTS, ""}


def test_the_list_is_printed_for_whoever_changes_the_gate() -> None:
    """`python -m tests.procedure.world_pairs` prints it."""
    assert table() in DEVELOPERS.read_text("utf-8")


def test_a_group_that_is_read_at_one_place_hides_a_full_charge(monkeypatch: pytest.MonkeyPatch) -> None:
    """Why each capacitor of a group is read and linked: behind an open path the first one says nothing."""
    path = frozenset({"path inside a group of reservoirs opens"})
    bench = replace(BENCHES["group"], sweep=False, budget=1)
    off(monkeypatch, "links_on")
    assert walk(bench).least() == {path: "a charge"}
    assert walk(replace(bench, sweep=True)).least() == {path: "part of a charge"}


# --- guards: the world must see what they are for ---

#: Guards that are off, the bench, and the least faults with which hands then come into danger.
WITHOUT = (
    (("plug_out", "mains_dead"), "quick", (), "mains"),
    (("plug_out",), "quick", ("meter asleep now and then",), "mains"),
    (("mains_dead",), "quick", ("wrong plug pulled",), "mains"),
    (("clip_time",), "slow", ("probe not touching at a reservoir",), "a charge"),
    (("clip_time",), "quick", ("bleeder open",), "part of a charge"),
    (("wait_over",), "quick", ("another tag taken for the reservoir's",), "part of a charge"),
    (("round_1",), "never", ("link slips off later",), "part of a charge"),
    (("links_on", "clip_time"), "second", ("second reservoir's bleeder open",), "part of a charge"),
    (("links_on", "clip_time"), "group", ("path inside a group of reservoirs opens",), "part of a charge"),
    (("clip_on", "clip_time"), "quick", ("bleeder open",), "part of a charge"),
    (("clip_on", "clip_time"), "slow", ("probe not touching at a reservoir",), "a charge"),
    (("clip_on", "clip_time", "meter_again"), "slow", ("meter dies",), "a charge"),
    (("clip_on", "clip_time", "meter_again", "meter_proved"), "slow", ("meter dead from the start",), "a charge"),
    (("clip_on", "clip_time", "round_1", "round_2", "wait_over"), "quick", (), "a charge"),
)


def off(monkeypatch: pytest.MonkeyPatch, *guards: str) -> None:
    for name in guards:
        monkeypatch.setitem(GUARDS, name, Guard(lambda plan, state, event: True, ""))


@pytest.mark.parametrize(("guards", "name", "faults", "met"), WITHOUT)
def test_with_guards_off_hands_come_into_danger(
    guards: tuple[str, ...], name: str, faults: tuple[str, ...], met: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    bits = w.bits(frozenset(faults))
    bench = replace(BENCHES[name], able=bits, budget=len(faults))
    assert walk(bench).danger == {}
    off(monkeypatch, *guards)
    assert walk(bench).danger == {frozenset(faults): met}


def test_a_short_gate_without_meter_proof_and_links_lets_five_single_faults_through(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Hole of an earlier draft."""
    off(monkeypatch, "meter_proved", "meter_again", "links_on", "clip_time")
    full = {faults for faults, met in walk(replace(BENCHES["never"], budget=1)).least().items() if met == "a charge"}
    assert len(full) >= 5 and {frozenset({"meter dead from the start"}), frozenset({"meter dies"})} <= full
