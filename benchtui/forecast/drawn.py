"""A powered stage as it is read: the nominal build, and an ensemble of builds drawn over every tolerance."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.state import State
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.operating import Operating
from benchtui.circuit.probe import Probe, readings
from benchtui.forecast.limits import powered_limits
from benchtui.forecast.meter import mean_responding, resolution, shown
from benchtui.forecast.run import Run, solve_ensemble, stage_run
from benchtui.forecast.windows import joint_windows


@dataclass(frozen=True, eq=False)
class Drawn:
    """Readings of the powered points of a stage: nominal (points,), as drawn (samples, points), last digits (points,).

    A build has the same number in every stage, since each part's factors are drawn by its name; the first is nominal.
    """

    run: Run
    ensemble: Operating
    draw: Draw
    points: dict[str, Point]
    nominal: np.ndarray
    unloaded: np.ndarray
    """The nominal build as a meter that draws nothing would read it (points,)."""

    values: np.ndarray
    last_digits: np.ndarray

    @cached_property
    def windows(self) -> np.ndarray:
        """Low and high of every point (points, 2), as nothing but tolerances and mains are known."""
        return joint_windows(self.values, self.nominal, self.last_digits)


def powered_points(build: Build, stage: str) -> list[str]:
    """The points of the stage that are read with the power on."""
    return [name for name, p in build.point.items() if stage in p.stages and p.quantity != "resistance"]


@lru_cache(maxsize=32)
def drawn_stage(build: Build, stage: str, mains_v: float | None, trimmed: bool, samples: int) -> Drawn:
    """The stage drawn at measured mains, or (None) over all of its spread; its nominal run must have settled."""
    run, draw = stage_run(build, stage, mains_v=mains_v, trimmed=trimmed), Draw(samples)
    ensemble = drawn_ensemble(run, mains_v, draw)
    points = {name: build.point[name] for name in powered_limits(run, stage)}
    nominal = read_points(build, run.nominal, points)[0]
    return Drawn(
        run=run,
        ensemble=ensemble,
        draw=draw,
        points=points,
        nominal=nominal,
        unloaded=read_points(with_ideal_meter(build), run.nominal, points)[0],
        values=read_points(build, ensemble, points, draw, nominal),
        last_digits=np.array(
            [float(resolution(build.meter, p.quantity, nominal[k])) for k, p in enumerate(points.values())]
        ),
    )


def with_ideal_meter(build: Build) -> Build:
    """The same build read by a meter that draws nothing."""
    return build.model_copy(update={"meter": build.meter.model_copy(update={"input": np.inf})})


def drawn_ensemble(run: Run, mains_v: float | None, draw: Draw) -> Operating:
    """The builds of `draw` in the state of `run`."""
    return solve_ensemble(run, draw, replace(run.state, mains_v=drawn_mains(run.build, run.state, mains_v, draw)))


def drawn_mains(build: Build, state: State, mains_v: float | None, draw: Draw) -> np.ndarray | float:
    """Volts at the primary over the ensemble: the whole spread of mains, or around what was measured."""
    share = build.meter.ac[0]
    tolerance = (-build.mains.spread, build.mains.spread) if mains_v is None else (-share, share)
    return state.mains_v * draw.factor("mains", "volts", tolerance)


def read_points(
    build: Build,
    found: Operating,
    points: dict[str, Point],
    draw: Draw | None = None,
    nominal: np.ndarray | None = None,
    *,
    loose: bool = False,
) -> np.ndarray:
    """(samples, points) as the builder's meter shows them, loading included; with its own error when drawn.

    `nominal` (points,) are the readings of the finer nominal run, to which those of the first sample are brought;
    `loose` is as for `probe.readings`.
    """
    if not points:
        return np.zeros((found.samples, 0))
    probes = [
        Probe(point.red, point.black, "dc" if point.quantity == "dc" else "ac", build.meter.input)
        for point in points.values()
    ]
    values = readings(found, probes, loose=loose)
    for k, (name, point) in enumerate(points.items()):
        if point.quantity != "dc" and not build.meter.true_rms:
            values[:, k] *= mean_responding(found, point)
        if nominal is not None:
            values[:, k] = levelled(values[:, k], nominal[k], signed=point.quantity == "dc")
        if draw is not None:
            values[:, k] = shown(build.meter, point.quantity, values[:, k], draw, name)
    return values


def levelled(values: np.ndarray, nominal: float, *, signed: bool = False) -> np.ndarray:
    """Values (samples,) of coarse time points, moved so that the first, the nominal build, is the fine run's `nominal`.

    The coarse points' error is alike in all samples: a shift where values may have either sign, else a share.
    """
    if signed:
        return values + np.nan_to_num(nominal - values[0])
    with np.errstate(all="ignore"):
        share = nominal / values[0]
    return values * share if np.isfinite(share) and share > 0.0 else values
