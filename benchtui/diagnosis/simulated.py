"""What a stage reads without a fault and with each, over the builds of an ensemble, as the builder's meter shows it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.elements import CHASSIS, Circuit
from benchtui.circuit.operating import Operating
from benchtui.circuit.stacking import picked
from benchtui.diagnosis.changes import Change
from benchtui.diagnosis.faults import Fault, faults
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
class _Read:
    """Readings (changes, builds, points), least spread (changes, points), share of builds with each fuse blown."""

    values: np.ndarray
    least: np.ndarray
    blown: dict[str, np.ndarray]


@dataclass(frozen=True, eq=False)
class _Powered:
    """The readings of a stage with the power on, its builds before any fault, and the circuit of those that get one."""

    run: Run
    ensemble: Operating
    circuit: Circuit
    points: dict[str, Point]
    draw: Draw

    @cached_property
    def sound(self) -> _Read:
        """What the sound builds read, as the one change that is none."""
        return self._read(self._coarse[None])

    def read(self, changes: list[Change]) -> _Read:
        """The same with each change made."""
        found = planted(self.run.build, self.circuit, changes, self.points, self.few)
        shares = {name: out.mean(axis=1) for name, out in found.blown.items()}
        return replace(self._read(found.values), blown=shares)

    def _read(self, values: np.ndarray) -> _Read:
        values = self._meter.shows(values)
        return _Read(values, _least(self.run, self.points, _mean(values, 1)), {})

    @cached_property
    def _coarse(self) -> np.ndarray:
        return read_points(self.run.build, self.ensemble, self.points)

    @cached_property
    def few(self) -> Operating:
        return self.ensemble.take(np.arange(FAULTY))

    @cached_property
    def _meter(self) -> _Shown:
        fine = read_points(self.run.build, self.run.nominal, self.points)[0]
        return _Shown(self.run.build, self.points, self.draw, fine, self._coarse[0])


@dataclass(frozen=True, eq=False)
class _Unpowered:
    """The readings of a stage in ohms, in the same form."""

    build: Build
    circuit: Circuit
    points: dict[str, Point]
    draw: Draw

    @cached_property
    def sound(self) -> _Read:
        return self._read([Change({})], SOUND)

    def read(self, changes: list[Change]) -> _Read:
        return self._read(changes, FAULTY)

    def _read(self, changes: list[Change], builds: int) -> _Read:
        values = ohms_read(self.build, self.circuit, changes, self.points, self.draw, builds)
        return _Read(values, ohms_least(self.build, values.mean(axis=1)), {})


@dataclass(frozen=True, eq=False)
class Ground:
    """A stage as drawn, before any fault: the circuit of the builds that get one, what is read, and the mains."""

    circuit: Circuit
    parts: tuple[_Powered | _Unpowered, ...]
    mains: np.ndarray

    @property
    def points(self) -> dict[str, Point]:
        """All that is read, in the order of the readings."""
        return {name: point for part in self.parts for name, point in part.points.items()}

    def sound(self) -> _Read:
        return _beside([part.sound for part in self.parts], 1, SOUND)

    def read(self, changes: list[Change]) -> _Read:
        return _beside([part.read(changes) for part in self.parts], len(changes), FAULTY)

    @property
    def few(self) -> Operating | None:
        """The builds that get a fault, without one and with the power on; None where nothing is read so."""
        return next((part.few for part in self.parts if isinstance(part, _Powered)), None)


def _beside(parts: list[_Read], changes: int, builds: int) -> _Read:
    """The readings of all parts, point by point."""
    values = [np.zeros((changes, builds, 0)), *(part.values for part in parts)]
    least = [np.zeros((changes, 0)), *(part.least for part in parts)]
    blown = {name: out for part in parts for name, out in part.blown.items()}
    return _Read(np.concatenate(values, axis=2), np.concatenate(least, axis=1), blown)


@lru_cache(maxsize=16)
def ground(build: Build, stage: str) -> Ground:
    """The stage over the whole spread of mains, pots where each sound build has them trimmed."""
    draw, state = Draw(SOUND), stage_state(build, stage)
    mains_v = drawn_mains(build, state, None, draw)
    listed = {name: point for name, point in build.point.items() if stage in point.stages}
    ohms = {name: point for name, point in listed.items() if point.quantity == "resistance"}
    volts = {name: point for name, point in listed.items() if name not in ohms}
    powered = None
    if volts:
        run = stage_run(build, stage)
        powered = solve_ensemble(run, draw, replace(run.state, mains_v=mains_v))
        state = replace(run.state, mains_v=mains_v, pots=powered.pots, trimmed=frozenset())
    circuit = picked(assemble(build, state, draw), np.arange(FAULTY))
    parts: list[_Powered | _Unpowered] = []
    if powered is not None:
        nodes = run.nominal.system.network.nodes.keys() | {CHASSIS}
        there = {name: point for name, point in volts.items() if {point.red, point.black} <= nodes}
        parts.append(_Powered(run, powered, circuit, there, draw))
    if ohms:
        told = {name: point for name, point in ohms.items() if point.guards not in ("bond", "insulation")}
        parts.append(_Unpowered(build, ohms_circuit(build, state, stage, draw), told, draw))
    return Ground(circuit, tuple(parts), np.asarray(mains_v) / build.mains.volts - 1.0)


@lru_cache(maxsize=16)
def simulated(build: Build, stage: str) -> Simulated:
    """The stage with every single fault of its circuit."""
    drawn = ground(build, stage)
    found = faults(build, drawn.circuit)
    of = np.array([number for number, fault in enumerate(found) for _ in fault.changes], dtype=int)
    sound, faulty = drawn.sound(), drawn.read([change for fault in found for change in fault.changes])
    return Simulated(
        stage=stage,
        points=drawn.points,
        faults=found,
        of=of,
        sound=sound.values[0],
        faulty=faulty.values,
        least=np.concatenate([sound.least, faulty.least]),
        blown={name: _itself(name, found, of, out) for name, out in faulty.blown.items()},
        mains=drawn.mains,
    )


def with_changes(
    build: Build, stage: str, changes: list[Change]
) -> tuple[np.ndarray, np.ndarray, dict[str, np.ndarray]]:
    """Readings (changes, builds, points), least spread (changes, points) and fuses blown, as in Simulated."""
    read = ground(build, stage).read(changes)
    return read.values, read.least, read.blown


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
