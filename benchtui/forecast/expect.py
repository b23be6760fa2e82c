"""What every point of a stage should read: nominal value, window of healthy builds, and limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.elements import CHASSIS
from benchtui.circuit.resistance import resistance
from benchtui.forecast.channels import beside
from benchtui.forecast.conditioned import Known, conditioned
from benchtui.forecast.drawn import Drawn, drawn_stage, powered_points, with_ideal_meter
from benchtui.forecast.given import Given, StageReadings
from benchtui.forecast.grids import grid_nodes
from benchtui.forecast.limits import powered_limits
from benchtui.forecast.ohms import expect_ohms
from benchtui.forecast.overload import carries
from benchtui.forecast.results import StageForecast
from benchtui.forecast.run import SAMPLES, Run, stage_run
from benchtui.forecast.stresses import stresses
from benchtui.forecast.windows import FLOOR_SHARE, dominant, joint_windows
from benchtui.parts.guide import spread
from benchtui.parts.guide import value as guide
from benchtui.quantities.show import show
from benchtui.verdicts.beside import Beside
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
    of the meter that read it. `given` is a record of this build: its mains, and its earlier readings narrow windows.
    """
    mains_v = given.mains_v if given is not None and mains_v is None else mains_v
    if ideal_meter:
        build = with_ideal_meter(build)
    drawn = _drawn(build, stage, mains_v, trimmed, samples)
    earlier = given.earlier if given is not None else {}
    live = () if drawn is None else _powered(stage, drawn, earlier)
    told = (*expect_ohms(build, stage, samples=samples), *live)
    points = [name for name, point in build.point.items() if stage in point.stages]
    return StageForecast(
        stage=stage,
        mains_v=float(build.mains.volts if mains_v is None else mains_v),
        expectations=tuple(sorted(told, key=lambda e: points.index(e.point))),
        stresses=() if drawn is None else stresses(drawn.run, drawn.ensemble),
        left_out=_left_out(points, told, _blame(build, stage, mains_v, trimmed)),
        beside=() if drawn is None else _beside(drawn),
    )


def expect_powered(
    build: Build,
    stage: str,
    *,
    mains_v: float | None = None,
    earlier: Mapping[str, StageReadings] | None = None,
    samples: int = SAMPLES,
) -> StageForecast:
    """Expectations of the stage's powered points alone: what the bench waits for with the power on."""
    drawn = _drawn(build, stage, mains_v, True, samples)
    live = () if drawn is None else _powered(stage, drawn, earlier or {})
    return StageForecast(
        stage=stage,
        mains_v=float(build.mains.volts if mains_v is None else mains_v),
        expectations=live,
        stresses=(),
        left_out=_left_out(powered_points(build, stage), live, _blame(build, stage, mains_v, True)),
        beside=() if drawn is None else _beside(drawn),
    )


def _drawn(build: Build, stage: str, mains_v: float | None, trimmed: bool, samples: int) -> Drawn | None:
    """The powered part of the stage; None where it has none, or cannot be solved."""
    if not powered_points(build, stage) or _blame(build, stage, mains_v, trimmed) is not None:
        return None
    return drawn_stage(build, stage, mains_v, trimmed, samples)


def _blame(build: Build, stage: str, mains_v: float | None, trimmed: bool) -> str | None:
    """The node that does not settle, if the stage cannot be solved."""
    if not powered_points(build, stage):
        return None
    return stage_run(build, stage, mains_v=mains_v, trimmed=trimmed).nominal.blame[0]


def _known(build: Build, stage: str, earlier: Mapping[str, StageReadings], samples: int) -> list[Known]:
    """What was read in stages before: readings in their windows, since one outside tells of a fault, not of a build."""
    found = []
    for name, before in earlier.items():
        drawn = _drawn(build, name, before.mains_v, True, samples)
        if name == stage or drawn is None:
            continue
        read = np.array([before.readings.get(point, np.nan) for point in drawn.points])
        low, high = drawn.windows.T
        with np.errstate(invalid="ignore"):
            read = np.where((low <= read) & (read <= high), read, np.nan)
        found.append(Known(drawn.values + _unsteady(drawn, name), read))
    return found


