"""What every point of a stage should read: nominal value, window of healthy builds, and limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.state import State
from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.operating import Operating
from benchtui.circuit.probe import Probe, readings
from benchtui.circuit.resistance import resistance
from benchtui.forecast.given import Given
from benchtui.forecast.grids import grid_nodes
from benchtui.forecast.limits import Limits, powered_limits
from benchtui.forecast.meter import mean_responding, resolution, shown
from benchtui.forecast.ohms import expect_ohms
from benchtui.forecast.overload import carries
from benchtui.forecast.results import StageForecast, Stress
from benchtui.forecast.run import SAMPLES, Run, solve_ensemble, stage_run
from benchtui.forecast.stresses import HOT_DRAWS, stresses
from benchtui.forecast.windows import dominant, joint_windows
from benchtui.parts.guide import value as guide
from benchtui.verdicts.expectation import Expectation, Limit

_ALL_BUT_FEW = 0.99
"""Share of the drawn builds whose trimmed grid lies below the one that a grid's limit is moved by."""


def expect_stage(
    build: Build,
    stage: str,
    *,
    mains_v: float | None = None,
    given: Given | None = None,
    ideal_meter: bool = False,
    trimmed: bool = True,
    samples: int = SAMPLES,
) -> StageForecast:
    """Expectations and stresses of one stage.

    Without `mains_v` the nominal run is at rated mains and the windows span its whole spread; with it only the error
    of the meter that read it. `given` names stage and mains of a record (its readings do not narrow windows yet).
    """
    mains_v = given.mains_v if given is not None and mains_v is None else mains_v
    if ideal_meter:
        build = build.model_copy(update={"meter": build.meter.model_copy(update={"input": np.inf})})
    live = _live(build, stage, mains_v, trimmed, samples)
    told = (*expect_ohms(build, stage, samples=samples), *live.expectations)
    points = [name for name, point in build.point.items() if stage in point.stages]
    return StageForecast(
        stage=stage,
        mains_v=float(build.mains.volts if mains_v is None else mains_v),
        expectations=tuple(sorted(told, key=lambda e: points.index(e.point))),
        stresses=_stresses(live, mains_v),
        left_out=_left_out(points, told, live.blame),
    )


def _stresses(live: _Live, mains_v: float | None) -> tuple[Stress, ...]:
    if live.run is None or live.ensemble is None:
        return ()
    few = live.ensemble
    if few.samples > HOT_DRAWS:
        few = _ensemble(live.run, mains_v, Draw(HOT_DRAWS))
    return stresses(live.run, live.ensemble, few)


def expect_powered(
    build: Build, stage: str, *, mains_v: float | None = None, samples: int = SAMPLES
) -> StageForecast:
    """Expectations of the stage's powered points alone: what the bench waits for with the power on."""
    live = _live(build, stage, mains_v, True, samples)
    return StageForecast(
        stage=stage,
        mains_v=float(build.mains.volts if mains_v is None else mains_v),
        expectations=live.expectations,
        stresses=(),
        left_out=_left_out(_powered_points(build, stage), live.expectations, live.blame),
    )


@dataclass(frozen=True)
class _Live:
    """The powered part of a stage: no run without a powered point, no ensemble where `blame` does not settle."""

    run: Run | None = None
    ensemble: Operating | None = None
    expectations: tuple[Expectation, ...] = ()

    @property
    def blame(self) -> str | None:
        return None if self.run is None else self.run.nominal.blame[0]


def _powered_points(build: Build, stage: str) -> list[str]:
    return [name for name, p in build.point.items() if stage in p.stages and p.quantity != "resistance"]


def _live(build: Build, stage: str, mains_v: float | None, trimmed: bool, samples: int) -> _Live:
    if not _powered_points(build, stage):
        return _Live()
    run, draw = stage_run(build, stage, mains_v=mains_v, trimmed=trimmed), Draw(samples)
    if run.nominal.blame[0] is not None:
        return _Live(run)
    ensemble = _ensemble(run, mains_v, draw)
    limits = powered_limits(run, stage)
    drawn = read_points(build, ensemble, {name: build.point[name] for name in limits}, draw)
    return _Live(run, ensemble, tuple(_powered(run, drawn, limits, draw)) if limits else ())


