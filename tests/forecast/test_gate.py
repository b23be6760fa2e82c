"""Reservoirs, their groups, their fall, and HT to chassis in ohms."""

from __future__ import annotations

import math

import pytest

from benchtui.buildfile.models import Build
from benchtui.forecast.gate import gate_forecast
from tests.reference.amplifiers import build


def without(made: Build, *resistors: str) -> Build:
    return made.model_copy(update={"resistor": {n: r for n, r in made.resistor.items() if n not in resistors}})


def test_nothing_is_charged_before_the_first_rectifier() -> None:
    assert gate_forecast(build("a").build, "heaters").reservoirs == ()


def test_capacitors_joined_by_under_100_kohm_are_one_group() -> None:
    (reservoir,) = gate_forecast(build("a").build, "supply").reservoirs
    assert set(reservoir.parts) == {"C1", "C2", "C3"}


def test_a_bias_supply_is_a_reservoir_of_its_own() -> None:
    groups = [set(reservoir.parts) for reservoir in gate_forecast(build("c").build, "supply").reservoirs]
    assert groups == [{"C1", "C2", "C3", "C4"}, {"C5", "C6"}]


def test_the_highest_volts_are_the_crest_at_the_highest_mains() -> None:
    # C, silicon bridge: 300 V rms off load, a tenth high, less two junctions: about 1.1 x 300 x sqrt 2 - 2
    highest = gate_forecast(build("c").build, "supply").reservoirs[0].highest_v
    assert highest == pytest.approx(1.1 * 300 * math.sqrt(2), rel=0.02)
    assert highest < 1.1 * 300 * math.sqrt(2)


def test_the_slowest_fall_agrees_with_rc() -> None:
    # A: 16 + 47 + 22 uF over 100k parallel 220k, from 409 V to 10 V; t = R C ln(V0/Vth), tolerances apart
    (reservoir,) = gate_forecast(build("a").build, "supply").reservoirs
    rc = 85e-6 * 1.0 / (1 / 100e3 + 1 / 220e3)
    assert reservoir.slowest_s == pytest.approx(rc * math.log(reservoir.highest_v / 10.0), rel=0.05)


def test_without_a_bleeder_the_fall_never_ends() -> None:
    made = without(build("a").build, "R1", "R3")
    (reservoir,) = gate_forecast(made, "supply").reservoirs
    assert math.isinf(reservoir.slowest_s) and not reservoir.bled


def test_ohms_to_chassis_are_the_bleeders_and_far_from_the_clip() -> None:
    found = gate_forecast(build("a").build, "supply")
    # at C2: 100k parallel (260 + 220k)
    assert found.ohms_nominal == pytest.approx(1 / (1 / 100e3 + 1 / 220.26e3), rel=1e-3)
    assert found.ohms_low < found.ohms_nominal < found.ohms_high
    assert found.clip_ohms < 0.1 * found.ohms_low


def test_the_bleed_says_first_current_and_watts() -> None:
    # s2-lead-i and s2-lead-p of the worked checks: 450 V through 2k2 is 204.5 mA and 92 W for an instant
    reservoir = gate_forecast(build("c").build, "supply").reservoirs[0]
    assert reservoir.bleed.first_a == pytest.approx(reservoir.highest_v / 2200.0)
    assert reservoir.bleed.first_w == pytest.approx(reservoir.highest_v**2 / 2200.0)
    assert "C5" in reservoir.bleed.through[-1]
