"""The simulated amplifier after power-off: how its capacitors empty, by the engine's own discharge."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.circuit.discharge import Decay, discharge
from benchtui.circuit.elements import Capacitor
from benchtui.forecast.trim import ht_point
from benchtui.rehearsal.amplifier import meter_shows
from benchtui.rehearsal.asked import Course, Falling, Falls
from benchtui.rehearsal.power import HT_PROBE, steady

#: Seconds at which a fall is told: dense at first, then as slow as a reservoir without a bleeder.
_TIMES_S = (0.0, *np.geomspace(0.1, 2e4, 240))


def falls(build: Build, asked: Falling) -> Falls:
    """The fall from the last thing that was done on."""
    decay = _decay(build, asked)
    if decay is None:
        return Falls((), None)
    seed, stage = asked.powered.amplifier.seed, asked.powered.stage
    volts = np.nan_to_num(np.stack([decay.volts_at(seconds)[0] for seconds in _TIMES_S], axis=-1))
    times = tuple(map(float, _TIMES_S))
    courses = {
        name: Course(times, tuple(meter_shows(build, seed, "dc", float(v), name) for v in volts[k]))
        for k, name in enumerate(decay.names)
    }
    ht = courses.pop(HT_PROBE, None) if ht_point(build, stage) is not None else None
    return Falls(tuple(courses.items()), ht)


@lru_cache(maxsize=16)
def _decay(build: Build, asked: Falling) -> Decay | None:
    settled = steady(build, asked.powered)
    if settled is None or not any(isinstance(element, Capacitor) for element in settled.circuit.elements):
        return None
    if not asked.bled:
        return discharge(settled.found, hot=True)
    *before, (seconds, parts) = asked.bled
    decay = _decay(build, Falling(asked.powered, tuple(before)))
    if decay is None:
        return None
    volts = np.nan_to_num(decay.volts_at(seconds)[0])
    start = {name: 0.0 if name in parts else float(v) for name, v in zip(decay.names, volts, strict=True)}
    return discharge(settled.circuit, start)
