"""How many readings it takes to find a fault by the readings that are suggested, and by readings taken at random.

A simulated builder has one drawn build with one fault in it, solved by our own engine, and its meter. The first reading
is the strangest one of the stage. Then those that are suggested are taken, or any that could have been, until the right
part is the first answer: the one at fault, or one that reads the same everywhere.

python -m tests.diagnosis.searching [a] [c] [pp-6v6] [pp-el34] [se-stereo] [stage ...]
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.buildfile.models import Build
from benchtui.circuit.stacking import picked
from benchtui.diagnosis.after import weigh_exchanges
from benchtui.diagnosis.answer import ranked
from benchtui.diagnosis.candidates import Candidate, exchange_in
from benchtui.diagnosis.changes import Change
from benchtui.diagnosis.cold import Cold, cold_table, point_of
from benchtui.diagnosis.exchanges import exchange_called, exchanged
from benchtui.diagnosis.faults import Fault, faults
from benchtui.diagnosis.further import next_reading
from benchtui.diagnosis.meter import whole_table
from benchtui.diagnosis.planted import planted
from benchtui.diagnosis.table import Table
from benchtui.diagnosis.unpowered import ohms_circuit, ohms_read
from benchtui.diagnosis.weigh import Evidence, weigh
from benchtui.forecast.drawn import read_points
from benchtui.forecast.meter import shown
from benchtui.forecast.run import solve_ensemble, stage_run
from tests.builds import recorded
from tests.reference import amplifiers

#: The drawn builds begin here, and which of them is met: not the nominal one.
SEED, BUILDS, MET = 7, 4, 2

#: Deviations from a sound build from which a first reading is taken for strange, and under which two faults read alike.
STRANGE, ALIKE = 3.0, 1.5

#: Searches at random of each fault.
AGAIN = 5

#: A reading that can be taken: volts at a (stage, point), or ohms between (red, black).
Place = tuple[str, tuple[str, str]]


@dataclass(frozen=True)
class Found:
    """Further readings after the first strange one: as suggested (`lost` of them at random, since nothing was), and
    at random, the mean of some searches; and the longest time of one answer in seconds.
    """

    fault: Fault
    suggested: int
    lost: int
    at_random: float
    seconds: float


@dataclass(frozen=True, eq=False)
class Bench:
    """A stage, what is known of it, and some faults as the meter shows them on the build that is met, last without.

    `blown` are the fuses that the builder finds blown with each. `after` reads all points of one of them after an
    exchange.
    """

    table: Table
    cold: Cold
    faults: tuple[Fault, ...]
    sizes: tuple[int, ...]
    reads: tuple[dict[Place, float], ...]
    blown: tuple[frozenset[str], ...]
    after: Callable[[int, str], dict[str, float]]


def bench(build: Build, stage: str, wanted: Callable[[Fault], bool] = lambda fault: True) -> Bench:
    """The stage with each wanted fault in, one size of it by lot."""
    rng, draw, run = np.random.default_rng(SEED), Draw(BUILDS, SEED), stage_run(build, stage)
    ensemble = solve_ensemble(run, draw, run.state)
    state = replace(run.state, pots=ensemble.pots, trimmed=frozenset())
    circuit = picked(assemble(build, state, draw), np.arange(BUILDS))
    found = tuple(fault for fault in faults(build, circuit) if wanted(fault))
    sizes = tuple(int(rng.integers(len(fault.changes))) for fault in found)
    changes = [fault.changes[size] for fault, size in zip(found, sizes, strict=True)] + [Change({})]
    table, cold = whole_table(build, stage), cold_table(build, stage)
    listed = {name: build.point[name] for _, name in table.points if build.point[name].quantity != "resistance"}
    solved = planted(build, circuit, changes, listed, ensemble)
    volts = solved.values
    blown = [{name for name, out in solved.blown.items() if out[number, MET]} for number in range(len(changes))]
    for fault, out in zip(found, blown, strict=False):
        out |= {fault.part} if fault.kind == "fuse-open" else set()

    @cache
    def after(number: int, exchange: str) -> dict[str, float]:
        by = exchange_called(build, stage, exchange)
        change = exchanged(build, circuit, changes[number], found[number].kind, by)
        row = planted(build, circuit, [change], listed, ensemble).values[0]
        return {name: value for k, name in enumerate(listed) if np.isfinite(value := shows(name, row[:, k]))}

    fine, coarse = (read_points(build, of, listed)[0] for of in (run.nominal, ensemble))
    asked = {each.point: point_of(each) for each in cold.candidates}
    ohms = ohms_read(build, ohms_circuit(build, stage_state(build, stage), stage, draw), changes, asked, draw, BUILDS)
    column = {name: k for k, name in enumerate(listed)}

    def shows(name: str, value_v: np.ndarray) -> float:
        k, quantity = column[name], listed[name].quantity
        share = fine[k] / coarse[k] if quantity != "dc" and coarse[k] else 1.0
        return float(shown(build.meter, quantity, share * value_v, draw, name)[MET])

    reads = []
    for number in range(len(changes)):
        read: dict[Place, float] = {}
        for name, k in column.items():
            if np.isfinite(value := shows(name, volts[number, :, k])):
                read["volts", (stage, name)] = value
        for k, each in enumerate(cold.candidates):
            read["ohms", (each.red, each.black)] = float(ohms[number, MET, k])
        reads.append(read)
    return Bench(table, cold, found, sizes, tuple(reads), tuple(map(frozenset, blown)), after)


def search(of: Bench, number: int) -> Found | None:
    """The search for one of the faults; None where its strangest reading is not strange."""
    first = _strangest(of, of.reads[number])
    if first is None:
        return None
    right = alike(of, number)
    suggested, lost, seconds = _follow(of, number, first, right)
    again = [_random(of, number, first, right, np.random.default_rng([SEED, number, k])) for k in range(AGAIN)]
    return Found(of.faults[number], suggested, lost, float(np.mean(again)), seconds)


def alike(of: Bench, number: int) -> frozenset[str]:
    """The parts with a fault that reads as this one does everywhere, as far as the spread of builds lets one tell."""
    table, cold, fault = of.table, of.cold, of.faults[number]
    own = next(k for k, each in enumerate(table.faults) if each.id == fault.id)
    case = np.flatnonzero(table.of == own)[of.sizes[number]]
    mean, deviation = table.spread.mean, np.sqrt(table.spread.own**2 + (table.spread.slope**2).sum(axis=2))
    ohms, ohms_deviation = cold.read(table, np.arange(len(table.of)))
    mean = np.concatenate([mean, ohms], axis=1)
    deviation = np.concatenate([deviation, ohms_deviation], axis=1)
    known = np.isfinite(mean)
    with np.errstate(invalid="ignore"):
        near = np.abs(mean - mean[case]) < ALIKE * np.hypot(deviation, deviation[case])
    same = ((near & known & known[case]) | (~known & ~known[case])).all(axis=1)
    return frozenset(table.faults[k].part for k in table.of[same] if k >= 0) | {fault.part}


def _strangest(of: Bench, reads: dict[Place, float]) -> Place | None:
    """The reading in volts that is furthest from a sound build's, if it is strange, and by the fault."""
    spread, off, moved = of.table.spread, {}, {}
    for k, point in enumerate(of.table.points):
        place = "volts", point
        if place in reads and place in of.reads[-1]:
            deviation = np.sqrt(spread.own[0, k] ** 2 + (spread.slope[0, k] ** 2).sum())
            off[place] = abs(reads[place] - spread.mean[0, k]) / deviation
            moved[place] = abs(reads[place] - of.reads[-1][place]) / deviation
    first = max(off, key=off.__getitem__, default=None)
    return first if first is not None and min(off[first], moved[first]) > STRANGE else None


