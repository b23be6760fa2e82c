"""What is read with a small signal: gains, the drop that feedback gives, corners, hum, output impedance, crosstalk."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from math import inf

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.buildfile.models import Build, Point
from benchtui.buildfile.stages import SIGNAL
from benchtui.forecast.drawn import drawn_stage
from benchtui.forecast.expect import stray_volts
from benchtui.forecast.meter import resolution
from benchtui.forecast.run import SAMPLES, stage_run
from benchtui.forecast.signal_bench import as_read, drawn_channel, nominal_channel
from benchtui.forecast.signal_path import SignalPath, signal_paths
from benchtui.forecast.signal_points import SignalPoint, point_id, signal_points
from benchtui.forecast.signal_values import SQUARE_HZ, ChannelTests, Setting, true_values
from benchtui.forecast.windows import joint_windows
from benchtui.parts.guide import spread
from benchtui.parts.guide import value as guide
from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Expectation, Limit
from benchtui.verdicts.related import Related

_HARMONICS = 5
"""The highest harmonic that is named."""

_POWER = ("clip", "symmetry", "clip input", "distortion")
"""Tests around full power, whose level is found at the bench."""

_ONE_SIDE = {"high corner": "low"} | dict.fromkeys(
    ("hum", "low corner", "overshoot", "crosstalk", "symmetry", "distortion"), "high"
)
"""Where only the high end of a window counts, since less is better, or only the low one."""


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

    `extra` is what the circuit does not hold, on top of the window.
    """

    point: SignalPoint
    nominal: float
    values: np.ndarray
    setting: Setting
    extra: float = 0.0
    why: tuple[str, ...] = ()

    @property
    def sides(self) -> str:
        """The ends of its window that count: "both", "high" or "low"."""
        return _ONE_SIDE.get(self.point.what, "both")


class Way:
    """A channel under test: the tests of its nominal build and of the drawn ones."""

    def __init__(self, build: Build, path: SignalPath, mains_v: float | None, samples: int) -> None:
        self.build, self.path, self.mains_v, self.draw = build, path, mains_v, Draw(samples)
        self.nominal = ChannelTests(
            lambda lead: nominal_channel(build, path, mains_v, lead),
            lambda: stage_run(build, SIGNAL, mains_v=mains_v).nominal,
        )
        self.drawn = ChannelTests(
            lambda lead: drawn_channel(build, path, mains_v, samples, lead),
            lambda: drawn_stage(build, SIGNAL, mains_v, True, samples).ensemble,
        )

    def setting(self, what: str) -> Setting:
        """How the bench is set for a test: the load has the volts of the tests at low power, in two digits."""
        of = self.nominal.off if what == "tried" else self.nominal.of(what)
        if what == "hum":
            return Setting(0.0, 0.0)
        if what in _POWER:
            return Setting(float(self.nominal.full.input_v[0]), of.hz)
        low_v = np.sqrt(guide("signal.low_power") * self.build.load[self.path.load].value)
        return Setting(float(f"{low_v / of.volts(of.load)[0]:.1e}"), SQUARE_HZ if what == "overshoot" else of.hz)

    def read(self, point: SignalPoint) -> Read:
        """A point in all of the builds."""
        setting = self.setting(point.what)
        nominal, drawn = (true_values(each, point, setting) for each in (self.nominal, self.drawn))
        extra = _EXTRA.get(point.what, lambda way, point: 0.0)(self, point)
        why = _by_harmonic(self) if point.what == "distortion" else ()
        return Read(point, float(nominal[0]), as_read(point, self.build, drawn, self.draw), setting, extra, why)


def expect_signal(
    build: Build, stage: str, *, mains_v: float | None = None, samples: int = SAMPLES, small: bool = False
) -> SignalForecast:
    """The signal points of `stage` at measured mains, or (None) over all of its spread.

    `small` ones alone are those that need no search for full power, which takes most of the time.
    """
    ways = {path: Way(build, path, mains_v, samples) for path in signal_paths(build)}
    found, relations, left_out = [], [], []
    for point in signal_points(build, stage):
        if small and point.what in _POWER:
            continue
        way = ways[point.path]
        trouble = _trouble(way, point)
        if trouble:
            left_out.append(f"{point.id} is left out: {trouble}")
            continue
        found.append(way.read(point))
        relations += _RELATED.get(point.what, _unrelated)(way, point)
    return SignalForecast(
        tuple(_expectations(build, found)), {each.point.id: each.setting for each in found}, tuple(relations),
        tuple(left_out),
    )  # fmt: skip


