"""A channel as the signal tests meet it: its generator connected, its volume up, solved as one build and as many."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import generator
from benchtui.assemble.state import stage_state
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import FEEDBACK, SIGNAL
from benchtui.circuit.operating import Operating
from benchtui.circuit.signal import Pair, Source, gain, output_ohms, stable
from benchtui.forecast.drawn import drawn_mains
from benchtui.forecast.meter import shown
from benchtui.forecast.run import solve_ensemble, solve_nominal
from benchtui.forecast.signal_path import SignalPath, full_volume
from benchtui.parts.guide import spread
from benchtui.parts.guide import value as guide

TRIED_TIMES = 10.0
"""A feedback lead is tried through so many times its resistor."""

_TONES = (1000.0, 400.0)
"""Test tones in order of preference: 400 Hz is what every meter's AC range is good for (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Channel:
    """One channel with a generator at its input. Gains are from the input's own volts, as the meter reads them."""

    build: Build
    path: SignalPath
    nominal: Operating
    ensemble: Operating
    draw: Draw
    hz: float
    _known: dict[Pair, tuple[float, np.ndarray]] = field(default_factory=dict, repr=False)
    """What was solved before: the load is asked for by every test."""

    @property
    def source(self) -> Source:
        return source_at(self.build, self.path)

    @cached_property
    def stable(self) -> bool:
        """Does the nominal build come to rest?"""
        return bool(stable(self.nominal)[0])

    def both(self, probe: Pair) -> tuple[float, np.ndarray]:
        """Volts between two nodes, the meter on them, for 1 V at the input: of the nominal build, and (samples,)."""
        if probe not in self._known:
            nominal, drawn = (self._sizes(each, probe) for each in (self.nominal, self.ensemble))
            self._known[probe] = float(nominal[0]), drawn
        return self._known[probe]

    def read(self, id: str, volts: np.ndarray) -> np.ndarray:
        """Volts (samples,) as the meter shows them after the level at the input was set by the same meter."""
        setting = self.draw.factor(id, "level as set", spread("signal.setting"))
        return shown(self.build.meter, "ac", volts * setting, self.draw, id)

    def _sizes(self, operating: Operating, probe: Pair) -> np.ndarray:
        source, hz = self.source, np.array([self.hz])
        found = np.abs(gain(operating, source, [probe, (source.pos, source.neg)], hz))[..., 0]
        ohms = output_ohms(operating, probe, hz)[:, 0]
        return found[:, 0] / found[:, 1] * np.abs(1.0 / (1.0 + ohms / self.build.meter.input))


def source_at(build: Build, path: SignalPath) -> Source:
    """The generator at the input of a path."""
    hot, cold = build.input[path.input].nodes
    return Source(generator(path.input), hot, cold, guide("signal.generator"))


def tone_hz(build: Build) -> float:
    """The frequency of the test tone: the meter's AC range must be good for it."""
    return next((hz for hz in _TONES if hz <= build.meter.ac_highest), build.meter.ac_highest)


def tried_ohm(path: SignalPath) -> float:
    """The resistor that the feedback lead is tried through."""
    return TRIED_TIMES * path.feedback_ohm


@lru_cache(maxsize=16)
def channel(build: Build, path: SignalPath, mains_v: float | None, samples: int, lead: str) -> Channel:
    """The channel of `path` at measured mains, or (None) over its spread; its `lead` is "off", "tried" or "closed"."""
    stage = SIGNAL if lead == "closed" else FEEDBACK
    state = replace(
        stage_state(build, stage, mains_v=mains_v),
        pots=full_volume(build, path),
        driven={path.input: guide("signal.generator")},
        leads={path.feedback: tried_ohm(path)} if lead == "tried" else {},
    )
    run, draw = solve_nominal(build, state), Draw(samples)
    drawn = replace(state, mains_v=drawn_mains(build, state, mains_v, draw))
    return Channel(build, path, run.nominal, solve_ensemble(run, draw, drawn), draw, tone_hz(build))