def _evidence(of: Bench, number: int, places: list[Place]) -> Evidence:
    read = {where: of.reads[number][kind, where] for kind, where in places if kind == "volts"}
    ohms = {where: of.reads[number][kind, where] for kind, where in places if kind == "ohms"}
    return Evidence(read, {of.table.stage: of.table.build.mains.volts}, of.blown[number], ohms)


def _first(of: Bench, evidence: Evidence) -> str | None:
    return ranked(of.table, evidence, weigh(of.table, evidence))[0].part


def _follow(of: Bench, number: int, first: Place, right: frozenset[str]) -> tuple[int, int, float]:
    """Readings taken as suggested, how many of them by lot because nothing was, and the slowest answer in seconds."""
    places, lost, slowest = [first], 0, 0.0
    again: set[tuple[str, str]] = set()
    after: dict[tuple[str, str], float] = {}
    rng = np.random.default_rng([SEED, number])
    while True:
        begin = time.perf_counter()
        evidence = replace(_evidence(of, number, places), again=frozenset(again), exchanged=after)
        weighed = weigh(of.table, evidence)
        weighed = weigh_exchanges(of.table, evidence, weighed) if after else weighed
        best, taken = ranked(of.table, evidence, weighed)[0].part, len(places) + len(again) + len(after) - 1
        if best in right or len(places) == len(of.reads[number]):
            return taken, lost, max(slowest, time.perf_counter() - begin)
        further = next_reading(of.table, evidence, weighed)
        slowest = max(slowest, time.perf_counter() - begin)
        by = further.candidate if further else None
        if by is not None and by.kind == "again":
            again.add((by.state, by.point))
        elif by is not None and by.kind == "exchange" and by.point in (read := of.after(number, exchange_in(by.state))):
            after = {**after, (exchange_in(by.state), by.point): read[by.point]}
        elif by is not None and (place := _place(by)) in of.reads[number]:
            places.append(place)
        else:
            left = [each for each in of.reads[number] if each not in places]
            places.append(left[rng.integers(len(left))])
            lost += 1


