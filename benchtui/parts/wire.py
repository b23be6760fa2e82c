"""Copper wire: gauge to size, resistance, drop and rise of temperature."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from math import isfinite, pi
from typing import Any


@cache
def _data() -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath("wire.toml").read_text("utf-8"))


def gauge_diameter_m(awg: int) -> float:
    """Diameter in metres of American wire gauge `awg` (-3 is 0000). Source: ASTM B258."""
    gauge = _data()["gauge"]
    power = (gauge["reference_gauge"] - awg) / gauge["steps"]
    return gauge["reference_mm"] * 1e-3 * gauge["ratio"] ** power


def gauge_area_m2(awg: int) -> float:
    """Cross-section in square metres of American wire gauge `awg`."""
    return pi / 4 * gauge_diameter_m(awg) ** 2


def ohm_per_m(area_m2: float) -> float:
    """Resistance in ohms of one metre of annealed copper at 20 degrees Celsius."""
    return _data()["copper"]["ohm_mm2_per_m"] * 1e-6 / area_m2


def warm_ohm(ohm_20c: float, celsius: float) -> float:
    """Resistance in ohms at `celsius` of copper that has `ohm_20c` at 20 degrees."""
    return ohm_20c * (1 + _data()["copper"]["per_kelvin"] * (celsius - 20))


def rise_k(cold_ohm: float, hot_ohm: float, cold_c: float, ambient_c: float) -> float:
    """Rise over ambient in kelvin of a copper winding, by its resistances cold (at `cold_c`) and hot.

    Raises ValueError unless the cold resistance is above zero and the hot one finite.
    """
    if not (cold_ohm > 0 and isfinite(hot_ohm)):
        raise ValueError("the rise needs a cold resistance above zero and a finite hot one")
    zero = _data()["copper"]["inferred_zero_c"]
    return hot_ohm / cold_ohm * (zero + cold_c) - (zero + ambient_c)


def pair_drop_v(amps: float, length_m: float, area_m2: float) -> float:
    """Volts lost in a pair of wires, each `length_m` long."""
    return 2 * length_m * ohm_per_m(area_m2) * amps


def chassis_amps(area_m2: float) -> float:
    """Largest current in amperes for a short open wire in a chassis (common practice, no source)."""
    return _data()["chassis"]["most_a_per_mm2"] * area_m2 * 1e6
