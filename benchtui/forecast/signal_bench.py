"""A channel as the signal tests meet it: generator connected, volume up; what was solved, how it is read."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import generator
from benchtui.assemble.state import State, stage_state
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import FEEDBACK, SIGNAL
from benchtui.circuit.operating import Operating
from benchtui.circuit.signal import Pair, Source, gain, output_ohms, stable
from benchtui.forecast.drawn import drawn_mains
from benchtui.forecast.meter import shown
from benchtui.forecast.run import Run, solve_ensemble, solve_nominal
from benchtui.forecast.signal_path import SignalPath, full_volume
from benchtui.forecast.signal_points import SignalPoint, point_id
from benchtui.parts.guide import spread
from benchtui.parts.guide import value as guide

TRIED_TIMES = 10.0
"""A feedback lead is tried through so many times its resistor."""

_LEFT = {"tried": "open", "at": "closed", "second load": "closed"}
"""Tests that leave the level at the input as another one set it."""

_TONES = (1000.0, 400.0)
"""Test tones in order of preference: 400 Hz is what every meter's AC range is good for (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class OnTest:
    """Solved builds (samples,) with a generator at the input of a channel.

    Gains are from the input's own volts, as the meter reads them.
    """

    build: Build
    path: SignalPath
    operating: Operating
    _known: dict[Pair, np.ndarray] = field(default_factory=dict, repr=False)
    """What was solved before: the load is asked for by every test."""

    @property
    def source(self) -> Source:
        """The generator at the input."""
        hot, cold = self.build.input[self.path.input].nodes
        return Source(generator(self.path.input), hot, cold, guide("signal.generator"))

    @property
    def hz(self) -> float:
        """The frequency of the test tone."""
        return tone_hz(self.build)

    @property
    def load(self) -> Pair:
        """The ends of the load."""
        return self.build.output_transformer[self.path.transformer].secondary

    @cached_property
    def stable(self) -> np.ndarray:
        """Whether each of the builds (samples,) comes to rest."""
        return stable(self.operating)

    def volts(self, probe: Pair) -> np.ndarray:
        """Volts (samples,) between two nodes, the meter on them, for 1 V at the input."""
        if probe not in self._known:
            hz = np.array([self.hz])
            found = np.abs(gain(self.operating, self.source, [probe, (self.source.pos, self.source.neg)], hz))[..., 0]
            ohms = output_ohms(self.operating, probe, hz)[:, 0]
            self._known[probe] = found[:, 0] / found[:, 1] * np.abs(1.0 / (1.0 + ohms / self.build.meter.input))
        return self._known[probe]

    def first(self, builds: int) -> OnTest:
        """The first of the builds alone; itself where it has no more."""
        if self.operating.samples <= builds:
            return self
        return OnTest(self.build, self.path, self.operating.take(np.arange(builds)))


def as_read(point: SignalPoint, build: Build, values: np.ndarray, draw: Draw) -> np.ndarray:
    """True values of a signal point in the first builds of `draw`, as they are read; same shape.

    Volts are those of the meter after the level at the input was set by the same meter. A corner is found by hand.
    """
    whole = np.resize(values, draw.samples or 1)
    if point.unit == "Hz":
        whole = whole * draw.factor(point.id, "found by hand", spread("signal.corner"))
    elif point.unit == "V" and point.what != "hum":
        set_for = point_id(_LEFT.get(point.what, point.what), point.path)
        setting = draw.factor(set_for, "level as set", spread("signal.setting"))
        whole = shown(build.meter, "ac", whole * setting, draw, point.id)
    return whole[: values.size]


def tone_hz(build: Build) -> float:
    """The frequency of the test tone: the meter's AC range must be good for it."""
    return next((hz for hz in _TONES if hz <= build.meter.ac_highest), build.meter.ac_highest)


def tried_ohm(path: SignalPath) -> float:
    """The resistor that the feedback lead is tried through."""
    return TRIED_TIMES * path.feedback_ohm


@lru_cache(maxsize=16)
def nominal_channel(build: Build, path: SignalPath, mains_v: float | None, lead: str) -> OnTest:
    """The channel of `path` in the nominal build, at measured or (None) rated mains.

    Its `lead` is "off", "tried" or "closed".
    """
    return OnTest(build, path, _run(build, path, mains_v, lead).nominal)


@lru_cache(maxsize=16)
def drawn_channel(build: Build, path: SignalPath, mains_v: float | None, samples: int, lead: str) -> OnTest:
    """The same in so many drawn builds, at measured mains or (None) over its spread."""
    run, draw = _run(build, path, mains_v, lead), Draw(samples)
    state = replace(run.state, mains_v=drawn_mains(build, run.state, mains_v, draw))
    return OnTest(build, path, solve_ensemble(run, draw, state))


@lru_cache(maxsize=16)
def _run(build: Build, path: SignalPath, mains_v: float | None, lead: str) -> Run:
    return solve_nominal(build, on_test(stage_state(build, stage_of(lead), mains_v=mains_v), build, path, lead))


def lead_of(what: str) -> str:
    """How the feedback lead is in the test `what`."""
    return {"open": "off", "tried": "tried"}.get(what, "closed")


def stage_of(lead: str) -> str:
    """The stage in which the feedback lead is so."""
    return SIGNAL if lead == "closed" else FEEDBACK


def on_test(state: State, build: Build, path: SignalPath, lead: str) -> State:
    """The state with the generator at the input of `path`, its volume up, and its lead as it is "tried" or left."""
    return replace(
        state,
        pots={**state.pots, **full_volume(build, path)},
        driven={path.input: guide("signal.generator")},
        leads={path.feedback: tried_ohm(path)} if lead == "tried" else {},
    )