def _ensemble(run: Run, mains_v: float | None, draw: Draw) -> Operating:
    return solve_ensemble(run, draw, replace(run.state, mains_v=drawn_mains(run.build, run.state, mains_v, draw)))


def drawn_mains(build: Build, state: State, mains_v: float | None, draw: Draw) -> np.ndarray | float:
    """Volts at the primary over the ensemble: the whole spread of mains, or around what was measured."""
    share = build.meter.ac[0]
    tolerance = (-build.mains.spread, build.mains.spread) if mains_v is None else (-share, share)
    return state.mains_v * draw.factor("mains", "volts", tolerance)


def read_points(build: Build, found: Operating, points: dict[str, Point], draw: Draw | None = None) -> np.ndarray:
    """(samples, points) as the builder's meter shows them, loading included; with its own error when drawn."""
    if not points:
        return np.zeros((found.samples, 0))
    probes = [
        Probe(point.red, point.black, "dc" if point.quantity == "dc" else "ac", build.meter.input)
        for point in points.values()
    ]
    values = readings(found, probes)
    for k, (name, point) in enumerate(points.items()):
        if point.quantity != "dc" and not build.meter.true_rms:
            values[:, k] *= mean_responding(found, point)
        if draw is not None:
            values[:, k] = shown(build.meter, point.quantity, values[:, k], draw, name)
    return values


def _powered(run: Run, drawn: np.ndarray, limits: Mapping[str, Limits], draw: Draw) -> list[Expectation]:
    build, points = run.build, {name: run.build.point[name] for name in limits}
    nominal = read_points(build, run.nominal, points)[0]
    last_digits = np.array(
        [float(resolution(build.meter, point.quantity, nominal[k])) for k, point in enumerate(points.values())]
    )
    windows = joint_windows(drawn, nominal, last_digits)
    windows += np.array([[-stray, stray] for stray in (_stray_volts(run, point) for point in points.values())])
    return [
        Expectation(
            point=name,
            quantity=point.quantity,
            unit="V",
            nominal=float(nominal[k]),
            low=float(windows[k, 0]),
            high=float(windows[k, 1]),
            stop_low=limits[name].low,
            stop_high=_proven(run, point, limits[name].high, drawn[:, k] - nominal[k], float(windows[k, 1])),
            why=dominant(drawn[:, k], draw.drawn),
            guards=point.guards,
        )
        for k, (name, point) in enumerate(points.items())
        if np.isfinite(nominal[k])
    ]


def _proven(run: Run, point: Point, limit: Limit | None, off_v: np.ndarray, high: float) -> Limit | None:
    """A grid's upper limit, moved to where the reading proves an overload; `off_v` is how builds differ from nominal.

    The limit is the nominal valve's. A pot that is trimmed by the valve's current sets each build's grid for its own
    valve, and each build's limit lies as far above that: the grid alone tells an overload only beyond the limit of the
    valve that needs the least bias. The trimmed reading itself has its own limit, so nothing is lost in between.
    """
    trimmed_at = [run.build.point[run.build.adjust[name].point] for name in run.targets]
    grids = [section for section in sections(run.build) if point.red in grid_nodes(run.build, section)]
    if limit is None or not any(carries(section, at) for section in grids for at in trimmed_at):
        return limit
    return replace(limit, value=max(limit.value + float(np.nanquantile(off_v, _ALL_BUT_FEW)), high))


def _stray_volts(run: Run, point: Point) -> float:
    """What the circuit's drawn values do not hold: pick-up of the leads, and the stray current of a sound grid."""
    if point.quantity == "ripple":
        return guide("meter.pickup")
    at_grid = any(point.red in grid_nodes(run.build, section) for section in sections(run.build))
    if point.quantity != "dc" or not at_grid:
        return 0.0
    ohms = float(resistance(run.nominal.circuit, point.red, point.black)[0])
    siemens = 1.0 / ohms + 1.0 / run.build.meter.input
    return guide("grid.stray_a") / siemens if siemens > 0.0 else 0.0


def _left_out(points: list[str], told: tuple[Expectation, ...], blame: str | None) -> tuple[str, ...]:
    missing = set(points) - {expectation.point for expectation in told}
    why = (
        f"the stage could not be solved, node {blame} does not settle"
        if blame is not None
        else "in this stage nothing but the meter would set it, or its node is not fitted"
    )
    return tuple(f"{name} is left out: {why}" for name in points if name in missing)
