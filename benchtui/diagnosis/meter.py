"""What may be wrong with the meter, as cases of a table: no circuit is solved for them, the build being a sound one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.diagnosis.faults import Fault
from benchtui.diagnosis.kinds import kinds
from benchtui.diagnosis.table import Spread, Table, fault_table

#: What a fault of the meter has for a part.
METER = "meter"

#: Volts that a probe shows which touches nothing.
_OPEN_V = 0.02

#: Times what is there that a meter on AC shows of DC: it blocks DC, or it rectifies one half and reckons with a sine.
_AC_OF_DC = (0.0, 2.22)

#: How far each of these may be off, as a share of the DC: ripple, and forms of meter (common practice, no source).
_STRAY_SHARE = 0.02

#: Times too high that a flat battery makes DC read (common practice, no source).
_FLAT = (1.08, 1.15, 1.25)

#: A row of a table's spread: mean and own (points,), slope (points, latents); and the point of a slip, -1 for none.
Row = tuple[np.ndarray, np.ndarray, np.ndarray, int]


@lru_cache(maxsize=16)
def whole_table(build: Build, stage: str, earlier: tuple[str, ...] = ()) -> Table:
    """The table of all faults: of the circuit, and behind them of the meter, in the readings of `stage`."""
    table = fault_table(build, stage, earlier)
    made = {"meter-not-touching": _not_touching, "meter-wrong-kind": _wrong_kind, "meter-battery-flat": _flat}
    rows = {kind: tuple(make(table)) for kind, make in made.items()}
    rows = {kind: found for kind, found in rows.items() if found}
    if not rows:
        return table
    sizes = [len(found) for found in rows.values()]
    mean, own, slope, slip_at = map(np.array, zip(*(row for found in rows.values() for row in found), strict=True))
    spread = table.spread
    return replace(
        table,
        faults=(*table.faults, *(_fault(kind) for kind in rows)),
        of=np.concatenate([table.of, len(table.faults) + np.repeat(np.arange(len(rows)), sizes)]),
        share=np.concatenate([table.share, np.repeat(1.0 / np.array(sizes), sizes)]),
        weight=np.concatenate([table.weight, [kinds()[kind].weight for kind in rows]]),
        spread=Spread(
            np.concatenate([spread.mean, mean]),
            np.concatenate([spread.slope, slope]),
            np.concatenate([spread.own, own]),
        ),
        blown={name: np.concatenate([share, np.zeros(sum(sizes))]) for name, share in table.blown.items()},
        slip_at=np.concatenate([table.slip_at, slip_at]),
    )


def _fault(kind: str) -> Fault:
    listed = kinds()[kind]
    return Fault(kind, METER, listed.says.format(part=METER), listed.weight, ())


def _volts(table: Table, *quantities: str) -> list[int]:
    """The points of the table's stage that read such a quantity."""
    return [k for k in table.here if table.build.point[table.points[k][1]].quantity in quantities]


def _sound(table: Table) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    spread = table.spread
    return spread.mean[0].copy(), spread.own[0].copy(), spread.slope[0].copy()


def _not_touching(table: Table) -> Iterator[Row]:
    for k in _volts(table, "dc", "ac", "ripple"):
        yield _at(table, k, 0.0, _OPEN_V)


def _wrong_kind(table: Table) -> Iterator[Row]:
    for k in _volts(table, "dc"):
        for times in _AC_OF_DC:
            stray = _STRAY_SHARE * max(times, 1.0) * abs(table.spread.mean[0, k])
            yield _at(table, k, times, max(stray, _OPEN_V))
    for k in _volts(table, "ac", "ripple"):
        yield _at(table, k, 0.0, _OPEN_V)


def _flat(table: Table) -> Iterator[Row]:
    points = _volts(table, "dc")
    for times in _FLAT if points else ():
        mean, own, slope = _sound(table)
        mean[points], own[points], slope[points] = times * mean[points], times * own[points], times * slope[points]
        yield mean, own, slope, -1


def _at(table: Table, k: int, times: float, least_v: float) -> Row:
    """A sound build, but for one point that reads so many times what is there."""
    mean, own, slope = _sound(table)
    mean[k], own[k], slope[k] = times * mean[k], np.hypot(times * own[k], least_v), times * slope[k]
    return mean, own, slope, k
