"""Wire gauge, resistance and drop against published tables."""

from __future__ import annotations

from math import inf, nan

import pytest

from benchtui.parts.wire import (
    chassis_amps,
    gauge_area_m2,
    gauge_diameter_m,
    ohm_per_m,
    pair_drop_v,
    rise_k,
    warm_ohm,
)

# gauge, mm, mm2, milliohm per metre: ASTM B258 formula (in inches 0.005 x 92^((36 - n)/39)), and annealed
# copper of 0.017241 ohm mm2/m (100 % IACS)
ASTM_B258 = [
    (14, 1.628, 2.081, 8.285),
    (16, 1.291, 1.309, 13.17),
    (18, 1.024, 0.823, 20.95),
    (20, 0.8118, 0.5176, 33.31),
    (22, 0.6438, 0.3255, 52.96),
    (24, 0.5106, 0.2047, 84.21),
    (26, 0.4049, 0.1288, 133.9),
]


@pytest.mark.parametrize(("awg", "mm", "mm2", "mohm_per_m"), ASTM_B258)
def test_gauges_are_those_of_the_table(awg: int, mm: float, mm2: float, mohm_per_m: float) -> None:
    assert gauge_diameter_m(awg) * 1e3 == pytest.approx(mm, abs=0.0006)
    assert gauge_area_m2(awg) * 1e6 == pytest.approx(mm2, abs=0.0006)
    assert ohm_per_m(gauge_area_m2(awg)) * 1e3 == pytest.approx(mohm_per_m, rel=6e-4)


def test_each_gauge_is_the_same_step_from_the_next() -> None:
    """ASTM B258: 1.1229322."""
    for awg in range(0, 40):
        assert gauge_diameter_m(awg) / gauge_diameter_m(awg + 1) == pytest.approx(1.1229322, abs=1e-7)


def test_a_heater_pair_loses_a_tenth_of_a_volt() -> None:
    """3 A through 2 x 0.5 m of gauge 20: 0.0999 V, computed from the table."""
    assert pair_drop_v(3.0, 0.5, gauge_area_m2(20)) == pytest.approx(0.0999, abs=0.0005)


def test_current_density() -> None:
    """3 A in gauge 20 is 5.796 A/mm2, computed; 6 A/mm2 at most is common practice, no source."""
    assert 3.0 / (gauge_area_m2(20) * 1e6) == pytest.approx(5.796, abs=0.005)
    assert chassis_amps(gauge_area_m2(20)) == pytest.approx(6 * 0.5176, abs=0.004)


def test_copper_warms_by_its_coefficient() -> None:
    """60 ohm at 20 degrees is 71.79 ohm at 70: 0.00393 per kelvin, computed."""
    assert warm_ohm(60.0, 70.0) == pytest.approx(71.79, abs=0.01)


def test_rise_by_resistance() -> None:
    """8.0 ohm at 20 degrees, 9.6 ohm hot: 50.9 K, computed from (Rh/Rc)(234.5 + Tc) - (234.5 + Ta)."""
    assert rise_k(8.0, 9.6, 20.0, 20.0) == pytest.approx(50.9, abs=0.05)


@pytest.mark.parametrize(("cold", "hot"), [(0.0, 9.6), (nan, 9.6), (8.0, inf), (8.0, nan)])
def test_rise_needs_two_real_resistances(cold: float, hot: float) -> None:
    with pytest.raises(ValueError, match="cold resistance above zero"):
        rise_k(cold, hot, 20.0, 20.0)


def test_a_two_metre_lead_adds_46_milliohm() -> None:
    """2 m of 0.75 mm2: 0.046 ohm, computed from 0.01724 ohm mm2/m."""
    assert 2 * ohm_per_m(0.75e-6) == pytest.approx(0.046, abs=0.0005)
