"""Reservoirs, their groups, their fall, and HT to chassis in ohms."""

from __future__ import annotations

import math

import pytest

from benchtui.assemble.state import stage_state
from benchtui.buildfile.models import Build, Capacitor, Switch
from benchtui.forecast.gate import gate_forecast
from benchtui.forecast.reservoirs import capacitor_peaks
from benchtui.forecast.run import cold_at_highest_mains
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


def test_the_highest_volts_are_the_crest_at_the_highest_mains_and_what_a_choke_adds() -> None:
    # C, silicon bridge: 300 V rms off load, a tenth high, less two junctions: about 1.1 x 300 x sqrt 2 - 2
    made = build("c").build
    crest = 1.1 * 300 * math.sqrt(2)
    state = stage_state(made, "supply", mains_v=253.0)
    steady = capacitor_peaks(made, state, cold_at_highest_mains(made, "supply"))
    assert steady["C1"] == pytest.approx(crest, rel=0.02)
    # the choke pushes the reservoirs above the crest just after switch-on; rectifiers and a slow bleeder leave it there
    highest = gate_forecast(made, "supply").reservoirs[0].highest_v
    assert 1.02 * crest < highest < 1.12 * crest


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


def added(**capacitors: Capacitor) -> Build:
    made = build("a").build
    return made.model_copy(update={"capacitor": {**made.capacitor, **capacitors}})


def electrolytic(a: str, b: str, farad: str) -> Capacitor:
    return Capacitor(nodes=(a, b), value=farad, volts="500 V", make="electrolytic", stage="supply")


def test_a_capacitor_that_does_not_stand_on_chassis_is_read_by_itself() -> None:
    made = added(CX=electrolytic("bp2", "mid", "100u"), CY=electrolytic("mid", "0", "100u"))
    halves = {f"R{n}": made.resistor["R1"].model_copy(update={"nodes": ends, "value": 47e3})
              for n, ends in ((91, ("bp2", "mid")), (92, ("mid", "0")))}
    found = gate_forecast(made.model_copy(update={"resistor": {**made.resistor, **halves}}), "supply")
    groups = {frozenset(r.parts): (r.red, r.black) for r in found.reservoirs}
    assert groups[frozenset({"CX"})] == ("bp2", "mid")
    assert any("CY" in parts and black == "0" for parts, (_, black) in groups.items())
    assert {"bp2", "mid"} & {node for _, node in found.rails}


def test_a_charge_behind_a_switch_that_may_stand_open_is_a_reservoir() -> None:
    standby = Switch(nodes=("bp2", "behind"), stage="supply")
    made = added(CB=electrolytic("behind", "0", "1u")).model_copy(update={"switch": {"S2": standby}})
    found = {part: r for r in gate_forecast(made, "supply").reservoirs for part in r.parts}
    assert "CB" in found and not found["CB"].bled
