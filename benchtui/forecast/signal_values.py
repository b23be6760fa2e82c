"""What each signal point has in builds that are solved: forecast, rehearsal and diagnosis all ask here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from benchtui.circuit.operating import Operating
from benchtui.circuit.signal import output_ohms, response, square_wave
from benchtui.forecast.signal_bench import OnTest, lead_of
from benchtui.forecast.signal_points import SignalPoint
from benchtui.forecast.signal_power import BUILDS, FullPower

SQUARE_HZ = 1000.0


@dataclass(frozen=True)
class Setting:
    """How the bench is set for a reading: volts rms at the input (0: shorted) and the frequency in hertz."""

    input_v: float
    hz: float


class ChannelTests:
    """A channel's tests on some builds (samples,); nothing is solved before it is asked for.

    `solved` gives them on test, the feedback lead "off", "tried" or "closed"; `quiet` without a generator, as they are
    read for hum. `power` is how full power is found.
    """

    def __init__(
        self, solved: Callable[[str], OnTest], quiet: Callable[[], Operating], power: type[FullPower] = FullPower
    ) -> None:
        self._solved, self._quiet, self._power = solved, quiet, power

    @cached_property
    def off(self) -> OnTest:
        return self._solved("off")

    @cached_property
    def tried(self) -> OnTest:
        return self._solved("tried")

    @cached_property
    def closed(self) -> OnTest:
        return self._solved("closed")

    @cached_property
    def quiet(self) -> Operating:
        return self._quiet()

    @cached_property
    def full(self) -> FullPower:
        """Of the first builds alone: the search takes long."""
        return self._power(self.closed.first(BUILDS))

    def of(self, what: str) -> OnTest:
        """The builds as they stand for a test."""
        of: OnTest = getattr(self, lead_of(what))
        return of

    @cached_property
    def fall(self) -> np.ndarray:
        """By what share the volts at the load fall (samples,) when the second load is joined beside it."""
        of = self.closed
        ohm, second = of.build.load[of.path.load].value, of.build.bench.second_load or np.inf
        source = output_ohms(of.operating, of.load, np.array([of.hz]), load=of.path.load)[:, 0]
        return np.abs((ohm + source) / (ohm + source * (1.0 + ohm / second)))


def true_values(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    """The value of a signal point (samples,) in the unit of the point, the meter on it but without its errors.

    At full power only the first builds are driven (samples,), at the level that each of them takes. NaN where there is
    none.
    """
    return _VALUES[point.what](tests, point, setting)


def _at_load(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    of = tests.of(point.what)
    return of.volts(of.load) * setting.input_v


def _at(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    return tests.closed.volts((point.red, point.black)) * setting.input_v


def _hum(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    return np.nan_to_num(tests.quiet.ac_rms(*tests.closed.load))


def _second_load(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    return _at_load(tests, point, setting) * tests.fall


def _low_corner(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    of = tests.closed
    return response(of.operating, of.source, of.load, middle_hz=of.hz).low_hz


def _high_corner(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    of = tests.closed
    return response(of.operating, of.source, of.load, middle_hz=of.hz).high_hz


def _overshoot(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    of = tests.closed
    return square_wave(of.operating, of.source, of.load, SQUARE_HZ).overshoot_pct / 100.0


def _clip(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    return tests.full.clipping.output_v


def _symmetry(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    found = tests.full.clipping
    return np.abs(found.positive_v - found.negative_v) / np.maximum(found.positive_v, found.negative_v)


def _clip_input(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    return tests.full.input_v


def _distortion(tests: ChannelTests, point: SignalPoint, setting: Setting) -> np.ndarray:
    return tests.full.half.thd(*tests.closed.load)


_VALUES: dict[str, Callable[[ChannelTests, SignalPoint, Setting], np.ndarray]] = {
    "open": _at_load, "tried": _at_load, "closed": _at_load, "at": _at, "crosstalk": _at, "hum": _hum,
    "second load": _second_load, "low corner": _low_corner, "high corner": _high_corner, "overshoot": _overshoot,
    "clip": _clip, "symmetry": _symmetry, "clip input": _clip_input, "distortion": _distortion,
}  # fmt: skip