def _place(candidate: Candidate) -> Place:
    if candidate.kind == "live":
        return "volts", (candidate.state, candidate.point)
    return "ohms", (candidate.red, candidate.black)


def _random(of: Bench, number: int, first: Place, right: frozenset[str], rng: np.random.Generator) -> int:
    left = [place for place in of.reads[number] if place != first]
    places = [first, *(left[k] for k in rng.permutation(len(left)))]
    for count in range(1, len(places) + 1):
        if _first(of, _evidence(of, number, places[:count])) in right:
            return count - 1
    return len(places) - 1


def told(name: str, stage: str, found: list[Found]) -> str:
    """The searches of a stage as text."""
    suggested, lost = sum(each.suggested for each in found), sum(each.lost for each in found)
    at_random = sum(each.at_random for each in found)
    lines = [
        f"{name} {stage}: {len(found)} faults; suggested {suggested / len(found):.2f} readings each ({lost} of "
        f"{suggested} by lot), at random {at_random / len(found):.2f}, ratio {suggested / max(at_random, 0.1):.2f}; "
        f"at once {sum(each.suggested == 0 for each in found)}; slowest answer {max(e.seconds for e in found):.3f} s"
    ]
    worst = sorted(found, key=lambda each: each.at_random - each.suggested)[:12]
    lines += [
        f"  {each.fault.kind} {each.fault.part}: suggested {each.suggested} ({each.lost}), random {each.at_random:.1f}"
        for each in worst
        if each.suggested >= each.at_random > 0 or each.suggested > 4
    ]
    return "\n".join(lines)


def searched(build: Build, stage: str, wanted: Callable[[Fault], bool] = lambda fault: True) -> list[Found]:
    """Every search of a stage whose first reading is strange."""
    of = bench(build, stage, wanted)
    found = (search(of, number) for number in range(len(of.faults)))
    return [each for each in found if each is not None]


if __name__ == "__main__":
    known = (*amplifiers.NAMES, *recorded.NAMES)
    names = [each for each in sys.argv[1:] if each in known] or list(amplifiers.NAMES)
    stages = [each for each in sys.argv[1:] if each not in known] or ["supply", "output", "driver"]
    for name in names:
        build = (amplifiers.build if name in amplifiers.NAMES else recorded.build)(name).build
        for stage in stages:
            print(told(name, stage, searched(build, stage)), flush=True)
