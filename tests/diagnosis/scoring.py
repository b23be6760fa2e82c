"""How well faults are named on the records of the reference amplifiers, and a table of it.

python -m tests.diagnosis.scoring [a] [c]
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from benchtui.diagnosis.answer import stage_table
from benchtui.diagnosis.evidence import evidence_of
from benchtui.diagnosis.pairs import weigh_all
from benchtui.diagnosis.weigh import Weighed
from benchtui.forecast.given import Given
from tests.reference import amplifiers


def given(record: dict[str, Any]) -> Given:
    """The record as `diagnose` takes it."""
    blown = frozenset({"F1"}) if record.get("fuse_ht") == "blown" else frozenset()
    return Given(record["stage"], record["mains_v"], record["readings"], {}, blown)


@dataclass
class Score:
    """Counts over records. `tenths` is answers and right ones by the probability of the first, in tenths."""

    faults: int = 0
    first: int = 0
    three: int = 0
    sound: int = 0
    named: int = 0
    tenths: np.ndarray = field(default_factory=lambda: np.zeros((10, 2), dtype=int))
    missed: list[str] = field(default_factory=list)

    def fault(self, record: dict[str, Any], parts: list[str], probability: float) -> None:
        """Count a visible and settled fault, `parts` being named likeliest first."""
        right = {record["part"], *record["also"]}
        rank = next((k for k, part in enumerate(parts) if part in right), len(parts))
        self.faults += 1
        self.first += rank == 0
        self.three += rank < 3
        self.tenths[min(int(10 * probability), 9)] += (1, rank == 0)
        if rank >= 3:
            self.missed.append(f"{record['stage']} {record['part']}, {record['fault']}: {', '.join(parts[:3])}")


def score(name: str, every: int = 1) -> Score:
    """The score on amplifier `name`, or on one of `every` so many of its fault records."""
    build, found = amplifiers.build(name).build, Score()
    for record in amplifiers.faults(name)[::every]:
        if record["visible"] and record["settled"]:
            table, weighed = _weighed(build, record)
            order = np.argsort(-weighed.faults)
            parts = list(dict.fromkeys(table.faults[k].part for k in order[:30]))
            found.fault(record, parts, float(weighed.faults[order[0]]))
    for record in amplifiers.healthy(name):
        _, weighed = _weighed(build, record)
        found.sound += 1
        found.named += bool(weighed.faults.max() > 0.5)
    return found


def _weighed(build: Any, record: dict[str, Any]) -> tuple[Any, Weighed]:
    of = given(record)
    table = stage_table(build, of)
    return weigh_all(table, evidence_of(build, of))


def told(name: str, found: Score) -> str:
    """The score as lines of text."""
    lines = [
        f"{name}: {found.faults} visible faults, first {found.first / found.faults:.1%}, "
        f"among three {found.three / found.faults:.1%}; {found.sound} sound stages, a fault named in {found.named}",
        *(f"  {k / 10:.1f} to {(k + 1) / 10:.1f}: {right} of {n}" for k, (n, right) in enumerate(found.tenths) if n),
        *(f"  missed: {each}" for each in found.missed),
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    for each in sys.argv[1:] or amplifiers.NAMES:
        print(told(each, score(each)))
