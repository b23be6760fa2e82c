"""What a stage reads without a fault and with each, over the builds of an ensemble, as the builder's meter shows it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State, stage_state
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.elements import CHASSIS, Circuit
from benchtui.circuit.operating import Operating
from benchtui.circuit.stacking import picked
from benchtui.diagnosis.faults import Change, Fault, faults
from benchtui.diagnosis.planted import planted
from benchtui.diagnosis.unpowered import ohms_circuit, ohms_least, ohms_read
from benchtui.forecast.drawn import drawn_mains, read_points
from benchtui.forecast.expect import stray_volts
from benchtui.forecast.meter import resolution, shown
from benchtui.forecast.run import Run, solve_ensemble, stage_run

#: Builds drawn for the sound stage, and how many of them get each fault.
SOUND, FAULTY = 96, 12

#: What a reading owes to nothing that is drawn, as a share of it: drift of the bench, what laws of valves leave out.
_FLOOR = 0.01

#: What a meter shows anywhere where nothing is: pick-up, the last of a charge (common practice, no source).
_DEAD_V = 1e-2


@dataclass(frozen=True, eq=False)
class Simulated:
    """The readings of one stage: volts, and ohms as decades (`unpowered.scaled`); NaN where no figure is known.

    `sound` is (builds, points), `faulty` (cases, fewer builds, points): a case is one size of one of `faults`, whose
    number is `of` (cases,). The builds of both are the same ones, in every stage; the first is the nominal one.
    `least` (cases + 1, points) is the spread that each reading has by itself, the sound stage first. `blown` is the
    share (cases,) of builds in which that fuse has blown. `mains` (builds,) is the mains over its rated volts, less 1.
    """

    stage: str
    points: dict[str, Point]
    faults: tuple[Fault, ...]
    of: np.ndarray
    sound: np.ndarray
    faulty: np.ndarray
    least: np.ndarray
    blown: dict[str, np.ndarray]
    mains: np.ndarray


@dataclass(frozen=True, eq=False)
class _Part:
    """The powered or the unpowered readings of a stage, as Simulated has them."""

    points: dict[str, Point]
    sound: np.ndarray
    faulty: np.ndarray
    least: np.ndarray
    blown: dict[str, np.ndarray]


@dataclass(frozen=True, eq=False)
class _Ground:
    """A stage as drawn, before any fault: its sound builds, and the circuit of those few that get faults."""

    build: Build
    stage: str
    draw: Draw
    state: State
    run: Run | None
    ensemble: Operating | None
    circuit: Circuit
    volts: dict[str, Point]
    ohms: dict[str, Point]

    def read(self, changes: list[Change]) -> list[_Part]:
        """The powered and the unpowered readings with each change made."""
        powered = [_powered(self.run, self.ensemble, self.circuit, changes, self.volts, self.draw)] if self.run else []
        cold = [_unpowered(self.build, self.state, self.stage, changes, self.ohms, self.draw)] if self.ohms else []
        return powered + cold


@lru_cache(maxsize=16)
def _ground(build: Build, stage: str) -> _Ground:
    """The stage over the whole spread of mains, pots where each sound build has them trimmed."""
    draw, state = Draw(SOUND), stage_state(build, stage)
    mains_v = drawn_mains(build, state, None, draw)
    listed = {name: point for name, point in build.point.items() if stage in point.stages}
    ohms = {name: point for name, point in listed.items() if point.quantity == "resistance"}
    volts = {name: point for name, point in listed.items() if name not in ohms}
    run = ensemble = None
    if volts:
        run = stage_run(build, stage)
        ensemble = solve_ensemble(run, draw, replace(run.state, mains_v=mains_v))
        state = replace(run.state, mains_v=mains_v, pots=ensemble.pots, trimmed=frozenset())
    circuit = picked(assemble(build, state, draw), np.arange(FAULTY))
    return _Ground(build, stage, draw, state, run, ensemble, circuit, volts, ohms)


@lru_cache(maxsize=16)
def simulated(build: Build, stage: str) -> Simulated:
    """The stage with every single fault of its circuit."""
    ground = _ground(build, stage)
    found = faults(build, ground.circuit)
    changes = [change for fault in found for change in fault.changes]
    of = np.array([number for number, fault in enumerate(found) for _ in fault.changes], dtype=int)
    parts = ground.read(changes)
    blown = {name: _itself(name, found, of, out) for part in parts for name, out in part.blown.items()}
    mains_v = drawn_mains(build, stage_state(build, stage), None, ground.draw)
    return Simulated(
        stage=stage,
        points={name: point for part in parts for name, point in part.points.items()},
        faults=found,
        of=of,
        sound=np.concatenate([np.zeros((SOUND, 0)), *(part.sound for part in parts)], axis=1),
        faulty=np.concatenate([np.zeros((len(of), FAULTY, 0)), *(part.faulty for part in parts)], axis=2),
        least=np.concatenate([np.zeros((len(of) + 1, 0)), *(part.least for part in parts)], axis=1),
        blown=blown,
        mains=np.asarray(mains_v) / build.mains.volts - 1.0,
    )


def with_changes(
    build: Build, stage: str, changes: list[Change]
) -> tuple[np.ndarray, np.ndarray, dict[str, np.ndarray]]:
    """Readings (changes, builds, points), least spread (changes, points) and fuses blown, as in Simulated."""
    parts = _ground(build, stage).read(changes)
    faulty = np.concatenate([np.zeros((len(changes), FAULTY, 0)), *(part.faulty for part in parts)], axis=2)
    least = np.concatenate([np.zeros((len(changes), 0)), *(part.least[1:] for part in parts)], axis=1)
    return faulty, least, {name: out for part in parts for name, out in part.blown.items()}


def _powered(
    run: Run, ensemble: Operating, circuit: Circuit, changes: list[Change], listed: dict[str, Point], draw: Draw
) -> _Part:
    build, nodes = run.build, run.nominal.system.network.nodes.keys() | {CHASSIS}
    points = {name: point for name, point in listed.items() if {point.red, point.black} <= nodes}
    read = planted(build, circuit, changes, points.values(), ensemble.take(np.arange(FAULTY)))
    fine, coarse = read_points(build, run.nominal, points)[0], read_points(build, ensemble, points)
    meter = _Shown(build, points, draw, fine, coarse[0])
    sound, faulty = meter.shows(coarse[None]), meter.shows(read.values)
    least = _least(run, points, np.concatenate([_mean(sound, 1), _mean(faulty, 1)]))
    return _Part(points, sound[0], faulty, least, {name: out.mean(axis=1) for name, out in read.blown.items()})


def _unpowered(
    build: Build, state: State, stage: str, changes: list[Change], listed: dict[str, Point], draw: Draw
) -> _Part:
    circuit = ohms_circuit(build, state, stage, draw)
    points = {name: point for name, point in listed.items() if point.guards not in ("bond", "insulation")}
    sound = ohms_read(build, circuit, [Change({})], points, draw, SOUND)
    faulty = ohms_read(build, circuit, changes, points, draw, FAULTY)
    least = ohms_least(build, np.concatenate([sound.mean(axis=1), faulty.mean(axis=1)]))
    return _Part(points, sound[0], faulty, least, {})


@dataclass(frozen=True, eq=False)
class _Shown:
    """The builder's meter on the drawn builds; `coarse` and `fine` are both solutions of the nominal one."""

    build: Build
    points: dict[str, Point]
    draw: Draw
    fine: np.ndarray
    coarse: np.ndarray

    def shows(self, values: np.ndarray) -> np.ndarray:
        """Readings (cases, builds, points) of the first builds, AC brought to the finer solution by a share."""
        values, builds = values.copy(), values.shape[1]
        for k, (name, point) in enumerate(self.points.items()):
            with np.errstate(all="ignore"):
                share = self.fine[k] / self.coarse[k]
            if point.quantity != "dc" and np.isfinite(share) and share > 0.0:
                values[:, :, k] *= share
            for case in values:
                whole = np.zeros(SOUND)
                whole[:builds] = case[:, k]
                case[:, k] = shown(self.build.meter, point.quantity, whole, self.draw, name)[:builds]
        return values


def _itself(name: str, found: tuple[Fault, ...], of: np.ndarray, share: np.ndarray) -> np.ndarray:
    """The share of builds in which a fuse has blown; where it is the fault itself, all."""
    itself = np.array([found[k].kind == "fuse-open" and found[k].part == name for k in of], dtype=bool)
    return np.where(itself, 1.0, share)


def _least(run: Run, points: dict[str, Point], middle: np.ndarray) -> np.ndarray:
    """The spread (cases, points) of readings (cases, points) by themselves."""
    middle = np.abs(np.nan_to_num(middle))
    stray = np.array([max(stray_volts(run, point), _DEAD_V) for point in points.values()])
    digits = np.zeros_like(middle)
    for k, point in enumerate(points.values()):
        digits[:, k] = resolution(run.build.meter, point.quantity, middle[:, k])
    return np.sqrt((_FLOOR * middle) ** 2 + digits**2 + stray**2)


def _mean(values: np.ndarray, axis: int) -> np.ndarray:
    """The mean of what is finite along an axis, NaN where nothing is."""
    known = np.isfinite(values)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(known, values, 0.0).sum(axis=axis) / known.sum(axis=axis)
