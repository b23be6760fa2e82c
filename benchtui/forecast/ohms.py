"""What an ohmmeter should show on the unpowered circuit of a stage."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import resistances
from benchtui.assemble.state import State, stage_state
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.elements import CHASSIS, Circuit
from benchtui.circuit.network import network
from benchtui.circuit.resistance import resistance
from benchtui.forecast.clip import Ends, clips_on, powered_before
from benchtui.forecast.guarded import guarded_expectation
from benchtui.forecast.meter import resolution, shown
from benchtui.forecast.run import SAMPLES
from benchtui.forecast.windows import FLOOR_SHARE, dominant, joint_windows
from benchtui.parts.guide import guide
from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Expectation, Limit

_CHARGES = "it climbs while the capacitors charge from the meter: wait until it rests, red on the positive end"


def expect_ohms(
    build: Build, stage: str, *, clips: tuple[Ends, ...] | None = None, samples: int = SAMPLES
) -> tuple[Expectation, ...]:
    """The resistance points of `stage`, read with hands in and the bleed clip or the links across `clips`.

    None: the bleed clip from the first power on, before it nothing. Points on no node are left out.
    """
    points = {n: p for n, p in build.point.items() if stage in p.stages and p.quantity == "resistance"}
    if not points:
        return ()
    state, draw = stage_state(build, stage), Draw(samples)
    without = resistances(build, state)
    known = network(without).nodes.keys() | {CHASSIS}
    points = {name: point for name, point in points.items() if {point.red, point.black} <= known}
    if clips is None:
        clips = clips_on(build, stage, linked=False) if powered_before(build, stage) else ()
    state = replace(state, clips=tuple(ends for ends in clips if set(ends) <= known))
    bench = _Bench(build, state, without, resistances(build, state), resistances(build, state, draw), draw)
    return tuple(_expectation(bench, name, point) for name, point in points.items())


@dataclass(frozen=True)
class _Bench:
    """What the ohmmeter meets: the stage without the clip, and as it is read, nominal and drawn."""

    build: Build
    state: State
    without_clip: Circuit
    nominal: Circuit
    drawn: Circuit
    draw: Draw


def _expectation(bench: _Bench, name: str, point: Point) -> Expectation:
    build = bench.build
    value = float(resistance(bench.nominal, point.red, point.black)[0])
    if point.guards in ("bond", "insulation"):
        return guarded_expectation(build, name, point, value)
    if not np.isfinite(value):
        least = guide("insulation.open").value
        return Expectation(name, "resistance", "ohm", value, least, np.inf, guards=point.guards)
    values = shown(build.meter, "resistance", resistance(bench.drawn, point.red, point.black), bench.draw, name)
    last_digit = resolution(build.meter, "resistance", np.array([value]))
    low, high = joint_windows(values[:, None], np.array([value]), last_digit)[0]
    bare = float(resistance(bench.without_clip, point.red, point.black)[0])
    rail = _is_rail(build, bench.state, point, bare)
    clipped = () if abs(value - bare) < FLOOR_SHARE * value else (_clip_on(bench, bare),)
    return Expectation(
        point=name,
        quantity="resistance",
        unit="ohm",
        nominal=value,
        low=float(low),
        high=float(high + build.meter.lead_ohm),
        stop_low=_short(1.0 / value - 1.0 / bare) if rail else None,
        why=(*clipped, *dominant(values, bench.draw.drawn), *((_CHARGES,) if rail else ())),
        guards=point.guards,
    )


def _clip_on(bench: _Bench, bare_ohm: float) -> str:
    places = "; ".join(f"{red} to {black}" for red, black in bench.state.clips)
    ohm, without = show(bench.build.gate.clip, "ohm"), show(bare_ohm, "ohm", 3)
    one = len(bench.state.clips) == 1
    what = f"the bleed clip ({ohm}, {places}) is on and counts" if one else f"{ohm} each from {places} count"
    return f"{what} in; without {without}"


def _is_rail(build: Build, state: State, point: Point, bare_ohm: float) -> bool:
    """Whether the reading is a smoothed rail's to chassis, which nothing but bleeders loads."""
    capacitors = (part for name, part in build.capacitor.items() if name in state.fitted)
    smoothed = any(set(part.nodes) == {point.red, point.black} for part in capacitors)
    return smoothed and CHASSIS in (point.red, point.black) and bare_ohm > 5.0 * guide("ht_to_chassis.stop").value


def _short(clip_siemens: float) -> Limit:
    """The reading of a rail that is shorted, with what the clip adds to it."""
    least = guide("ht_to_chassis.stop")
    ohm = 1.0 / (1.0 / least.value + clip_siemens)
    return Limit(ohm, f"a rail under 1 kohm to chassis is shorted ({least.source})")
