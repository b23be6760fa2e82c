"""The simulated amplifier with a generator at its input: what meter and instruments show at a signal point."""

from __future__ import annotations

from functools import lru_cache, partial

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.circuit.operating import Operating
from benchtui.forecast.signal_bench import OnTest, as_read
from benchtui.forecast.signal_path import SignalPath
from benchtui.forecast.signal_points import SignalPoint, signal_points
from benchtui.forecast.signal_values import ChannelTests, Setting, true_values
from benchtui.rehearsal.amplifier import draw, meter_shows
from benchtui.rehearsal.asked import Powered, Signal
from benchtui.rehearsal.bent import AtBench
from benchtui.rehearsal.oscillating import howl_v
from benchtui.rehearsal.power import OnBench, Steady, steady


class NoRest(Exception):
    """There is no steady state to be read."""


def with_signal(build: Build, asked: Signal) -> float | None:
    """The point as it is read in its unit; None where nothing holds still."""
    point = next((each for each in signal_points(build, asked.powered.stage) if each.id == asked.point), None)
    if point is None:
        return None
    try:
        value = _value(build, asked, point)
    except NoRest:
        return None
    if not np.isfinite(value):
        return None
    seed = asked.powered.amplifier.seed
    if point.what == "hum":
        return meter_shows(build, seed, "ac", value, point.id)
    own = draw(seed)
    return max(float(as_read(point, build, np.full(own.samples or 1, value), own)[-1]), 0.0)


def _value(build: Build, asked: Signal, point: SignalPoint) -> float:
    tests = _tests(build, asked.powered, point.path)
    if point.what != "hum":
        of = tests.of(point.what)
        if not of.stable[0]:
            if point.unit == "V" and set(of.load) >= {point.red} and point.what != "crosstalk":
                return howl_v(build, asked.powered, point.path)
            raise NoRest
    return float(true_values(tests, point, Setting(asked.input_v, 0.0))[0])


@lru_cache(maxsize=8)
def _tests(build: Build, powered: Powered, path: SignalPath) -> ChannelTests:
    """The tests of one channel, with what was solved for them."""
    return ChannelTests(
        lambda lead: OnTest(build, path, _rest(build, powered, OnBench(path, lead))),
        partial(_rest, build, powered, None), AtBench,
    )  # fmt: skip


def _rest(build: Build, powered: Powered, test: OnBench | None) -> Operating:
    settled: Steady | None = steady(build, powered, test)
    if settled is None:
        raise NoRest
    return settled.found
