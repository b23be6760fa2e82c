"""What is read with a small signal: gains, the drop that feedback gives, corners, hum, output impedance, crosstalk."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.signal import Pair, output_ohms, response, square_wave
from benchtui.forecast.drawn import drawn_stage
from benchtui.forecast.expect import stray_volts
from benchtui.forecast.meter import resolution
from benchtui.forecast.run import SAMPLES, stage_run
from benchtui.forecast.signal_bench import Channel, channel, tone_hz
from benchtui.forecast.signal_path import SignalPath, signal_paths
from benchtui.forecast.signal_points import SignalPoint, point_id, signal_points
from benchtui.forecast.signal_power import FullPower
from benchtui.forecast.windows import joint_windows
from benchtui.parts.guide import spread
from benchtui.parts.guide import value as guide
from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Expectation, Limit
from benchtui.verdicts.related import Related

_SQUARE_HZ = 1000.0

_HARMONICS = 5
"""The highest harmonic that is named."""


@dataclass(frozen=True)
class Setting:
    """How the bench is set for a reading: volts rms at the input (0: shorted) and the frequency in hertz."""

    input_v: float
    hz: float


@dataclass(frozen=True)
class SignalForecast:
    """What the signal points of a stage should read, how the bench is set for each, and what is held against what."""

    expectations: tuple[Expectation, ...] = ()
    settings: Mapping[str, Setting] = field(default_factory=dict)
    related: tuple[Related, ...] = ()
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Read:
    """A point's nominal value and those of drawn builds (samples,), and how the bench is set.

    `sides`: "both" ends of its window count, only the "high" one where less is better, or only the "low" one.
    `extra` is what the circuit does not hold, on top of the window.
    """

    point: SignalPoint
    nominal: float
    values: np.ndarray
    setting: Setting
    sides: str = "both"
    extra: float = 0.0
    why: tuple[str, ...] = ()


class Way:
    """A channel under test, with its feedback lead as each reading has it; nothing is solved before it is asked for."""

    def __init__(self, build: Build, path: SignalPath, mains_v: float | None, samples: int) -> None:
        self.build, self.path, self.mains_v, self.samples = build, path, mains_v, samples
        self.hz = tone_hz(build)
        self.load = build.output_transformer[path.transformer].secondary

    @cached_property
    def off(self) -> Channel:
        return self._channel("off")

    @cached_property
    def tried(self) -> Channel:
        return self._channel("tried")

    @cached_property
    def closed(self) -> Channel:
        return self._channel("closed")

    def _channel(self, lead: str) -> Channel:
        return channel(self.build, self.path, self.mains_v, self.samples, lead)

    def setting(self, of: Channel) -> Setting:
        """The level at which the load has the volts of the tests at low power, in two digits."""
        low_v = np.sqrt(guide("signal.low_power") * self.build.load[self.path.load].value)
        return Setting(float(f"{low_v / of.both(self.load)[0]:.1e}"), self.hz)

    @cached_property
    def full(self) -> FullPower:
        return FullPower(self.closed, self.load)

    def power(self, point: SignalPoint, nominal: np.ndarray, drawn: np.ndarray) -> Read:
        """A reading around full power; the level is found at the bench."""
        return Read(point, float(nominal[0]), drawn, Setting(float(self.full.nominal_input_v[0]), self.hz))

    def volts(self, of: Channel, point: SignalPoint, probe: Pair, setting: Setting) -> Read:
        """Volts between two nodes with the bench as set."""
        nominal, drawn = of.both(probe)
        return Read(point, nominal * setting.input_v, of.read(point.id, drawn * setting.input_v), setting)


def expect_signal(build: Build, stage: str, *, mains_v: float | None = None, samples: int = SAMPLES) -> SignalForecast:
    """The signal points of `stage` at measured mains, or (None) over all of its spread."""
    ways = {path: Way(build, path, mains_v, samples) for path in signal_paths(build)}
    found, relations, left_out = [], [], []
    for point in signal_points(build, stage):
        way = ways[point.path]
        trouble = _trouble(way, point)
        if trouble:
            left_out.append(f"{point.id} is left out: {trouble}")
            continue
        found.append(_READ[point.what](way, point))
        relations += _RELATED.get(point.what, _unrelated)(way, point)
    return SignalForecast(
        tuple(_expectations(build, found)), {each.point.id: each.setting for each in found}, tuple(relations),
        tuple(left_out),
    )  # fmt: skip


def _trouble(way: Way, point: SignalPoint) -> str:
    """Why a point has no value to be computed, in words; "" where it has one."""
    if point.what == "hum":
        return ""
    of = {"open": way.off, "tried": way.tried}.get(point.what) or way.closed
    if not of.nominal.settled[0]:
        return f"the stage could not be solved, node {of.nominal.blame[0]} does not settle"
    return "" if of.stable else "as the build file has it, the amplifier oscillates"


def _open(way: Way, point: SignalPoint) -> Read:
    return way.volts(way.off, point, way.load, way.setting(way.off))


def _tried(way: Way, point: SignalPoint) -> Read:
    return way.volts(way.tried, point, way.load, way.setting(way.off))


def _closed(way: Way, point: SignalPoint) -> Read:
    return way.volts(way.closed, point, way.load, way.setting(way.closed))


def _at(way: Way, point: SignalPoint) -> Read:
    return way.volts(way.closed, point, (point.red, point.black), way.setting(way.closed))


def _hum(way: Way, point: SignalPoint) -> Read:
    """AC across the load with the input shorted, as the stage itself is solved; wiring and heaters add to it."""
    run = stage_run(way.build, "signal", mains_v=way.mains_v)
    drawn = drawn_stage(way.build, "signal", way.mains_v, True, way.samples)
    across = Point.model_construct(name=point.id, red=point.red, black=point.black, quantity="ac", stages=("signal",))
    nominal, values = (np.nan_to_num(each.ac_rms(*way.load)) for each in (run.nominal, drawn.ensemble))
    extra = stray_volts(run, across)
    return Read(point, float(nominal[0]), values, Setting(0.0, 0.0), "high", extra)


def _second_load(way: Way, point: SignalPoint) -> Read:
    first = _closed(way, point)
    nominal, drawn = _fall(way, way.closed.nominal), _fall(way, way.closed.ensemble)
    return Read(point, first.nominal * float(nominal[0]), first.values * drawn, first.setting)


def _fall(way: Way, operating) -> np.ndarray:
    """By what share the volts at the load fall (samples,) when the second load is joined beside it."""
    ohm, second = way.build.load[way.path.load].value, way.build.bench.second_load or np.inf
    source = output_ohms(operating, way.load, np.array([way.hz]), load=way.path.load)[:, 0]
    return np.abs((ohm + source) / (ohm + source * (1.0 + ohm / second)))


def _low_corner(way: Way, point: SignalPoint) -> Read:
    return _corner(way, point, "low_hz", "high")


def _high_corner(way: Way, point: SignalPoint) -> Read:
    return _corner(way, point, "high_hz", "low")


def _corner(way: Way, point: SignalPoint, which: str, sides: str) -> Read:
    of = way.closed
    nominal, drawn = (
        getattr(response(each, of.source, way.load, middle_hz=way.hz), which) for each in (of.nominal, of.ensemble)
    )
    by_hand = of.draw.factor(point.id, "found by hand", spread("signal.corner"))
    return Read(point, float(nominal[0]), drawn * by_hand, way.setting(of), sides)


def _overshoot(way: Way, point: SignalPoint) -> Read:
    of = way.closed
    nominal, drawn = (
        square_wave(each, of.source, way.load, _SQUARE_HZ).overshoot_pct / 100.0 for each in (of.nominal, of.ensemble)
    )
    level = way.setting(of)
    return Read(point, float(nominal[0]), drawn, Setting(level.input_v, _SQUARE_HZ), "high", guide("signal.overshoot"))


def _crosstalk(way: Way, point: SignalPoint) -> Read:
    """Volts at the other load: through the supply as computed, beside what wiring carries and its own hum."""
    setting = way.setting(way.closed)
    read = way.volts(way.closed, point, (point.red, point.black), setting)
    driven_v = way.closed.both(way.load)[0] * setting.input_v
    extra = guide("signal.crosstalk") * driven_v + guide("hum.at_load")
    return replace(read, sides="high", extra=extra)


def _clip(way: Way, point: SignalPoint) -> Read:
    full = way.full
    return way.power(point, full.nominal.output_v, full.read(point.id, full.drawn.output_v))


def _symmetry(way: Way, point: SignalPoint) -> Read:
    nominal, drawn = (np.abs(f.positive_v - f.negative_v) / np.maximum(f.positive_v, f.negative_v)
                      for f in (way.full.nominal, way.full.drawn))  # fmt: skip
    return replace(way.power(point, nominal, drawn), sides="high", extra=guide("signal.symmetry"))


def _clip_input(way: Way, point: SignalPoint) -> Read:
    full = way.full
    return way.power(point, full.nominal_input_v, full.read(point.id, full.drawn_input_v))


def _distortion(way: Way, point: SignalPoint) -> Read:
    nominal, drawn = way.full.half_power()
    shares = nominal.harmonics(*way.load)[0, 1:_HARMONICS]
    each = ", ".join(f"{number}: {show(share, '%', 2)}" for number, share in enumerate(shares, 2))
    read = way.power(point, nominal.thd(*way.load), drawn.thd(*way.load))
    return replace(read, sides="high", extra=guide("signal.core"), why=(f"Computed by harmonic: {each}.",))


_READ: dict[str, Callable[[Way, SignalPoint], Read]] = {
    "open": _open,
    "tried": _tried,
    "closed": _closed,
    "at": _at,
    "hum": _hum,
    "second load": _second_load,
    "low corner": _low_corner,
    "high corner": _high_corner,
    "overshoot": _overshoot,
    "crosstalk": _crosstalk,
    "clip": _clip,
    "symmetry": _symmetry,
    "clip input": _clip_input,
    "distortion": _distortion,
}


def _unrelated(way: Way, point: SignalPoint) -> Iterator[Related]:
    return iter(())


def _by_trying(way: Way, point: SignalPoint) -> Iterator[Related]:
    """At one level of the input, so that only the lead is between the readings."""
    yield _held(way, point, "open", *_ratios(way.tried, way.off, way.load), stop=1.0)


def _by_closing(way: Way, point: SignalPoint) -> Iterator[Related]:
    if way.path.feedback:
        levels = way.setting(way.closed).input_v / way.setting(way.off).input_v
        nominal, drawn = _ratios(way.closed, way.off, way.load)
        yield _held(way, point, "open", levels * nominal, levels * drawn, stop=levels)


def _by_loading(way: Way, point: SignalPoint) -> Iterator[Related]:
    yield _held(way, point, "closed", float(_fall(way, way.closed.nominal)[0]), _fall(way, way.closed.ensemble))


def _ratios(here: Channel, there: Channel, probe: Pair) -> tuple[float, np.ndarray]:
    (nominal, drawn), (before, drawn_before) = here.both(probe), there.both(probe)
    return nominal / before, drawn / drawn_before


def _held(
    way: Way, point: SignalPoint, what: str, nominal: float, drawn: np.ndarray, *, stop: float | None = None
) -> Related:
    """`point` against the point `what` of its channel; more than `stop` times that is what feedback must never do."""
    low, high = joint_windows(
        (drawn * Draw(way.samples).factor(point.id, "level as set", spread("signal.setting")))[:, None],
        np.array([nominal]), np.zeros(1),
    )[0]  # fmt: skip
    limit = None if stop is None else Limit(guide("signal.rise") * stop, _positive(way))
    return Related(point.id, point_id(what, way.path), float(low), nominal, float(high), limit)


def _positive(way: Way) -> str:
    """What a rise means, and its cure."""
    name = way.path.transformer
    anodes = len(way.build.output_transformer[name].anodes)
    ends = f"the two anode leads of {name}" if anodes == 2 else f"the two primary leads of {name}"
    return (
        f"the lead raises the output, so the feedback is positive: with hands in exchange {ends}, or the two ends of "
        "its secondary, never both"
    )


_RELATED: dict[str, Callable[[Way, SignalPoint], Iterator[Related]]] = {
    "tried": _by_trying,
    "closed": _by_closing,
    "second load": _by_loading,
}


def _expectations(build: Build, found: list[Read]) -> Iterator[Expectation]:
    """The windows of all readings together: few sound amplifiers have any of them outside."""
    if not found:
        return
    nominal = np.array([read.nominal for read in found])
    digits = np.array([float(resolution(build.meter, "ac", np.array(r.nominal))) if r.point.unit == "V" else 0.0
                       for r in found])  # fmt: skip
    windows = np.empty((len(found), 2))
    for count in {read.values.size for read in found}:  # fewer builds are driven to full power than are solved at rest
        here = [k for k, read in enumerate(found) if read.values.size == count]
        values = np.stack([found[k].values for k in here], axis=1)
        windows[here] = joint_windows(values, nominal[here], digits[here])
    for read, (low, high) in zip(found, windows, strict=True):
        if not np.isfinite(read.nominal):
            continue
        yield Expectation(
            read.point.id,
            read.point.quantity,
            read.point.unit,
            read.nominal,
            0.0 if read.sides == "high" else float(low),
            inf if read.sides == "low" else float(high) + read.extra,
            why=read.why,
        )
