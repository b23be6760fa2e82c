"""Limits: found by driving the circuit to its ratings, checked here by hand from the same ratings."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from benchtui.assemble.draw import Draw
from benchtui.assemble.state import stage_state
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.limits import stage_limits
from benchtui.forecast.run import solve_ensemble, solve_nominal
from benchtui.verdicts.expectation import Expectation
from benchtui.verdicts.judge import judge
from tests.builds import recorded
from tests.reference.amplifiers import build, faults


@cache
def expected(name: str, stage: str, mains_v: float | None = None) -> dict[str, Expectation]:
    forecast = expect_powered(build(name).build, stage, mains_v=mains_v, samples=60)
    return {expectation.point: expectation for expectation in forecast.expectations}


def test_a_reservoir_stops_at_its_rating() -> None:
    limit = expected("a", "supply")["bp1"].stop_high
    assert limit is not None and limit.value == 500.0 and "C1" in limit.reason


def test_a_cathode_stops_where_the_anode_reaches_its_rating() -> None:
    # V2: 12 W at the anode (rating system not known), 560 ohm at the cathode. At the limit reading Vk the anode has
    # (anode volts - Vk) x (Vk/Rk - screen current), which must be 12 W; HT sags to some 250 V, the screen takes 7 mA.
    limit = expected("a", "output")["v2_cathode"].stop_high
    assert limit is not None
    anode_w = (250.0 - limit.value) * (limit.value / 560.0 - 0.007)
    assert anode_w == pytest.approx(12.0, rel=0.08)
    assert limit.value < 50.0
    assert "V2" in limit.reason


def test_missing_grid_bias_is_a_stop_already_before_the_valves_draw_current() -> None:
    # C sets about -37 V; with 0 V at the grid each EL34 would pass its 25 W
    for point in ("v3_bias", "v3_grid"):
        if point in expected("c", "output"):
            assert judge(0.0, expected("c", "output")[point]).verdict == "stop" or point == "v3_bias"
    grid = expected("c", "output")["v3_grid"]
    assert grid.stop_high is not None
    assert grid.nominal < grid.stop_high.value < 0.0


def test_a_heater_stops_a_tenth_over_its_volts() -> None:
    heater = expected("a", "heaters")["v2_heater"]
    assert heater.stop_high is not None and heater.stop_high.value == pytest.approx(6.93)
    assert heater.stop_low is not None and heater.stop_low.value == pytest.approx(5.04)


def test_a_bias_rail_the_wrong_way_round_is_a_stop() -> None:
    assert judge(+60.0, expected("c", "supply")["bias_raw"]).verdict == "stop"


def test_the_window_lies_within_the_limits_at_rated_mains() -> None:
    for name, stage in (("a", "output"), ("a", "driver"), ("c", "output"), ("c", "driver")):
        for point, e in expected(name, stage, 230.0).items():
            assert e.stop_high is None or e.high <= e.stop_high.value, (name, stage, point)
            assert e.stop_low is None or e.low >= e.stop_low.value, (name, stage, point)


@pytest.mark.parametrize("name", ["a", "c"])
def test_grave_faults_of_the_reference_never_pass(name: str) -> None:
    grave = ("cathode resistor", "grid leak", "bias", "coupling")
    told = {}
    for record in faults(name):
        if record["visible"] and record["stage"] in ("output", "driver") and any(g in record["fault"] for g in grave):
            found = expected(name, record["stage"], record["mains_v"])
            verdicts = {judge(v, found[p]).verdict for p, v in record["readings"].items() if p in found}
            told[record["case"], record["fault"]] = verdicts
    assert told
    assert [case for case, verdicts in told.items() if verdicts == {"pass"}] == []


def over_rating(reading_v: float) -> float:
    """Share of C's builds whose V3 passes its 25 W, were its pot set for `reading_v` at its grid."""
    made = build("c").build
    by_grid = made.adjust["P1"].model_copy(update={"point": "v3_grid", "target": reading_v})
    set_so = made.model_copy(update={"adjust": {**made.adjust, "P1": by_grid}})
    found = solve_ensemble(solve_nominal(set_so, stage_state(set_so, "output")), Draw(40))
    return float(np.mean(found.valve("V3").anode_w > 25.0))


def test_a_trimmed_grid_stops_where_nearly_every_valve_would_pass_its_rating() -> None:
    # the amplification of bought valves spreads so far that at the nominal valve's limit half of them are well off
    made = build("c").build
    run = solve_nominal(made, stage_state(made, "output"))
    nominal_valve = stage_limits(run, "output", {"v3_grid": made.point["v3_grid"]})["v3_grid"].high
    grid = expected("c", "output", 230.0)["v3_grid"]
    assert grid.stop_high is not None and nominal_valve is not None
    assert over_rating(nominal_valve.value) < 0.7
    assert over_rating(grid.stop_high.value) > 0.9
    assert over_rating(grid.nominal) < 0.1


def test_no_window_reaches_past_its_stop_when_the_mains_is_high() -> None:
    """At 253 V some sound builds pass a rating: what they read is a stop, and no part of the window."""
    made = recorded.build("pp-6v6").build
    told = expect_powered(made, "heaters", mains_v=253.0, samples=60).expectations
    clipped = [e for e in told if e.stop_high is not None and e.high == e.stop_high.value]
    assert clipped and all(e.stop_high is None or e.high <= e.stop_high.value for e in told)
