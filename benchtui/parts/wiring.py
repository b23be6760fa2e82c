"""Wires of a chassis: what they are for, their colours, and what wire is sold."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from benchtui.parts import wire

#: Below this mains the cord has the colours of 120 V countries.
_LOW_MAINS_V = 150.0

#: (line, neutral, earth) by IEC 60445, and where mains is 120 V.
_IEC = ("brown", "blue", "green-and-yellow")
_LOW = ("black", "white", "green-and-yellow")


@dataclass(frozen=True)
class Use:
    """What a wire is for: its colour ("" on the mains side), how it is laid, its smallest cross-section, its turn."""

    name: str
    says: str
    colour: str
    laid: str
    least_mm2: float
    turn: int


@cache
def uses() -> Mapping[str, Use]:
    """Every use by its name, in the order of wiring."""
    return {
        name: Use(name, row["says"], row.get("colour", ""), row["laid"], row["least_mm2"], turn)
        for turn, (name, row) in enumerate(_data()["use"].items())
    }


def mains_colours(mains_v: float) -> tuple[str, str, str]:
    """(line, neutral, protective earth) as the mains cord has them."""
    return _LOW if mains_v < _LOW_MAINS_V else _IEC


def insulation_v(volts: float) -> float | None:
    """Volts that the insulation of a wire is rated for that may be at `volts` to chassis; None if no usual one is, or
    where the volts are not known (NaN).
    """
    rows = _data()["insulation"]
    least = rows["rated_v"][0] if abs(volts) <= rows["high_v"] else rows["rated_v"][1]
    return next((float(rated) for rated in rows["rated_v"] if rated >= max(abs(volts), least)), None)


@dataclass(frozen=True)
class Gauge:
    """A wire: AWG and the metric size for the same work, with the cross-section that is counted on, in mm2."""

    awg: int
    metric_mm2: float
    area_mm2: float

    @property
    def says(self) -> str:
        """Both sizes, as one asks for them."""
        return f"AWG {self.awg} or {self.metric_mm2:g} mm2"


def gauge(amps: float, least_mm2: float, *, ohm_per_m: float | None = None) -> Gauge | None:
    """The smallest wire for `amps` that has `least_mm2`, and `ohm_per_m` at most; None where no usual one does.

    Current by 6 A/mm2 (parts/wire.toml). The smaller of both sizes counts.
    """
    rows = _data()["gauge"]

    def fits(area_m2: float) -> bool:
        cool = wire.chassis_amps(area_m2) >= amps
        return cool and (ohm_per_m is None or wire.ohm_per_m(area_m2) <= ohm_per_m)

    metric = next((mm2 for mm2 in rows["mm2"] if mm2 >= least_mm2 and fits(mm2 * 1e-6)), None)
    # a gauge that comes within a tenth of the metric size does the same work: AWG 24 has 0.205 mm2, 18 has 0.823
    areas = {awg: wire.gauge_area_m2(awg) * 1e6 for awg in rows["awg"]}
    awg = next((n for n, mm2 in areas.items() if mm2 >= 0.9 * least_mm2 and fits(mm2 * 1e-6)), None)
    if metric is None or awg is None:
        return None
    return Gauge(awg, metric, min(metric, areas[awg]))


def heater_drop() -> float:
    """Share of the heaters' volts that their wires may lose."""
    return _data()["gauge"]["heater_drop"]


def assumed_m() -> float:
    """Length of a wire whose ends are on no panel."""
    return _data()["length"]["assumed_m"]


def slack_m() -> float:
    """What a wire is longer than the way between its ends."""
    return _data()["length"]["slack_m"]


@cache
def _data() -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath("wiring.toml").read_text("utf-8"))
