"""Two channels beside each other: what sound pairs differ by, and a channel that only its other one gives away."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.circuit.elements import Circuit
from benchtui.circuit.operate import operate
from benchtui.forecast.drawn import drawn_ensemble, read_points
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.results import StageForecast
from benchtui.forecast.run import stage_run
from benchtui.verdicts.beside import Beside
from tests.builds import recorded

BUILD = recorded.build("se-stereo").build
MAINS_V, BUILDS, SEED = 230.0, 100, 23


@cache
def forecast(stage: str) -> StageForecast:
    return expect_powered(BUILD, stage, mains_v=MAINS_V)


def pair(point: str, stage: str = "output") -> Beside:
    return next(each for each in forecast(stage).beside if each.point == point)


def test_every_point_of_a_channel_has_its_other_one() -> None:
    points = {each.point for each in forecast("output").beside}
    assert points == {name for name, p in BUILD.point.items() if name[-1] in BUILD.channels and "output" in p.stages
                      and p.quantity != "resistance"}  # fmt: skip
    assert pair("ht_L").other == "ht_R" and pair("ht_R").high == -pair("ht_L").low
    assert recorded.build("pp-6v6").build.channels == {}
    assert expect_powered(recorded.build("pp-6v6").build, "supply", mains_v=MAINS_V).beside == ()


@pytest.mark.parametrize("point", ["ht_L", "p_screen_L"])
def test_sound_channels_agree_far_better_than_builds_do(point: str) -> None:
    of = next(each for each in forecast("output").expectations if each.point == point)
    assert 0.0 < pair(point).high - pair(point).low < 0.75 * (of.high - of.low)


@pytest.mark.parametrize("stage", ["supply", "output"])
def test_sound_builds_seldom_differ_by_more(stage: str) -> None:
    """Of a hundred builds drawn otherwise than those that the windows come from."""
    run, draw = stage_run(BUILD, stage, mains_v=MAINS_V), Draw(BUILDS, SEED)
    pairs = [each for each in forecast(stage).beside if each.point.endswith("L")]
    points = {name: BUILD.point[name] for each in pairs for name in (each.point, each.other)}
    nominal = read_points(BUILD, run.nominal, points)[0]
    read = read_points(BUILD, drawn_ensemble(run, MAINS_V, draw), points, draw, nominal)
    column = {name: read[:, k] for k, name in enumerate(points)}
    off = [(column[p.point] - column[p.other] < p.low) | (column[p.point] - column[p.other] > p.high) for p in pairs]
    assert np.any(off, axis=0).mean() <= 0.02


def test_a_channel_that_is_off_within_its_window_shows_beside_the_other() -> None:
    """One dropper has four fifths too much: its HT is within what builds read, and is not beside the other's."""
    run = stage_run(BUILD, "output", mains_v=MAINS_V)
    circuit = assemble(BUILD, run.state)
    wrong = tuple(replace(e, ohm=1.8 * e.ohm) if e.name == "R10L" else e for e in circuit.elements)
    found = operate(Circuit(wrong, circuit.mains_hz), start=run.nominal)
    points = {name: BUILD.point[name] for name in ("ht_L", "ht_R")}
    left, right = read_points(BUILD, found, points)[0]
    of = next(each for each in forecast("output").expectations if each.point == "ht_L")
    assert of.low < left < of.high and left - right < pair("ht_L").low