def _unsteady(drawn: Drawn, stage: str) -> np.ndarray:
    """What each reading owes to its moment alone (samples, points): drift of the bench, pick-up, stray currents."""
    found = np.empty_like(drawn.values)
    for k, (name, point) in enumerate(drawn.points.items()):
        share = _again(point) / 2.0
        off = drawn.draw.factor(name, f"moment in {stage}", (-1.0, 1.0)) - 1.0
        found[:, k] = off * (share * abs(drawn.nominal[k]) + stray_volts(drawn.run, point))
    return found


def _again(point: Point) -> float:
    """How far, as a share, a reading may move when it is taken again."""
    return spread("spread.ripple_again" if point.quantity == "ripple" else "spread.again")[1]


def _windows(stage: str, drawn: Drawn, earlier: Mapping[str, StageReadings]) -> tuple[np.ndarray, np.ndarray]:
    """The ensemble that stands for this build (samples, points), and its windows (points, 2)."""
    values = conditioned(drawn.values, _known(drawn.run.build, stage, earlier, drawn.ensemble.samples))
    if values is drawn.values:
        return values, drawn.windows
    again = np.array([_again(point) for point in drawn.points.values()])
    return values, joint_windows(values, np.nanmedian(values, axis=0), drawn.last_digits, floor_share=again)


def _powered(stage: str, drawn: Drawn, earlier: Mapping[str, StageReadings]) -> tuple[Expectation, ...]:
    run, nominal, limits = drawn.run, drawn.nominal, powered_limits(drawn.run, stage)
    values, windows = _windows(stage, drawn, earlier)
    windows = windows + np.array([[-1.0, 1.0]]) * np.array([[stray_volts(run, p)] for p in drawn.points.values()])
    found = []
    for k, (name, point) in enumerate(drawn.points.items()):
        if not np.isfinite(nominal[k]):
            continue
        low, high = map(float, windows[k])
        stop_low = limits[name].low
        stop_high = _proven(run, point, limits[name].high, drawn.values[:, k] - nominal[k], high)
        found.append(
            Expectation(
                point=name,
                quantity=point.quantity,
                unit="V",
                nominal=float(nominal[k]),
                low=low if stop_low is None else max(low, stop_low.value),
                high=high if stop_high is None else min(high, stop_high.value),
                stop_low=stop_low,
                stop_high=stop_high,
                why=(*_loading(drawn, k), *dominant(values[:, k], drawn.draw.drawn)),
                guards=point.guards,
            )
        )
    return tuple(found)


def _beside(drawn: Drawn) -> tuple[Beside, ...]:
    return beside(drawn, {name: stray_volts(drawn.run, point) for name, point in drawn.points.items()})


def _loading(drawn: Drawn, k: int) -> tuple[str, ...]:
    """A sentence where the meter's own resistance moves reading `k` by more than the window's floor."""
    loaded, unloaded = float(drawn.nominal[k]), float(drawn.unloaded[k])
    moved_v = abs(loaded - unloaded)
    if not moved_v > max(FLOOR_SHARE * abs(unloaded), 2.0 * drawn.last_digits[k]):
        return ()
    ohms = show(drawn.run.build.meter.input, "ohm")
    return (f"the meter's own {ohms} count in, without a meter it is {show(unloaded, 'V', 3)}",)


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


def stray_volts(run: Run, point: Point) -> float:
    """What the circuit's drawn values do not hold: pick-up of leads and wiring, the stray current of a sound grid."""
    if point.quantity == "ripple":
        return guide("meter.pickup")
    loads = run.build.load.values()
    if point.quantity == "ac" and any({point.red, point.black} <= {*load.nodes, CHASSIS} for load in loads):
        return guide("hum.at_load")
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
