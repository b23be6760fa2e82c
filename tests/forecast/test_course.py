"""The point to watch: where nothing but hum is expected, while rectifiers warm, and while a filter swings."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.buildfile.load import load
from benchtui.buildfile.models import Thermistor
from benchtui.forecast.course import first_minute
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.run import stage_run
from tests.circuit import deck

BUILDS = Path(__file__).parents[2] / "builds"


def test_across_the_load_hum_is_healthy_and_the_figure_to_switch_off_at_is_the_limit() -> None:
    """Ten millivolts of hum: common practice, no source. The circuit alone gives microvolts."""
    build = load(BUILDS / "pp-6v6.toml").build
    found = {e.point: e for e in expect_powered(build, "signal", mains_v=230.0, samples=16).expectations}["load_ac"]
    assert abs(found.nominal) < 1e-4 and 0.005 < found.high < 0.02
    course = first_minute(build, "signal", mains_v=230.0)
    assert course is not None and course.switch_off_v == 1.0 and "oscillates" in course.reason


def test_valve_rectifiers_bring_the_supply_up_and_nothing_swings() -> None:
    """A 5Y3GT is directly heated: nothing at 0 s, nine tenths of its emission after two, and from then on steady."""
    course = first_minute(load(BUILDS / "pp-6v6.toml").build, "supply", mains_v=230.0)
    assert course is not None and course.times_s[:3] == (0.0, 1.0, 2.0)
    assert course.volts[0] == pytest.approx(0.0, abs=0.01)
    assert 0.8 * course.highest_v < course.volts[1] < course.volts[2] < course.highest_v
    assert course.volts[2] > 0.98 * course.highest_v
    assert course.volts[4:] == pytest.approx([course.highest_v] * len(course.volts[4:]), rel=1e-3)


@pytest.mark.spice
def test_behind_silicon_and_a_choke_the_first_second_is_the_highest() -> None:
    """What a meter shows (the mean of 0.3 s) of ngspice's own run from nothing, and no alarm below it."""
    build = load(BUILDS / "pp-el34.toml").build
    course = first_minute(build, "supply", mains_v=230.0)
    assert course is not None and course.point == "ht"
    state = stage_state(build, "supply").cold()
    circuit = assemble(build, replace(state, pots=stage_run(build, "supply").positions))
    found = deck.run(circuit, {}, run_s=0.6, keep_from_s=0.0, step_s=1e-4)
    even = np.arange(0.0, 0.6, 1e-4)
    volts = np.interp(even, found["time"], found["v(ht)"])
    shown = np.convolve(volts, np.full(3000, 1.0 / 3000), mode="valid").max()
    assert course.volts[0] == course.highest_v == pytest.approx(shown, rel=0.003)
    assert course.volts[0] > 1.015 * course.volts[-1]
    assert volts.max() > 1.1 * course.volts[-1], "the swing itself is shorter than a meter can show"
    assert course.switch_off_v > course.highest_v


def test_an_inrush_thermistor_warms_on_the_way() -> None:
    """In the HT lead, 470 ohm cold and 4 ohm warm: the supply rises with it, to where the warm one has it."""
    build = load(BUILDS / "pp-el34.toml").build
    fuse = build.fuse["F2"]
    thermistor = Thermistor(nodes=fuse.nodes, stage=fuse.stage, value="4 ohm", cold="470 ohm")
    without = {name: part for name, part in build.fuse.items() if name != "F2"}
    made = build.model_copy(update={"fuse": without, "thermistor": {"TH1": thermistor}})
    course = first_minute(made, "supply", mains_v=230.0)
    assert course is not None
    rising = course.volts[1:]
    assert list(rising) == sorted(rising)
    assert rising[0] < 0.98 * rising[-1]
    warm = stage_run(made, "supply", mains_v=230.0).nominal.dc("ht", "0")[0]
    assert rising[-1] == pytest.approx(warm, rel=2e-3)
