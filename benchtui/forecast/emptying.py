"""How the reservoirs empty after switch-off, as curves: the fall that the gate goes by, at the highest mains."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from benchtui.buildfile.models import Build
from benchtui.circuit.discharge import discharge
from benchtui.forecast.reservoirs import charge
from benchtui.forecast.results import GateForecast

TIMES = 151


@dataclass(frozen=True)
class Emptying:
    """Volts across each reservoir, valves cold, fuses and switches open; alike in length with `times_s`."""

    threshold_v: float
    times_s: tuple[float, ...]
    volts: Mapping[str, tuple[float, ...]]


def emptying(build: Build, gate: GateForecast, end_s: float) -> Emptying | None:
    """The fall of every reservoir of `gate` over `end_s` seconds; None where nothing is charged."""
    charged = charge(build, gate.stage)
    if charged is None or not gate.reservoirs:
        return None
    held = {name: charged.highest_v[name] for each in gate.reservoirs for name in each.parts}
    fall = discharge(charged.apart, held)
    times = tuple(end_s * k / (TIMES - 1) for k in range(TIMES))
    runs = [[abs(float(volts)) for volts in fall.volts_at(seconds)[0]] for seconds in times]
    return Emptying(
        charged.threshold_v,
        times,
        {each.id: tuple(run[fall.names.index(each.id)] for run in runs) for each in gate.reservoirs},
    )
