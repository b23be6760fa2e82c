"""Every input in every state of a small bring-up: no rule broken, no dead end, and what is switched off is missed."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.plan import Soak
from benchtui.procedure.state import Mode
from tests.procedure.explore import Walk, walk
from tests.procedure.mutations import ALL, OWN, SHORT, caught, missed, off, whole
from tests.procedure.seen import TICK
from tests.procedure.small import EXCHANGES, KINDS, NO_WINDING, SOAK, WIRES, plan
from tests.procedure.test_soak import BY, IN, INSIDE, SCREW, TOUCH
from tests.record.counts import count

#: Reservoirs and phases walked with everything that can be typed; without a reservoir a presumed one stands in.
WHOLE = count(short=((0, SHORT), (1, KINDS)), full=tuple((reservoirs, KINDS) for reservoirs in range(4)))


@cache
def walked(reservoirs: int, kinds: tuple[str, ...]) -> Walk:
    """The small plan walked with everything that can be typed."""
    return walk(plan(reservoirs, kinds=kinds))


@pytest.mark.parametrize(("reservoirs", "kinds"), WHOLE)
def test_no_rule_is_broken_whatever_is_typed(reservoirs: int, kinds: tuple[str, ...]) -> None:
    found = walked(reservoirs, kinds)
    assert found.broken == []
    assert set(found.modes) == set(Mode)
    assert found.states > 1500


@pytest.mark.parametrize(("reservoirs", "kinds"), WHOLE)
def test_hands_power_and_the_end_can_be_reached_from_every_state(reservoirs: int, kinds: tuple[str, ...]) -> None:
    assert walked(reservoirs, kinds).lost() == []


def test_no_rule_is_broken_with_two_reservoirs_and_fewer_stages() -> None:
    elsewhere = (e.OtherHolds, e.RecordFailed, e.LeadAttached, e.LookFailed, e.Slipped)
    found = walk(plan(2, kinds=SHORT, bare=False), without=elsewhere)
    assert found.broken == [] and found.lost() == []
    assert {Mode.HANDS, Mode.CLOSING, Mode.POWERED, Mode.DONE} <= set(found.modes)


#: Plans that differ from the usual one, each of which the rule in its name is about; on every run several in one.
ODD: dict[str, dict[str, Any]] = {
    "a guarded point is never passed by a reason": dict(guarded=True),
    "what no instrument proved is open to the end": dict(bare=False, lacking=True),
    "no capacitor is fitted that was not read on the bench": dict(fits=True),
    "no power before mains was read": dict(bare=False, mains_before=True),
    "no power with an objection open": dict(kinds=("hands", "power", "power"), objections=("V3 past a rating",)),
}
TOGETHER: dict[str, dict[str, Any]] = {
    "guarded, not proved, capacitors, mains before": dict(guarded=True, lacking=True, fits=True, mains_before=True),
    "guarded, bare, objection": dict(
        guarded=True, kinds=("hands", "power", "power"), objections=("V3 past a rating",)
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", count(short=TOGETHER, full=ODD | TOGETHER))
def test_no_rule_is_broken_in_a_plan_with(name: str) -> None:
    options = {"kinds": SHORT} | (ODD | TOGETHER)[name]
    found = walk(plan(0, **options), without=(e.SaidNever,))
    assert found.broken == [] and found.lost() == []


def test_a_chassis_that_nobody_watched_has_no_power_before_it_was_looked_over() -> None:
    elsewhere = (
        e.SaidNever, e.OtherHolds, e.RecordFailed, e.LeadAttached, e.Slipped, e.Bled, e.Disturbed, c.ReadHt,
        c.ReadFallen,
    )  # fmt: skip
    found = walk(plan(0, kinds=SHORT, bare=False, look_over=True), without=elsewhere)
    assert found.broken == []
    assert {Mode.POWERED, Mode.DONE} <= set(found.modes)


def test_no_rule_is_broken_with_something_exchanged_or_a_short_that_hides_the_clip() -> None:
    elsewhere = (
        e.SaidNever, e.OtherHolds, e.RecordFailed, e.LeadAttached, e.LookFailed, e.Slipped, e.Bled, e.Disturbed,
        c.ReadHt, c.ReadFallen, c.SeeClip, *count(short=(e.Stopped, e.Restarted, e.BackToPower), full=()),
    )  # fmt: skip
    found = walk(plan(0, kinds=SHORT, bare=False), without=elsewhere, beside=(*EXCHANGES, c.ReadClip(0.2)))
    assert found.broken == [] and found.lost() == []
    assert {Mode.HANDS, Mode.CLOSING, Mode.POWERED, Mode.DONE} <= set(found.modes)


def test_no_rule_is_broken_with_a_wire_that_comes_loose() -> None:
    elsewhere = (
        e.SaidNever, e.OtherHolds, e.RecordFailed, e.LeadAttached, e.Slipped, e.Bled, e.Disturbed,
        c.ReadHt, c.ReadFallen, c.SeeClip,
        *count(short=(e.Restarted, e.BackToPower, e.LookFailed, e.Stopped, e.CauseFound, e.Unwatched), full=()),
    )  # fmt: skip
    found = walk(plan(0, kinds=SHORT, bare=False, wired=True, look_over=True), without=elsewhere, beside=WIRES)
    assert found.broken == []
    assert {Mode.HANDS, Mode.CLOSING, Mode.POWERED, Mode.DONE} <= set(found.modes)


#: What a soak is walked without, as it is walked elsewhere.
BESIDE_SOAK = (
    e.SaidNever, e.OtherHolds, e.RecordFailed, e.LeadAttached, e.LookFailed, e.Slipped, e.Bled, e.PoweredDown,
    c.ReadHt, c.ReadFallen, c.SeeClip, *count(short=(e.BackToPower, e.Restarted, e.Disturbed, e.Looked), full=()),
)  # fmt: skip


@pytest.mark.parametrize("soak", count(short=[NO_WINDING], full=[NO_WINDING, SOAK]))
def test_no_rule_is_broken_by_a_soak_with_its_cover_screwed_on(soak: Soak) -> None:
    kinds = count(short=("power",), full=SHORT)
    found = walk(plan(0, kinds=kinds, bare=False, soak=soak), without=BESIDE_SOAK)
    assert found.broken == [] and found.lost() == []
    assert {Mode.HANDS, Mode.CLOSING, Mode.POWERED, Mode.DONE} <= set(found.modes)


def test_no_rule_is_broken_by_a_winding_that_is_read_cold_and_as_it_cools() -> None:
    """From the last screw on; hands go in no more, which the walk without a winding does."""
    elsewhere = (
        c.ReadReservoir, c.ReadClip, c.CountLinks, c.CountLinksOff, c.GoIn, c.ReadRail, c.ReadOhms, e.Unwatched,
        e.SaidBare, e.SaidFitted, e.SaidMet, e.NoLead, e.ClipOff, e.HandsOut, e.CauseFound, e.FurtherRead,
    )  # fmt: skip
    given = (*IN, *INSIDE, SCREW, TOUCH)
    first = [each for one in given for each in ([TICK] * int(one) if isinstance(one, float) else [one])]
    found = walk(BY, without=(*BESIDE_SOAK, *elsewhere), first=tuple(first))
    assert found.broken == []
    assert {Mode.CLOSING, Mode.POWERED, Mode.OFF_GATE, Mode.DONE} == set(found.modes)


#: What a repair is walked without, as it is walked elsewhere.
ASIDE = (
    e.SaidNever, e.OtherHolds, e.RecordFailed, e.LeadAttached, e.LookFailed, e.Slipped, e.Bled, e.Disturbed, e.Told,
    e.BackToPower, c.ReadHt, c.ReadFallen, c.SeeClip, *count(short=(e.Stopped, e.Restarted, e.Unwatched), full=()),
)  # fmt: skip
REPAIRS: dict[str, dict[str, Any]] = {
    "checks": dict(kinds=SHORT),
    "sign-off after it": dict(kinds=("power", "hands")),
    "a guarded point": dict(kinds=SHORT, guarded=True),
}


@pytest.mark.parametrize("name", count(short=["sign-off after it"], full=REPAIRS))
def test_no_rule_is_broken_where_a_finished_amplifier_stops_working(name: str) -> None:
    found = walk(plan(0, bare=False, repair=True, **REPAIRS[name]), without=ASIDE)
    assert found.broken == [] and found.lost() == []
    assert {Mode.POWERED, Mode.DONE} <= set(found.modes)


def test_no_rule_is_broken_where_a_finished_amplifier_is_brought_back() -> None:
    found = walk(plan(0, bare=False, checkup=True, kinds=count(short=("power", "hands"), full=SHORT)), without=ASIDE)
    assert found.broken == [] and found.lost() == []
    assert {Mode.POWERED, Mode.DONE} <= set(found.modes)


#: What a walk must miss; on every run each second one of those that do not take seconds each.
WALKED = [(kind, name) for kind, names in ALL.items() for name in names if name not in OWN]
QUICK = [(kind, name) for kind, name in WALKED if not whole(name)]


@pytest.mark.parametrize(("kind", "name"), count(short=QUICK[::2], full=WALKED))
def test_what_is_switched_off_breaks_a_rule(kind: str, name: str) -> None:
    with off(kind, name):
        assert caught(name)[0]


@pytest.mark.parametrize(("kind", "name"), [(kind, name) for kind in ALL for name in ALL[kind] if name in OWN])
def test_what_no_walk_sees_is_missed_by_a_test_of_its_own(kind: str, name: str) -> None:
    assert not missed(name)
    with off(kind, name):
        assert missed(name)