def settings(build: Build, stage: str, mains_v: float | None) -> dict[str, Setting]:
    """Signal point = how the bench is set for it in `stage`; none for those whose level is found at the bench."""
    ways = {path: Way(build, path, mains_v, SAMPLES) for path in signal_paths(build)}
    low = [point for point in signal_points(build, stage) if point.what not in _POWER]
    return {each.id: ways[each.path].setting(each.what) for each in low if not _trouble(ways[each.path], each)}


def _trouble(way: Way, point: SignalPoint) -> str:
    """Why a point has no value to be computed, in words; "" where it has one."""
    if point.what == "hum":
        return ""
    of = way.nominal.of(point.what)
    if not of.operating.settled[0]:
        return f"the stage could not be solved, node {of.operating.blame[0]} does not settle"
    return "" if of.stable[0] else "as the build file has it, the amplifier oscillates"


def _stray(way: Way, point: SignalPoint) -> float:
    """Hum that wiring and heaters add."""
    across = Point.model_construct(name=point.id, red=point.red, black=point.black, quantity="ac", stages=(SIGNAL,))
    return stray_volts(stage_run(way.build, SIGNAL, mains_v=way.mains_v), across)


def _carried(way: Way, point: SignalPoint) -> float:
    """What wiring carries from channel to channel, and the other channel's own hum."""
    of = way.nominal.closed
    driven_v = float(of.volts(of.load)[0]) * way.setting("closed").input_v
    return guide("signal.crosstalk") * driven_v + guide("hum.at_load")


_EXTRA: dict[str, Callable[[Way, SignalPoint], float]] = {
    "hum": _stray,
    "crosstalk": _carried,
    "overshoot": lambda way, point: guide("signal.overshoot"),
    "symmetry": lambda way, point: guide("signal.symmetry"),
    "distortion": lambda way, point: guide("signal.core"),
}


def _by_harmonic(way: Way) -> tuple[str, ...]:
    shares = way.nominal.full.half.harmonics(*way.nominal.closed.load)[0, 1:_HARMONICS]
    each = ", ".join(f"{number}: {show(share, '%', 2)}" for number, share in enumerate(shares, 2))
    return (f"Computed by harmonic: {each}.",)


def _unrelated(way: Way, point: SignalPoint) -> Iterator[Related]:
    return iter(())


def _by_trying(way: Way, point: SignalPoint) -> Iterator[Related]:
    """At one level of the input, so that only the lead is between the readings."""
    yield _held(way, point, "open", *_ratios(way, "tried"), stop=1.0)


def _by_closing(way: Way, point: SignalPoint) -> Iterator[Related]:
    if way.path.feedback:
        levels = way.setting("closed").input_v / way.setting("open").input_v
        nominal, drawn = _ratios(way, "closed")
        yield _held(way, point, "open", levels * nominal, levels * drawn, stop=levels)


def _by_loading(way: Way, point: SignalPoint) -> Iterator[Related]:
    yield _held(way, point, "closed", float(way.nominal.fall[0]), way.drawn.fall)


def _ratios(way: Way, what: str) -> tuple[float, np.ndarray]:
    """The gain with the lead as it is in the test `what`, over that without it."""
    load = way.nominal.off.load
    nominal, drawn = (tests.of(what).volts(load) / tests.off.volts(load) for tests in (way.nominal, way.drawn))
    return float(nominal[0]), drawn


def _held(
    way: Way, point: SignalPoint, what: str, nominal: float, drawn: np.ndarray, *, stop: float | None = None
) -> Related:
    """`point` against the point `what` of its channel; more than `stop` times that is what feedback must never do."""
    low, high = joint_windows(
        (drawn * way.draw.factor(point.id, "level as set", spread("signal.setting")))[:, None],
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
