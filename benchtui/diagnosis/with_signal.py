"""What a reading with a signal says of every fault: the gain with it beside that without, and how sound builds differ.

The direct volts have had their say first: what they rule out is not thought of again. A fault is solved in the nominal
build alone; how builds differ is told by the logarithms of what sound ones read, which differ together, as a gain that
all later readings share.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.buildfile.models import Build
from benchtui.circuit.operate import operate
from benchtui.circuit.stacking import stacked
from benchtui.diagnosis.changes import Change
from benchtui.diagnosis.faults import Fault, faults
from benchtui.diagnosis.planted import batches
from benchtui.diagnosis.table import Table
from benchtui.diagnosis.weigh import Weighed, weighed_by
from benchtui.forecast.run import SAMPLES
from benchtui.forecast.signal import Way
from benchtui.forecast.signal_bench import OnTest, as_read, lead_of, on_test, stage_of
from benchtui.forecast.signal_path import SignalPath
from benchtui.forecast.signal_points import SignalPoint, signal_points
from benchtui.forecast.signal_values import ChannelTests, true_values

#: Cases that the direct volts leave less than this beside the likeliest are thought of no more.
_LEFT = 1e-4

#: Volts that hum and pick-up leave where no signal is (common practice, no source).
_DEAD_V = 2e-3

#: Deviation of a logarithm that laws of valves leave out, and as a share of what a fault moves it by.
_FLOOR, _OF_SHIFT = 0.02, 0.1

#: Of a fault that nobody thought of a reading may be anything within this deviation of its logarithm.
_ANYTHING = 1.5

Id = tuple[tuple[str, str, str], int]
"""A fault by its id, and which of those of the same id it is."""


@dataclass(frozen=True, eq=False)
class Seen:
    """Logarithms of readings (points,): `mean` and covariance of sound builds, and what was `read`."""

    points: tuple[SignalPoint, ...]
    mean: np.ndarray
    covariance: np.ndarray
    read: np.ndarray


def weigh_signal(table: Table, weighed: Weighed, mains_v: float | None, read: Mapping[str, float]) -> Weighed:
    """The same weighed by what signal points of the table's stage `read`, in volts, with a small signal.

    Around full power each fault would take a search of its own.
    """
    points = [point for point in signal_points(table.build, table.stage) if point.id in read and point.unit == "V"]
    if not points:
        return weighed
    case, unknown = np.log(np.maximum(weighed.cases, 1e-300)), float(np.log(max(weighed.unknown, 1e-300)))
    thought_of = np.flatnonzero(weighed.cases >= _LEFT * weighed.cases[1:].max(initial=0.0))
    thought_of = np.union1d(thought_of, [0])
    told = np.full(len(case), -np.inf)
    told[thought_of] = case[thought_of]
    for path in dict.fromkeys(point.path for point in points):
        seen = _seen(table.build, mains_v, [point for point in points if point.path == path], read)
        shifts = _shifts(table, path, mains_v, seen.points, thought_of)
        told[thought_of] += [_fits(seen, shift) for shift in shifts]
        unknown += _any(seen)
    return weighed_by(table, told, unknown)


def _seen(build: Build, mains_v: float | None, points: Sequence[SignalPoint], read: Mapping[str, float]) -> Seen:
    way = _way(build, points[0].path, mains_v)
    logs = [_log(as_read(p, build, true_values(way.drawn, p, way.setting(p.what)), way.draw)) for p in points]
    values = np.stack(logs, axis=1)
    values = values[np.isfinite(values).all(axis=1)]
    covariance = np.atleast_2d(np.cov(values, rowvar=False)) + _FLOOR**2 * np.eye(len(points))
    return Seen(tuple(points), values.mean(axis=0), covariance, _log(np.array([read[p.id] for p in points])))


@lru_cache(maxsize=8)
def _way(build: Build, path: SignalPath, mains_v: float | None) -> Way:
    return Way(build, path, mains_v, SAMPLES)


def _log(volts: np.ndarray) -> np.ndarray:
    return np.log(np.abs(volts) + _DEAD_V)


def _fits(seen: Seen, shift: np.ndarray) -> float:
    """Log density of what was read where the readings lie `shift` (points,) off those of sound builds."""
    if not np.isfinite(shift).all():  # it does not come to rest
        return _any(seen)
    covariance = seen.covariance + np.diag((_OF_SHIFT * shift) ** 2)
    off = seen.read - seen.mean - shift
    return float(-0.5 * (off @ np.linalg.solve(covariance, off) + np.linalg.slogdet(covariance)[1]))


def _any(seen: Seen) -> float:
    off = (seen.read - seen.mean) / _ANYTHING
    return float(-0.5 * (off**2).sum() - len(off) * np.log(_ANYTHING))


def _shifts(
    table: Table, path: SignalPath, mains_v: float | None, points: Sequence[SignalPoint], cases: np.ndarray
) -> np.ndarray:
    """By how much the logarithm of each reading (cases, points) moves with a case of the table; 0 for none."""
    keys = _keys(table.faults)
    moves = [case for case in cases if table.of[case] >= 0 and table.faults[table.of[case]].changes]
    wanted = tuple((keys[table.of[case]], table.size_of(case)) for case in moves)
    found = np.zeros((len(table.of), len(points)))
    for lead in dict.fromkeys(lead_of(point.what) for point in points):
        here = [k for k, point in enumerate(points) if lead_of(point.what) == lead]
        shifts = _solved(table.build, path, mains_v, tuple(points[k] for k in here)).shifts(wanted)
        found[np.ix_(moves, here)] = shifts
    return found[cases]


def _keys(found: Iterable[Fault]) -> list[Id]:
    """Each fault by its id and how many of the same came before."""
    count: Counter[tuple[str, str, str]] = Counter()
    keys = []
    for fault in found:
        keys.append((fault.id, count[fault.id]))
        count[fault.id] += 1
    return keys


class Solved:
    """The nominal build with its lead so, and with every fault that was asked for: solved once each."""

    def __init__(self, way: Way, points: tuple[SignalPoint, ...], mains_v: float | None) -> None:
        """`points` are those of one lead."""
        self._way, self._points = way, points
        build, path, lead = way.build, way.path, lead_of(points[0].what)
        self._sound = way.nominal.of(points[0].what).operating
        pots = {name: float(position[0]) for name, position in self._sound.pots.items()}
        state = stage_state(build, stage_of(lead), mains_v=mains_v)
        volts = np.array([float(state.mains_v)])  # so that even circuits that are all alike are stacked
        state = replace(state, pots=pots, trimmed=frozenset(), mains_v=volts)
        self._circuit = assemble(build, on_test(state, build, path, lead))
        listed = faults(build, self._circuit)
        self._faults = dict(zip(_keys(listed), listed, strict=True))
        self._known: dict[tuple[Id, int], np.ndarray] = {}

    def shifts(self, wanted: Sequence[tuple[Id, int]]) -> np.ndarray:
        """By how much the logarithms of the readings (wanted, points) move with each size of a fault.

        What the circuit has not with the lead so moves nothing; NaN where it does not come to rest.
        """
        new = [each for each in wanted if each not in self._known]
        if new:
            changes = [self._faults[key].changes[size] if key in self._faults else Change({}) for key, size in new]
            logs = _log(self._values([Change({}), *changes]))
            self._known |= dict(zip(new, logs[1:] - logs[0], strict=True))
        return np.array([self._known[each] for each in wanted]).reshape(len(wanted), len(self._points))

    def _values(self, changes: Sequence[Change]) -> np.ndarray:
        """Volts (changes, points)."""
        values = np.empty((len(changes), len(self._points)))
        for numbers, batch in batches(self._circuit, changes):
            start = self._sound.take(np.zeros(len(batch), dtype=int))
            found = operate(stacked(batch, 1), start=start, fine=False)
            on = OnTest(self._way.build, self._way.path, found)
            tests = ChannelTests(lambda lead, on=on: on, lambda found=found: found)
            of = [true_values(tests, each, self._way.setting(each.what)) for each in self._points]
            values[numbers] = np.where(on.stable[:, None], np.stack(of, axis=1), np.nan)
        return values


@lru_cache(maxsize=8)
def _solved(build: Build, path: SignalPath, mains_v: float | None, points: tuple[SignalPoint, ...]) -> Solved:
    return Solved(_way(build, path, mains_v), points, mains_v)
