"""What is read again after a part was replaced, on the demo builds."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from benchtui.buildfile.load import load
from benchtui.buildfile.models import Build
from benchtui.buildfile.whole import whole
from benchtui.diagnosis.retest import Retest, retest

BUILDS = Path(__file__).parents[2] / "builds"


@cache
def amplifier(name: str) -> Build:
    return whole(load(BUILDS / f"{name}.toml").build)


@cache
def again(name: str, *parts: str) -> Retest:
    return retest(amplifier(name), "signal", parts)


def listed(name: str, *quantities: str) -> set[str]:
    """The points of the whole amplifier that read such quantities."""
    points = amplifier(name).point.items()
    return {id for id, point in points if "signal" in point.stages and point.quantity in quantities}


def test_a_coupling_capacitor_moves_the_grid_behind_it_and_neither_heaters_nor_the_other_grid() -> None:
    found = again("pp-6v6", "C6")
    assert {"v2_grid", "v2_cathode", "v1b_cathode"} <= set(found.volts)
    assert {"heater_a", "heater_b", "v3_grid"} <= set(found.spared)
    assert found.ohms == ("v2_grid_ohm", "v1b_tail_ohm")


def test_a_valve_is_plugged_in_and_brings_no_slip_of_wiring_what_is_soldered_does() -> None:
    assert "dropper_ohm" not in again("pp-6v6", "V2").ohms
    assert "heater_a_ohm" in again("pp-6v6", "R23").ohms  # its lead may be on the pin beside, which is a heater's


def test_one_channel_moves_nothing_behind_the_other_s_coupling_capacitor() -> None:
    found = again("se-stereo", "C14L")
    assert {"t_anode_L", "t_cathode_L"} <= set(found.volts) and "t_anode_R" in found.spared
    assert found.ohms == ("t_cathode_ohm_L",)


def test_an_output_valve_moves_its_heater_and_its_pair() -> None:
    found = again("pp-6v6", "V2")
    assert {"heater_a", "v2_cathode", "v3_cathode", "ht"} <= set(found.volts)
    assert "v2_cathode_ohm" in found.ohms and "v3_grid" in found.spared


def test_a_bleeder_moves_the_rails_and_no_grid() -> None:
    found = again("pp-6v6", "R4")
    assert {"ht", "reservoir", "ht_small"} <= set(found.volts) and {"v2_grid", "heater_a"} <= set(found.spared)
    assert set(found.ohms) == {"choke_ohm", "dropper_ohm"}


@pytest.mark.parametrize("fuse", ["F1", "F2"])
def test_after_a_fuse_alone_all_is_read_since_it_seldom_blows_for_nothing(fuse: str) -> None:
    found = again("pp-6v6", fuse)
    assert not found.spared and set(found.volts) == listed("pp-6v6", "dc", "ac", "ripple")


def test_bond_and_insulation_are_read_where_the_mains_side_was_touched() -> None:
    guards = {"earth_bond", "insulation", "insulation_n"}
    assert guards <= set(again("pp-6v6", "F1").ohms) and guards <= set(again("pp-6v6", "S1L").ohms)
    assert not guards & set(again("pp-6v6", "C6").ohms)


def test_grid_bias_is_always_read() -> None:
    assert {"v3_grid", "v4_grid"} <= set(again("pp-el34", "R43").volts)


def test_a_part_without_a_known_fault_leaves_nothing_out() -> None:
    assert not again("pp-6v6", "J1").spared and not again("pp-6v6", "J1", "R23").spared


def test_two_parts_move_what_either_moves() -> None:
    both, one, other = again("pp-6v6", "R23", "C6"), again("pp-6v6", "R23"), again("pp-6v6", "C6")
    assert set(both.volts) == set(one.volts) | set(other.volts)
    assert set(both.ohms) == set(one.ohms) | set(other.ohms)
