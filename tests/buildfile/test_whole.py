"""The finished amplifier as it is read once it has stopped working."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.buildfile.load import load
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.buildfile.whole import last_powered, whole

BUILDS = Path(__file__).parents[2] / "builds"


def read_at_last(name: str) -> tuple[Build, frozenset[str]]:
    """The whole build, and the points of its last stage with power."""
    found = whole(load(BUILDS / name).build)
    return found, frozenset(id for id, point in found.point.items() if "signal" in point.stages)


@pytest.mark.parametrize("name", ["pp-6v6.toml", "pp-el34.toml", "se-stereo.toml"])
def test_what_all_valves_and_fuses_in_showed_is_read_and_what_was_parked_is_not(name: str) -> None:
    build, points = read_at_last(name)
    live = {id for id in points if build.point[id].quantity != "resistance"}
    assert live == {
        id for id, p in build.point.items() if p.quantity != "resistance" and {"driver", "signal"} & set(p.stages)
    }
    assert {"reservoir", "ht", "heater_a"} <= live
    assert not {"heaters_off_load", "ht_half1", "ht_winding", "bias_winding"} & points


def test_ohms_are_read_and_insulation_where_it_is_read_at_the_end() -> None:
    _, points = read_at_last("pp-6v6.toml")
    assert {"primary", "choke_ohm", "v2_grid_ohm", "earth_bond", "insulation"} <= points
    assert "ht_insulation" not in points


def test_nothing_else_changes() -> None:
    build = load(BUILDS / "pp-6v6.toml").build
    assert [info.id for info in stages(whole(build))] == [info.id for info in stages(build)]
    assert whole(build).capacitor is build.capacitor and whole(build) is whole(build)


def test_a_build_without_power_stays_as_it_is() -> None:
    build = load(BUILDS / "pp-6v6.toml").build
    powered = [info.id for info in stages(build) if info.kind == "power"]
    skipped = {
        **build.stage,
        **{id: build.stage.get(id, _entry(build)).model_copy(update={"skip": "no power"}) for id in powered},
    }
    dead = build.model_copy(update={"stage": skipped})
    assert last_powered(dead) is None and whole(dead) is dead


def _entry(build: Build) -> object:
    return stages(build)[0].entry
