"""A stage behind a lamp limiter: the lamp's own resistance, its look, and what must be seen there at least."""

from __future__ import annotations

import math

import pytest

from benchtui.buildfile.models import Build
from benchtui.forecast.lamp import CURRENT_POWER, behind_lamp
from benchtui.forecast.limited import lamp_looks, limited_limits
from tests.builds import recorded
from tests.reference.amplifiers import build


def with_bench(made: Build, **own: object) -> Build:
    return made.model_copy(update={"bench": made.bench.model_copy(update=own)})


def least(made: Build, stage: str) -> dict[str, float]:
    told = limited_limits(made, stage).expectations
    found = {e.point: e.low if math.isfinite(e.low) else e.high for e in told}
    return {name: volts for name, volts in found.items() if math.isfinite(volts)}


@pytest.mark.parametrize(("stage", "watts"), [("heaters", 40.0), ("supply", 40.0), ("driver", 100.0)])
def test_the_lamp_stands_on_its_own_curve(stage: str, watts: float) -> None:
    """The solved circuit gives I = (W / V) (V_lamp / V)^0.55, or a twelfth of the hot resistance while cold."""
    made = recorded.build("pp-6v6").build
    found = behind_lamp(made, stage, watts)
    assert found is not None
    volts, amps = made.mains.volts, found.found.mains_amps
    warm = found.share > 1.0 / 12.0 ** (1.0 / (1.0 - CURRENT_POWER))
    assert amps[warm] == pytest.approx((watts / volts * found.share**CURRENT_POWER)[warm], rel=0.02)
    assert amps[~warm] * volts / 12.0 / (watts / volts) == pytest.approx((found.share * volts)[~warm], rel=0.02)


def test_a_larger_lamp_takes_less_and_is_dimmer() -> None:
    made = recorded.build("pp-el34").build
    small, large = (behind_lamp(made, "output", watts) for watts in (60.0, 150.0))
    assert small is not None and large is not None
    assert (small.share > large.share).all()


def test_no_sound_stage_of_a_demo_build_lights_a_lamp_of_its_bench() -> None:
    for name in recorded.NAMES:
        made = recorded.build(name).build
        for stage in ("heaters", "supply", "output"):
            assert set(lamp_looks(made, stage)) == set(made.bench.lamps)
            assert "bright" not in lamp_looks(made, stage).values()


def test_ht_must_be_seen_behind_the_lamp_before_full_mains() -> None:
    made = recorded.build("pp-el34").build
    assert 150.0 < least(made, "supply")["ht"] < recorded.readings("pp-el34")["supply"]["ht"]
    assert -60.0 < least(made, "supply")["bias_rail"] < -20.0


def test_a_rectifier_valve_whose_heater_is_starved_promises_nothing() -> None:
    """The 6V6 heaters and the 5Y3's leave the 40 W lamp so little that the 5Y3 may not emit."""
    made = with_bench(recorded.build("pp-6v6").build, lamps=(40.0,))
    assert "ht" not in least(made, "output") and "ht" in least(made, "supply")


def test_a_cathode_that_rises_as_the_valve_warms_promises_nothing() -> None:
    assert "v2_cathode" not in least(with_bench(build("a").build, lamps=(100.0,)), "output")


def test_a_variable_transformer_must_have_been_turned_up() -> None:
    made = with_bench(recorded.build("pp-el34").build, variable_transformer=True)
    assert 1.0 < least(made, "supply")["ht"] < 20.0


def test_without_a_limiter_nothing_is_promised() -> None:
    assert least(with_bench(build("a").build, lamps=(), variable_transformer=False), "supply") == {}


def test_a_grid_that_was_trimmed_in_an_earlier_stage_promises_what_it_then_has() -> None:
    """Trimmed the EL34 grids lie at -36 to -26.3 V in 200 builds drawn, at the pots' start near -41 V."""
    made = recorded.build("pp-el34").build
    assert -24.0 < least(made, "driver")["v3_grid"] < -10.0
