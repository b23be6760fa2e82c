"""Faults weighed by what was read after an exchange, on top of what was read before it."""

from __future__ import annotations

import numpy as np

from benchtui.diagnosis.exchanges import exchange_called
from benchtui.diagnosis.foretold import exchange_read, powered_points
from benchtui.diagnosis.table import Table
from benchtui.diagnosis.weigh import Evidence, Weighed, reading_range, tailed, weighed_by

#: Cases that are solved after an exchange: these many, each of at least this probability before it.
_MOST_CASES, _LEAST_SHARE = 48, 1e-4


def weigh_exchanges(table: Table, evidence: Evidence, weighed: Weighed) -> Weighed:
    """The posterior with the readings after exchanges; what was out of the question before stays so."""
    with np.errstate(divide="ignore"):
        case, unknown = np.log(weighed.cases), float(np.log(weighed.unknown))
    order = np.argsort(-weighed.cases)[:_MOST_CASES]
    few = order[weighed.cases[order] > _LEAST_SHARE]
    for id in dict.fromkeys(id for id, _ in evidence.exchanged):
        by, points = exchange_called(table.build, table.stage, id), powered_points(table)
        read = [k for k, point in enumerate(points) if (id, point) in evidence.exchanged]
        y = np.array([evidence.exchanged[id, points[k]] for k in read])
        mean, deviation = (each[:, read] for each in exchange_read(table, evidence, few, by))
        columns = [table.points.index((table.stage, points[k])) for k in read]
        anywhere = -np.log(reading_range(table, columns))
        with np.errstate(invalid="ignore"):
            density = np.where(np.isfinite(mean), tailed((y - mean) / deviation) - np.log(deviation), anywhere)
        told = np.full(len(case), anywhere.sum())
        told[few] = density.sum(axis=1)
        case, unknown = case + told, unknown + float(anywhere.sum())
    return weighed_by(table, case, unknown)
