"""What an ohmmeter should show on the unpowered circuit of a stage."""

from __future__ import annotations

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import resistances
from benchtui.assemble.state import State, stage_state
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.elements import CHASSIS, Circuit
from benchtui.circuit.network import network
from benchtui.circuit.resistance import resistance
from benchtui.forecast.guarded import guarded_expectation
from benchtui.forecast.meter import resolution, shown
from benchtui.forecast.run import SAMPLES
from benchtui.forecast.windows import dominant, joint_windows
from benchtui.parts.guide import guide
from benchtui.verdicts.expectation import Expectation, Limit

_CHARGES = "it climbs while the capacitors charge from the meter: wait until it rests, red on the positive end"


def expect_ohms(build: Build, stage: str, *, samples: int = SAMPLES) -> tuple[Expectation, ...]:
    """The resistance points of `stage`, power off and the clip apart; points on no node are left out."""
    points = {n: p for n, p in build.point.items() if stage in p.stages and p.quantity == "resistance"}
    if not points:
        return ()
    state, draw = stage_state(build, stage), Draw(samples)
    nominal, drawn = resistances(build, state), resistances(build, state, draw)
    known = network(nominal).nodes.keys() | {CHASSIS}
    return tuple(
        _expectation(build, state, name, nominal, drawn, draw)
        for name, point in points.items()
        if {point.red, point.black} <= known
    )


def _expectation(build: Build, state: State, name: str, nominal: Circuit, drawn: Circuit, draw: Draw) -> Expectation:
    point = build.point[name]
    value = float(resistance(nominal, point.red, point.black)[0])
    if point.guards in ("bond", "insulation"):
        return guarded_expectation(build, name, point, value)
    if not np.isfinite(value):
        least = guide("insulation.open").value
        return Expectation(name, "resistance", "ohm", value, least, np.inf, guards=point.guards)
    values = shown(build.meter, "resistance", resistance(drawn, point.red, point.black), draw, name)
    last_digit = resolution(build.meter, "resistance", np.array([value]))
    low, high = joint_windows(values[:, None], np.array([value]), last_digit)[0]
    rail = _is_rail(build, state, point, value)
    return Expectation(
        point=name,
        quantity="resistance",
        unit="ohm",
        nominal=value,
        low=float(low),
        high=float(high + build.meter.lead_ohm),
        stop_low=_short() if rail else None,
        why=(*dominant(values, draw.drawn), *((_CHARGES,) if rail else ())),
        guards=point.guards,
    )


def _is_rail(build: Build, state: State, point: Point, value: float) -> bool:
    """Whether the reading is a smoothed rail's to chassis, which nothing but bleeders loads."""
    capacitors = (part for name, part in build.capacitor.items() if name in state.fitted)
    smoothed = any(set(part.nodes) == {point.red, point.black} for part in capacitors)
    return smoothed and CHASSIS in (point.red, point.black) and value > 5.0 * guide("ht_to_chassis.stop").value


def _short() -> Limit:
    least = guide("ht_to_chassis.stop")
    return Limit(least.value, f"a rail under 1 kohm to chassis is shorted ({least.source})")
