"""The simulated amplifier at its points with the power on: what its meter shows, settled and while cathodes warm up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.circuit.elements import CHASSIS, Circuit, Diode, Valve
from benchtui.circuit.operate import operate
from benchtui.circuit.probe import Probe, readings
from benchtui.circuit.signal import stable
from benchtui.circuit.stacking import stacked
from benchtui.forecast.course import TIMES_S, emission_at, rectifiers_warm_s
from benchtui.forecast.drawn import read_points
from benchtui.parts.guide import value as guide
from benchtui.rehearsal.amplifier import meter_shows
from benchtui.rehearsal.asked import Course, Powered, Reads, Warming
from benchtui.rehearsal.oscillating import howls
from benchtui.rehearsal.power import steady


def reads(build: Build, asked: Powered) -> Reads:
    """What every live point shows, settled, that the circuit of the stage has, those of other stages included."""
    seed = asked.amplifier.seed
    settled = steady(build, asked)
    if settled is None:
        return Reads((), solved=False)
    nodes = settled.found.system.network.nodes.keys() | {CHASSIS}
    live = {name: point for name, point in build.point.items() if point.quantity != "resistance"}
    points = {name: point for name, point in live.items() if {point.red, point.black} <= nodes}
    values = np.nan_to_num(read_points(build, settled.found, points, loose=True)[0])
    howling = howls(build, asked)
    shown = tuple(
        (name, meter_shows(build, seed, point.quantity, howling.get(name, float(values[k])), name))
        for k, (name, point) in enumerate(points.items())
    )
    return Reads(shown, settled.lamp.look if settled.lamp is not None else "", settled.blown)


def warming(build: Build, asked: Warming) -> Course:
    """The course of a point in the first minute: each moment is the steady state at its emission."""
    settled = steady(build, asked.powered)
    point = build.point[asked.point]
    seed = asked.powered.amplifier.seed
    nodes = settled.found.system.network.nodes.keys() | {CHASSIS} if settled is not None else frozenset()
    if settled is None or not {point.red, point.black} <= nodes:
        return Course((0.0,), (0.0,))
    times = np.array(TIMES_S)
    every = stacked([settled.circuit] * len(times), 1)
    warm = Circuit(tuple(_warmed(build, each, times) for each in every.elements), every.mains_hz)
    start = settled.found.take(np.zeros(len(times), dtype=int))
    kind = "dc" if point.quantity == "dc" else "ac"
    found = operate(warm, start=start, fine=False)
    volts = np.broadcast_to(
        readings(found, [Probe(point.red, point.black, kind, build.meter.input)], loose=True)[:, 0], times.shape
    )
    known = np.isfinite(volts)
    if not known.any():
        return Course((0.0,), (0.0,))
    volts = np.interp(times, times[known], volts[known])
    howl = howls(build, asked.powered).get(asked.point)
    if howl is not None:
        volts = np.where(stable(found) | (times == 0.0), volts, howl)
    return Course(TIMES_S, tuple(meter_shows(build, seed, point.quantity, float(v), asked.point) for v in volts))


def _warmed(build: Build, element: object, times_s: np.ndarray) -> object:
    """A valve with the emission that it has by then."""
    if isinstance(element, Valve):
        return replace(element, emission=element.emission * emission_at(times_s, guide("warm_up.indirect")))
    if isinstance(element, Diode) and element.law.form != "silicon":
        return replace(element, emission=element.emission * emission_at(times_s, rectifiers_warm_s(build)))
    return element
