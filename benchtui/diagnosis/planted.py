"""Circuits with a fault in them, solved side by side, with what follows of it: fuses that blow, heaters that starve."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from benchtui.buildfile.models import Build, Point
from benchtui.circuit.elements import Circuit, Resistor
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.circuit.stacking import picked, stacked, structure
from benchtui.diagnosis.changes import OPEN_OHM, Change, changed
from benchtui.diagnosis.heating import Warmed, warmed
from benchtui.forecast.drawn import read_points

#: Times its rated current at which a fuse is taken to blow in the minute of a reading (common practice, no source).
BLOWS = 1.8

#: A change of emission that is worth another solution.
_COOLER = 0.02

#: Changes that are solved side by side at most.
_BATCH = 64

#: Share of the rectifiers' currents by which a change moves them that they feel.
_FELT = 0.1

#: How often what follows of a fault may have consequences of its own.
_TURNS = 2


@dataclass(frozen=True, eq=False)
class Planted:
    """Readings (changes, samples, points) in volts, NaN where nothing but the meter would set them; `blown` (changes,
    samples) by fuse.
    """

    values: np.ndarray
    blown: dict[str, np.ndarray]


def planted(
    build: Build, circuit: Circuit, changes: Sequence[Change], points: dict[str, Point], sound: Operating
) -> Planted:
    """Each of `changes` made to `circuit` and solved; `sound` is it without a change, its first sample the nominal."""
    samples = sound.samples
    values = np.full((len(changes), samples, len(points)), np.nan)
    fuses = fuses_in(build, circuit)
    blown = {name: np.zeros((len(changes), samples), dtype=bool) for name in fuses}
    for numbers, batch in batches(circuit, changes):
        whole = stacked(batch, samples)
        found, out = _solved(build, whole, sound, len(batch), fuses)
        values[numbers] = read_points(build, found, points, loose=True).reshape(len(batch), samples, len(points))
        for name in fuses:
            blown[name][numbers] = out[name].reshape(len(batch), samples)
    return Planted(values, blown)


@dataclass(frozen=True, eq=False)
class Followed:
    """What has followed of a fault by now: fuses blown and emission left, by name (samples,)."""

    blown: dict[str, np.ndarray]
    emission: dict[str, np.ndarray]

    @classmethod
    def nothing(cls, fuses: Iterable[str], heated: tuple[Warmed, ...], samples: int) -> Followed:
        """Every fuse whole, every valve as warm as it is to be."""
        whole = {name: np.zeros(samples, dtype=bool) for name in fuses}
        return cls(whole, {each.section: np.ones(samples) for each in heated})

    def take(self, samples: np.ndarray) -> Followed:
        return Followed(*({k: np.array(v[samples]) for k, v in each.items()} for each in (self.blown, self.emission)))

    def circuit(self, of: Circuit) -> Circuit:
        """The circuit with fuses out where they have blown, and valves with what emission their heaters leave them."""
        instead = {}
        for element in of.elements:
            out, left = self.blown.get(element.name), self.emission.get(element.name)
            if out is not None and out.any():
                instead[element.name] = replace(element, ohm=np.where(out, OPEN_OHM, element.ohm))
            elif left is not None and (left < 1.0).any():
                instead[element.name] = replace(element, emission=element.emission * left)
        return changed(of, Change(instead))


def _solved(
    build: Build, circuit: Circuit, sound: Operating, changes: int, fuses: list[str]
) -> tuple[Operating, dict[str, np.ndarray]]:
    """The nominal build of each change first, from which all its builds begin."""
    nominal = picked(circuit, np.arange(changes) * sound.samples)
    heated = warmed(build, circuit)
    intact = Followed.nothing(fuses, heated, changes)
    found, followed = _consequences(build, nominal, sound.take(np.array([0])), intact, heated)
    every = np.repeat(np.arange(changes), sound.samples)
    begin = _beginning(found, sound, every) if found.settled.all() else sound.take(np.zeros(len(every), dtype=int))
    found, followed = _consequences(build, circuit, begin, followed.take(every), heated)
    return found, followed.blown


def fuses_in(build: Build, circuit: Circuit) -> list[str]:
    """The fuses that are in the circuit."""
    return [name for name in build.fuse if any(element.name == name for element in circuit.elements)]


def _beginning(found: Operating, sound: Operating, every: np.ndarray) -> Operating:
    """Where the builds of each change begin: its nominal one, off as sound builds are off their nominal one.

    Where the rectifiers hardly feel the change, their waves are those of the sound builds.
    """
    begin, builds = found.take(every), np.tile(np.arange(sound.samples), found.samples)
    volts, before, here = begin.dc_volts.copy(), sound.system.network.nodes, found.system.network.nodes
    for name in before.keys() & here.keys():
        volts[here[name]] += (sound.dc_volts[before[name]] - sound.dc_volts[before[name], 0])[builds]
    wave = begin.wave
    if wave is not None and found.system.network.rectifier_names == sound.system.network.rectifier_names:
        mean, own = found.wave.amps.mean(axis=-1), sound.wave.amps.mean(axis=-1)[:1]
        felt = (np.abs(mean - own) > _FELT * np.abs(own).max()).any(axis=1)
        alike = np.flatnonzero(~felt[every])
        wave = wave.with_samples(alike, sound.wave.take(builds[alike]))
    return replace(begin, dc_volts=volts, wave=wave)


def batches(circuit: Circuit, changes: Sequence[Change]) -> Iterable[tuple[list[int], list[Circuit]]]:
    """Numbers of changes and their circuits, all of one structure: what comes on top in one is there in all, open."""
    groups: dict[tuple, list[int]] = {}
    bare = [changed(circuit, Change(change.instead)) for change in changes]
    for number, each in enumerate(bare):
        groups.setdefault(structure(each), []).append(number)
    for group in groups.values():
        for begin in range(0, len(group), _BATCH):
            numbers = group[begin : begin + _BATCH]
            extras = {(e.name, e.a, e.b): e for number in numbers for e in changes[number].extra}
            yield numbers, [_with_extras(bare[number], changes[number].extra, tuple(extras)) for number in numbers]


def _with_extras(circuit: Circuit, own: tuple[Resistor, ...], all_: tuple[tuple[str, str, str], ...]) -> Circuit:
    ohms = {(e.name, e.a, e.b): e.ohm for e in own}
    names = (f"{name} {k}" for k, (name, _, _) in enumerate(all_))
    extras = (Resistor(name, *key[1:], ohms.get(key, OPEN_OHM)) for name, key in zip(names, all_, strict=True))
    return Circuit((*circuit.elements, *extras), circuit.mains_hz)


def _consequences(
    build: Build, circuit: Circuit, start: Operating, followed: Followed, heated: tuple[Warmed, ...]
) -> tuple[Operating, Followed]:
    """The steady state once every fuse that blows has blown and valves that their heaters starve have cooled."""
    found = operate(followed.circuit(circuit), start=start, fine=False)
    for _ in range(_TURNS):
        further = follows(build, found, followed, heated)
        if further is None:
            break
        followed = further
        found = operate(followed.circuit(circuit), start=found, fine=False)
    return found, followed


def follows(build: Build, found: Operating, followed: Followed, heated: tuple[Warmed, ...]) -> Followed | None:
    """What has followed once `found` is there, beside what had `followed` before; None where nothing more does."""
    blown, emission = {}, {}
    for name, out in followed.blown.items():
        with np.errstate(invalid="ignore"):
            blown[name] = out | (found.rms(name) > BLOWS * build.fuse[name].amps)
    for each in heated:
        left = each.emission(found)
        emission[each.section] = np.where(np.isfinite(left), left, followed.emission[each.section])
    goes = any((blown[name] != out).any() for name, out in followed.blown.items())
    cools = any((np.abs(emission[name] - left) > _COOLER).any() for name, left in followed.emission.items())
    return Followed(blown, emission) if goes or cools else None
