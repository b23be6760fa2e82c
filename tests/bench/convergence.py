"""Does the engine always end: with an answer that Kirchhoff bears out, or with the node that is to blame.

    python -m tests.bench.convergence [COUNT] [SEED]

Solves COUNT (10,000) random plausible circuits (`tests/circuit/mutants.py`), sixteen at once, half from their sound
neighbour and half from nothing.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import starmap

import numpy as np

from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from tests.bench.sound import NAMES, made
from tests.circuit.kirchhoff import left_over
from tests.circuit.mutants import Mutant, mutants

SAMPLES = 16
BLOCKS = 40


@dataclass(frozen=True)
class Solved:
    """One mutant: what was done, seconds it took, how many samples settled, the worst left over, who is to blame."""

    what: str
    seconds: float
    settled: int
    left_over: float
    blamed: tuple[str, ...]
    nothing_false: bool


def solved(mutant: Mutant, *, from_sound: bool) -> Solved:
    """The mutant solved, from its sound neighbour or from nothing."""
    start = operate(mutant.sound) if from_sound else None
    before = time.process_time()
    found = operate(mutant.circuit, trims=mutant.trims, start=start)
    seconds = time.process_time() - before
    ok = found.settled
    with np.errstate(all="ignore"):
        left = left_over(found)
    return Solved(
        mutant.what,
        seconds,
        int(ok.sum()),
        float(left[ok].max(initial=0.0)),
        tuple(f"{node}" for node in found.blame if node is not None),
        _silent(found),
    )


def _silent(found: Operating) -> bool:
    """Whether what did not settle reads nothing, and names a node."""
    lost = ~found.settled
    nodes = list(found.system.network.nodes)
    named = all((node is None) == bool(ok) for node, ok in zip(found.blame, found.settled, strict=True))
    return named and all(np.isnan(found.dc(node, "0")[lost]).all() for node in nodes[:3])


def block(number: int, count: int, seed: int) -> list[Solved]:
    """`count` mutants of one block of the study."""
    builds = {name: made(name) for name in NAMES}
    rows = enumerate(mutants(builds, count, SAMPLES, seed + number))
    return list(starmap(lambda k, mutant: solved(mutant, from_sound=k % 2 == 0), rows))


def main(count: int, seed: int) -> None:
    """Prints what came of `count` circuits."""
    each = max(1, round(count / SAMPLES / BLOCKS))
    with ProcessPoolExecutor(2) as workers:
        rows = [row for found in workers.map(block, range(BLOCKS), [each] * BLOCKS, [seed] * BLOCKS) for row in found]
    circuits = SAMPLES * len(rows)
    settled = sum(row.settled for row in rows)
    slowest = max(rows, key=lambda row: row.seconds)
    worst = max(rows, key=lambda row: row.left_over)
    print(f"circuits {circuits}, settled {settled} ({100 * settled / circuits:.2f} %)")
    print(f"worst Kirchhoff residual {worst.left_over:.1e} of the largest current ({worst.what})")
    print(
        f"median {np.median([row.seconds for row in rows]) / SAMPLES:.3f} s a circuit, "
        f"slowest sixteen {slowest.seconds:.1f} s ({slowest.what})"
    )
    print(f"all others read nothing and name a node: {all(row.nothing_false for row in rows)}")
    print("blamed:", ", ".join(f"{name} {n}" for name, n in Counter(b for r in rows for b in r.blamed).most_common(12)))
    for row in sorted(rows, key=lambda row: row.settled)[:40]:
        if row.settled < SAMPLES:
            lost = f"{SAMPLES - row.settled} of {SAMPLES} lost"
            print(f"  {lost}, {row.seconds:.1f} s, {row.what}, blamed {', '.join(sorted(set(row.blamed)))}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
