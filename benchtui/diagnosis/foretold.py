"""What a further reading would be in each of the cases weighed: live, once again, in ohms, after an exchange."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.diagnosis.candidates import Candidate
from benchtui.diagnosis.changes import Change
from benchtui.diagnosis.cold import cold_table
from benchtui.diagnosis.exchanges import Exchange, exchanged, exchanges
from benchtui.diagnosis.simulated import ground, with_changes
from benchtui.diagnosis.table import Spread, Table, spread_of
from benchtui.diagnosis.weigh import Evidence, at_mains, foreseen, was_read
from benchtui.forecast.meter import resolution

#: What a reading that is made again owes to drift, as a share of it (common practice, no source).
_DRIFT = 0.01

_NO_CHANGE = Change({})


@dataclass(frozen=True, eq=False)
class Foretold:
    """Mean and deviation (cases,) of a candidate in each of the cases that are weighed; NaN where nobody knows."""

    candidate: Candidate
    mean: np.ndarray
    deviation: np.ndarray


def live(table: Table, evidence: Evidence, cases: np.ndarray) -> Iterator[Foretold]:
    """The powered points of the stage that were not read."""
    ahead = [k for k in _powered(table) if table.points[k] not in evidence.read]
    stages = [table.points[k][0] for k in ahead]
    mean, deviation = conditioned(table, evidence, cases, table.spread.take(cases, ahead), stages)
    for column, k in enumerate(ahead):
        yield Foretold(_at_point(table, k, "live", "Read {}"), mean[:, column], deviation[:, column])


def again(table: Table, evidence: Evidence, cases: np.ndarray) -> Iterator[Foretold]:
    """Points that were read at which some of the cases are a slip: the same once more, or as a sound build reads."""
    slips = {int(k) for k in table.slip_at[cases]} - {-1}
    read = sorted(k for k in slips if table.points[k] in evidence.read and table.points[k] not in evidence.again)
    sound = table.spread.take(np.zeros(len(cases), dtype=int), read)
    mean, deviation = conditioned(table, evidence, cases, sound, [table.points[k][0] for k in read])
    for column, k in enumerate(read):
        value, slipped = evidence.read[table.points[k]], table.slip_at[cases] == k
        meter, quantity = table.build.meter, table.build.point[table.points[k][1]].quantity
        same = _DRIFT * abs(value) + float(resolution(meter, quantity, np.array(value)))
        candidate = _at_point(table, k, "again", "Read {} once more")
        yield Foretold(
            candidate, np.where(slipped, mean[:, column], value), np.where(slipped, deviation[:, column], same)
        )


def unpowered(table: Table, evidence: Evidence, cases: np.ndarray) -> Iterator[Foretold]:
    """Ohms with hands in, of those that were not read."""
    cold = cold_table(table.build, table.stage)
    mean, deviation = cold.read(table, cases)
    for k, candidate in enumerate(cold.candidates):
        if (candidate.red, candidate.black) not in evidence.ohms:
            yield Foretold(candidate, mean[:, k], deviation[:, k])


def after_exchange(table: Table, evidence: Evidence, cases: np.ndarray) -> Iterator[Foretold]:
    """The powered points of the stage after each exchange that it bears."""
    for by in exchanges(table.build, table.stage):
        mean, deviation = exchange_read(table, evidence, cases, by)
        for column, k in enumerate(_powered(table)):
            if (by.id, table.points[k][1]) not in evidence.exchanged:
                candidate = _at_point(table, k, "exchange", f"Without power {by.says}, then read {{}}")
                yield Foretold(candidate.after(by.id), mean[:, column], deviation[:, column])


def exchange_read(table: Table, evidence: Evidence, cases: np.ndarray, by: Exchange) -> tuple[np.ndarray, np.ndarray]:
    """Mean and deviation (cases, powered points of the stage) after an exchange, of this very build."""
    changes = [table.change_of(case) for case in cases]
    kinds = [table.faults[table.of[case]].kind if table.of[case] >= 0 else "" for case in cases]
    known = np.array([by.tells_of(kind) for kind in kinds])
    kept = _kept(table.build, table.stage, by)
    keys = [(change or _NO_CHANGE, kind) for change, kind in zip(changes, kinds, strict=True)]
    wanted = list(dict.fromkeys(key for key, told in zip(keys, known, strict=True) if told and key not in kept))
    if wanted:
        circuit = ground(table.build, table.stage).circuit
        made = [exchanged(table.build, circuit, change, kind, by) for change, kind in wanted]
        read, least, _ = with_changes(table.build, table.stage, made)
        kept |= {key: (read[number], least[number]) for number, key in enumerate(wanted)}
    rows = [kept[key] if told else next(iter(kept.values())) for key, told in zip(keys, known, strict=True)]
    solved = spread_of(table, *(np.array(each) for each in zip(*rows, strict=True)))
    columns = [table.here.index(k) for k in _powered(table)]
    spread = solved.take(slice(None), columns)
    spread.mean[~known] = np.nan
    return conditioned(table, evidence, cases, spread, [table.stage] * len(columns))


@lru_cache(maxsize=64)
def _kept(build: Build, stage: str, by: Exchange) -> dict[tuple[Change, str], tuple[np.ndarray, np.ndarray]]:
    """What was solved of an exchange so far: readings (builds, points) and their least spread (points,) by change."""
    return {}


def conditioned(
    table: Table, evidence: Evidence, cases: np.ndarray, ahead: Spread, stages: list[str]
) -> tuple[np.ndarray, np.ndarray]:
    """Mean and deviation (cases, points) of further readings `ahead` of this very build, in each case."""
    here, y = was_read(table, evidence)
    mean, slope, _ = foreseen(table, evidence, here, cases)
    further_mean, further_slope, _ = at_mains(table, evidence, ahead, stages)
    found = np.empty((2, *ahead.mean.shape))
    for row, case in enumerate(cases):
        known = np.isfinite(mean[row])
        a, own = slope[row, known], table.spread.own[case, here][known]
        precision = np.eye(a.shape[1]) + (a / own[:, None] ** 2).T @ a
        spread, further = np.linalg.inv(precision), further_slope[row]
        latent = spread @ (a.T @ ((y - mean[row])[known] / own**2))
        found[0, row] = further_mean[row] + further @ latent
        found[1, row] = np.sqrt(ahead.own[row] ** 2 + np.einsum("kl,lm,km->k", further, spread, further))
    return found[0], found[1]


def powered_points(table: Table) -> list[str]:
    """The points of the last stage that are read with the power on."""
    return [table.points[k][1] for k in _powered(table)]


def _powered(table: Table) -> list[int]:
    return [k for k in table.here if table.build.point[table.points[k][1]].quantity != "resistance"]


def _at_point(table: Table, k: int, kind: str, says: str) -> Candidate:
    stage, name = table.points[k]
    point = table.build.point[name]
    return Candidate(kind, stage, name, says.format(point.name), point.red, point.black)
