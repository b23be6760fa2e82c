"""Groups of parts whose faults read the same at every point of a stage, so that only other readings tell them apart.

python -m tests.diagnosis.groups [a] [c] [pp-6v6] [pp-el34] [se-stereo] [stage ...]
"""

from __future__ import annotations

import sys

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.diagnosis.table import fault_table
from tests.builds import recorded
from tests.reference import amplifiers

#: Deviations from a sound build from which a fault shows, and under which two of them read alike.
SHOWN, ALIKE = 3.0, 1.5


def groups(build: Build, stage: str) -> list[tuple[str, ...]]:
    """Parts, largest groups first, each with a fault that shows and reads as one of every other part of its group."""
    table = fault_table(build, stage)
    mean = table.spread.mean
    deviation = np.sqrt(table.spread.own**2 + (table.spread.slope**2).sum(axis=2))
    with np.errstate(invalid="ignore"):
        shown = (np.abs(mean - mean[0]) / np.hypot(deviation, deviation[0]) > SHOWN).any(axis=1)
    found: dict[frozenset[str], None] = {}
    for case in np.flatnonzero(shown):
        known = np.isfinite(mean[case])
        with np.errstate(invalid="ignore"):
            near = np.abs(mean - mean[case]) < ALIKE * np.hypot(deviation, deviation[case])
        same = shown & ((near & known) | (~np.isfinite(mean) & ~known)).all(axis=1)
        parts = frozenset(table.faults[k].part for k in table.of[same])
        if len(parts) > 1:
            found[parts] = None
    largest = [group for group in found if not any(group < other for other in found)]
    return sorted((tuple(sorted(group)) for group in largest), key=lambda group: (-len(group), group))


if __name__ == "__main__":
    known = (*amplifiers.NAMES, *recorded.NAMES)
    names = [each for each in sys.argv[1:] if each in known] or list(amplifiers.NAMES)
    stages = [each for each in sys.argv[1:] if each not in known] or ["supply", "output", "driver"]
    for name in names:
        build = (amplifiers.build if name in amplifiers.NAMES else recorded.build)(name).build
        for stage in stages:
            print(f"{name} {stage}: {'; '.join(' '.join(group) for group in groups(build, stage))}", flush=True)
