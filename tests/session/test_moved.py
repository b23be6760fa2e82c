"""How far a reading has moved since a sign-off, and what that means: reckoned by hand from meter and mains."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan

import pytest

from benchtui.buildfile.load import load
from benchtui.parts.guide import value as guide
from benchtui.procedure.plan import WINDING, Point
from benchtui.session.ageing import kind_of, means
from benchtui.session.moved import Moved, compare
from benchtui.session.planning import plan
from benchtui.session.shutting import with_touchable
from benchtui.session.signed import Read
from benchtui.session.tables import table
from tests.session.made_up import BUILDS

BUILD = with_touchable(load(BUILDS / "pp-6v6.toml").build)
POINTS = {point.id: point for phase in plan(BUILD, {}).phases for point in phase.points}
CATHODE, HT, HUM, GRID = (POINTS[id] for id in ("v2_cathode", "ht", "load_ac", "v2_grid"))
#: As the file has it: 0.8 % + 2 digits on DC, 1 % + 3 on AC, 6000 counts.
METER = BUILD.meter


def read(value: float, plain: float | None = None, mains_v: float | None = 230.0, by: str = "") -> Read:
    return Read(value, plain, mains_v, 1e9, "signal", by)


def moved(kind: str, point: Point, then: Read | None, now: Read) -> Moved:
    found = compare(BUILD, kind, point, then, now)
    assert found is not None
    return found


def test_the_mains_is_reckoned_out_by_what_the_file_makes_of_it() -> None:
    """On 10 % more mains the file says 22 V for 20 V: 21.6 V there is as 19.6 V was, 2 % down of 20 V."""
    found = moved("current", CATHODE, read(20.0, 20.0, 218.0), read(21.56, 22.0, 240.0))
    assert found.by == pytest.approx(-0.02) and found.none


def test_what_two_readings_allow_is_no_move_and_a_little_more_is_one() -> None:
    """Twice 0.8 % and 2 digits of 0.01 V of the meter, twice 1 % of the mains at a slope of 1.5, 2 % by itself."""
    unsure = 2 * 0.008 + 2 * 2 * 0.01 / 20.0 + 2 * 0.01 * 1.5 + 0.02
    assert moved("current", CATHODE, read(20.0, 20.0), read(20.0, 20.0)).unsure == pytest.approx(unsure)
    for share in (-0.99, 0.99):
        assert moved("current", CATHODE, read(20.0, 20.0), read(20.0 * (1.0 + share * unsure), 20.0)).none
    for share in (-1.05, 1.05):
        assert not moved("current", CATHODE, read(20.0, 20.0), read(20.0 * (1.0 + share * unsure), 20.0)).none


def test_where_the_files_value_is_not_known_the_mains_itself_is_unsure() -> None:
    old, new = read(300.0, None, 220.0), read(330.0, 329.0, 242.0)
    assert moved("ht", HT, old, new).none  # all of its 10 % may be the mains'
    assert not moved("ht", HT, replace(old, mains_v=242.0), new).none
    assert compare(BUILD, "ht", HT, replace(old, mains_v=None), new) is None
    assert moved("ht", HT, replace(old, plain=nan), new).none


def test_a_value_next_to_nothing_corrects_nothing() -> None:
    """A hum of which the file foretells microvolts: their ratio is noise, and no mains moves it fivefold."""
    assert moved("hum", HUM, read(0.004, 2e-6), read(0.004, 1e-5)).by == 0.0


def test_a_hum_too_small_for_the_meter_is_no_alarm_and_one_that_is_grown_is() -> None:
    quiet, loud = (moved("hum", HUM, read(0.001, 2e-6), read(value, 2e-6)) for value in (0.0013, 0.012))
    assert quiet.none
    assert not loud.none and means("hum", loud.by) and loud.off == pytest.approx(0.011) and loud.step


def test_volts_that_should_be_nothing_are_compared_by_their_difference() -> None:
    found = moved("grid", GRID, read(0.0, -0.01), read(0.8, -0.01))
    assert found.step and found.off == pytest.approx(0.8) and "coupling capacitor" in means("grid", found.by)
    assert moved("grid", GRID, read(-0.02, -0.01), read(0.01, -0.01)).none or not means("grid", 0.03)


def test_negative_volts_move_down_when_they_come_nearer_to_nothing() -> None:
    found = moved("bias", GRID, read(-36.0, -36.0), read(-31.0, -36.0))
    assert found.by == pytest.approx(-5.0 / 36.0) and "ess negative" in means("bias", found.by)


def test_insulation_that_read_open_falls_from_the_top_of_the_tester() -> None:
    at = POINTS.get("insulation") or Point("insulation", "insulation", "resistance", "ohm", "", "", "insulation")
    cold = {"plain": inf, "mains_v": None}
    assert moved("insulation", at, read(inf, **cold), read(inf, **cold)).none
    assert not means("insulation", moved("insulation", at, read(inf, **cold), read(100e6, **cold)).by)
    assert means("insulation", moved("insulation", at, read(inf, **cold), read(20e6, **cold)).by)
    assert moved("insulation", at, read(20e6, **cold), read(inf, **cold)).by > 0.0
    assert not means("insulation", 9.0)  # better is no alarm


def test_what_was_read_by_another_instrument_or_not_at_all_is_not_compared() -> None:
    assert compare(BUILD, "bond", HT, read(0.3, by="bond tester"), read(0.08)) is None
    assert compare(BUILD, "bond", HT, None, read(0.08)) is None


def test_a_hand_meter_on_a_bond_tells_no_hundredths() -> None:
    bond = Point("earth_bond", "bond", "resistance", "ohm", "", "", "bond")
    by_hand = [read(value, 0.05, None, "bond tester") for value in (0.2, 0.4)]
    assert moved("bond", bond, *by_hand).none
    assert not moved("bond", bond, read(0.05, 0.05, None), read(0.15, 0.05, None)).none


def test_a_winding_is_compared_above_the_rooms_that_it_was_in() -> None:
    """Its limit moves with the room: 60 degC of 95 in a room of 35 is no more than 45 of 80 in one of 20."""
    winding = Point(WINDING, "winding", "temperature", "degC", "", "")
    assert moved("winding", winding, read(45.0, 80.0, None), read(60.0, 95.0, None)).by == 0.0
    assert means("winding", moved("winding", winding, read(45.0, 80.0, None), read(65.0, 80.0, None)).by)


@pytest.mark.parametrize(
    ("id", "kind"),
    [
        ("v2_cathode", "cathode"), ("v1a_cathode", "cathode"), ("ht", "ht"), ("reservoir", "ht"), ("v2_anode", "volts"),
        ("ht_ripple", "ripple"), ("load_ac", "hum"), ("heater_a", "other"), ("signal closed", "gain"),
        ("signal clip", "power"), ("signal at V1a", "gain"), ("earth_bond", "bond"),
    ],
)  # fmt: skip
def test_a_point_tells_of_age_by_its_place(id: str, kind: str) -> None:
    assert kind_of(BUILD, POINTS[id], 100.0) == kind


def test_a_sense_resistor_tells_of_a_current_that_no_cathode_resistor_holds_up() -> None:
    fixed = load(BUILDS / "pp-el34.toml").build
    points = {point.id: point for phase in plan(fixed, {}).phases for point in phase.points}
    assert [kind_of(fixed, points[id], volts) for id, volts in (("v3_cathode", 0.45), ("v1_cathode", 4.8))] == [
        "current", "cathode",
    ]  # fmt: skip


def test_a_grid_tells_of_leakage_where_it_should_have_no_volts() -> None:
    assert kind_of(BUILD, POINTS["v2_grid"], -0.01) == "grid" and kind_of(BUILD, POINTS["v1b_grid"], 80.0) == "volts"


@pytest.mark.parametrize("kind", sorted(table("compared")["means"]))
def test_every_move_that_means_something_has_a_figure_and_less_means_nothing(kind: str) -> None:
    for way, says in table("compared")["means"][kind].items():
        most = guide(f"moved.{kind}_{way}") * (1.0 if way == "up" else -1.0)
        assert means(kind, 1.01 * most) == says and not means(kind, 0.99 * most)
        assert len(says) <= 120 and "safe" not in says
