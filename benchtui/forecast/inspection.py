"""The resistance readings that show every single wiring slip of a stage, and the slips that none of them shows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import resistances
from benchtui.assemble.state import State, stage_state
from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build, Meter
from benchtui.circuit.elements import CHASSIS, Value
from benchtui.circuit.resistance import Unpowered, paths, unpowered
from benchtui.forecast.clip import Ends
from benchtui.forecast.covering import covering
from benchtui.forecast.meter import resolution
from benchtui.forecast.ohms import OhmsBench, expect_between, expect_ohms, ohms_bench
from benchtui.forecast.pins import Pin, stage_before, wired_pins
from benchtui.forecast.probing import (
    Reading,
    closing_reading,
    further_readings,
    own_readings,
    pin_readings,
    rail_readings,
)
from benchtui.forecast.slips import Slip, Work, slips
from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Expectation


@dataclass(frozen=True)
class Chosen:
    """A reading of the set, what it should be, and the slips that no reading before it shows."""

    reading: Reading
    expectation: Expectation
    adds: tuple[str, ...]


@dataclass(frozen=True)
class Unseen:
    """A slip that no reading shows: what it is, and why, with what to do instead."""

    id: str
    says: str
    why: str


@dataclass(frozen=True)
class Inspection:
    """The unpowered readings of `stage`: those that are made anyway, then those needed beside them.

    Made anyway are the build file's own points and the closing's. `count` is how many slips were thought of.
    """

    stage: str
    count: int
    anyway: tuple[Chosen, ...]
    further: tuple[Chosen, ...]
    unseen: tuple[Unseen, ...]

    @property
    def shown(self) -> int:
        """How many slips show in the readings."""
        return self.count - len(self.unseen)

    @property
    def unseen_why(self) -> tuple[str, ...]:
        """One sentence a reason, with all the slips that it hides."""
        by = groupby(sorted(self.unseen, key=lambda slip: slip.why), key=lambda slip: slip.why)
        return tuple(f"{'; '.join(slip.says for slip in slips)}: {why}" for why, slips in by)


@lru_cache(maxsize=32)
def inspection(build: Build, stage: str) -> Inspection:
    """The readings for `stage`, with hands in and the bleed clip where it is then."""
    found = weighed(build, stage)
    free = sum(reading.kind != "computed" for reading in found.readings)
    rows = [*range(free), *covering(found.shows, free)]
    known = np.zeros(len(found.slips), dtype=bool)
    chosen = []
    for row in rows:
        new = found.shows[row] & ~known
        known |= found.shows[row]
        adds = tuple(slip.says for slip, is_new in zip(found.slips, new, strict=True) if is_new)
        chosen.append(Chosen(found.readings[row], found.expected[row], adds))
    unseen = (_unseen(found, number) for number in np.flatnonzero(~known))
    return Inspection(stage, len(found.slips), tuple(chosen[:free]), tuple(chosen[free:]), tuple(unseen))


def expect_chosen(
    build: Build, stage: str, chosen: Iterable[Chosen], clips: tuple[Ends, ...]
) -> tuple[Expectation, ...]:
    """What the `chosen` readings should be with the bleed clip or the links across `clips`."""
    return _expected(ohms_bench(build, stage, clips=clips), [each.reading for each in chosen])


def _expected(bench: OhmsBench, readings: Sequence[Reading]) -> tuple[Expectation, ...]:
    bench.touch(probe.node for reading in readings for probe in (reading.red, reading.black))
    return tuple(expect_between(bench, each.id, each.red.node, each.black.node) for each in readings)


@dataclass(frozen=True, eq=False)
class Weighed:
    """Slips and readings of a stage: whether each shows each, (readings, slips); `least` and `most` ohms with the slip.

    Those made anyway come first. `sound` (readings, 2) are the same ohms without a slip.
    """

    slips: tuple[Slip, ...]
    readings: tuple[Reading, ...]
    expected: tuple[Expectation, ...]
    sound: np.ndarray
    least: np.ndarray
    most: np.ndarray
    shows: np.ndarray


@lru_cache(maxsize=4)
def weighed(build: Build, stage: str) -> Weighed:
    """What every reading of `stage` would be with every slip, and whether that can be told from a sound stage.

    It can where no reading with the slip, anywhere within all tolerances and the meter's error, lies in the window.
    """
    bench = ohms_bench(build, stage)
    work = work_of(build, stage, bench)
    made = (_NONE, *slips(work))
    found = [_point_rows(build, stage, bench), _closing_rows(build, stage)]
    found += [_computed_rows(build, bench, work)] if made[1:] else []
    readings = tuple(reading for rows in found for reading in rows.readings)
    expected = tuple(each for rows in found for each in rows.expected)
    spans = np.concatenate([_spans(build, work, made, rows) for rows in found], axis=1)
    least, most = spans[1:, :, 0].T, spans[1:, :, 1].T
    low, high = (np.array([getattr(each, end) for each in expected]).reshape(-1, 1) for end in ("low", "high"))
    return Weighed(made[1:], readings, expected, spans[0], least, most, (most < low) | (least > high))


@dataclass(frozen=True, eq=False)
class _Rows:
    """Readings with what they should be, and the state of the clip in which they are made."""

    state: State
    readings: tuple[Reading, ...]
    expected: tuple[Expectation, ...]


def _point_rows(build: Build, stage: str, bench: OhmsBench) -> _Rows:
    expected = {each.point: each for each in expect_ohms(build, stage)}
    readings = tuple(own_readings(build, stage, bench))
    return _Rows(bench.state, readings, tuple(expected[reading.id] for reading in readings))


def _closing_rows(build: Build, stage: str) -> _Rows:
    bench, reading = ohms_bench(build, stage, clips=()), closing_reading(build, stage)
    if reading is None:
        return _Rows(bench.state, (), ())
    return _Rows(bench.state, (reading,), (expect_between(bench, "HT to chassis", reading.red.node, CHASSIS),))


def _computed_rows(build: Build, bench: OhmsBench, work: Work) -> _Rows:
    readings = _readings(build, bench, work)
    return _Rows(bench.state, readings, _expected(bench, readings))


_NONE = Slip("none", "nothing is wrong")


def work_of(build: Build, stage: str, bench: OhmsBench) -> Work:
    """What `stage` wires, as the widest and narrowest of builds."""
    circuit = resistances(build, bench.state, _Ends())
    pins, before = wired_pins(build, stage, bench.nominal.nodes), stage_before(build, stage)
    there = unpowered(resistances(build, stage_state(build, before))).nodes if before else frozenset()
    earlier = wired_pins(build, before, there) if before else {}
    fitted = {listed.id: str(listed.path[0]) for listed in parts(build) if listed.part.stage == stage}
    for name, transformer in build.transformer.items():
        if fitted.keys() & transformer.windings.keys():
            fitted[f"{name}.primary"] = "primary"
    return Work(build, stage, circuit, fitted, pins, frozenset(pins) - frozenset(earlier))


def _readings(build: Build, bench: OhmsBench, work: Work) -> tuple[Reading, ...]:
    """All that can be made beside them, each pair of places once, with red where electrolytics want it."""
    found: dict[tuple[object, ...], Reading] = {}
    computed = [
        *pin_readings(work.pins),
        *rail_readings(build, bench),
        *further_readings(build, bench, work.pins, work.fitted),
    ]
    for reading in computed:
        places = frozenset((probe.node, probe.pin) for probe in (reading.red, reading.black))
        if reading.red.node != reading.black.node:
            turned = bench.charging(reading.red.node, reading.black.node).plus == "black"
            found.setdefault(places, reading.turned if turned else reading)
    return tuple(found.values())


class _Ends(Draw):
    """Two builds: every value at one end of its tolerance, and at the other."""

    def __init__(self) -> None:
        super().__init__(2)

    def factor(self, part: str, parameter: str, tolerance: tuple[float, float]) -> Value:
        return 1.0 + np.array(tolerance)


def _spans(build: Build, work: Work, made: Sequence[Slip], rows: _Rows) -> np.ndarray:
    """What the meter may show, (slips, readings, 2) ohms at least and at most."""
    circuit = resistances(build, rows.state, _Ends())
    sound = {element.name: paths((element,)).extremes() for element in circuit.elements}
    spans = np.zeros((len(made), len(rows.readings), 2))
    for number, slip in enumerate(made if rows.readings else ()):
        kept = (each for name, each in sound.items() if name not in slip.without)
        wrong = Unpowered(*kept, paths(slip.put).extremes())
        spans[number] = [_span(build.meter, *_ends(wrong, slip.pins, reading)) for reading in rows.readings]
    return spans


def _ends(wrong: Unpowered, moved: Mapping[Pin, str], reading: Reading) -> tuple[float, float]:
    red, black = (moved.get(probe.pin, probe.node) for probe in (reading.red, reading.black))
    if red == black:
        return 0.0, 0.0
    if not {red, black} <= wrong.nodes:
        return np.inf, np.inf
    least, most = wrong.between(red, black)
    return float(least), float(most)


def _span(meter: Meter, least: float, most: float) -> tuple[float, float]:
    """What the meter may show between two values, its error and leads included."""
    if not np.isfinite(least):
        return least, most
    share, digits = meter.ohms
    last = digits * resolution(meter, "resistance", np.array([least, most]))
    return max(least * (1.0 - share) - last[0], 0.0), most * (1.0 + share) + last[1] + meter.lead_ohm


def _unseen(found: Weighed, number: int) -> Unseen:
    slip = found.slips[number]
    return Unseen(slip.id, slip.says, slip.hidden or _nearest(found, number))


def _nearest(found: Weighed, number: int) -> str:
    """The reading that comes nearest to showing the slip, by how far its middle moves in the width of its window."""
    with_it = np.stack([found.least[:, number], found.most[:, number]], axis=1)
    width = np.array([each.high - each.low for each in found.expected])
    with np.errstate(invalid="ignore"):
        moves = np.abs(with_it.sum(axis=1) - found.sound.sum(axis=1)) / np.maximum(width, 1e-9)
    moves = np.where(np.isfinite(moves), moves, 0.0)
    if not (moves > _NOTHING).any():
        return "no reading changes by it: look"
    best = int(moves.argmax())
    least, most, low, high = (show(float(ohm), "ohm", 3) for ohm in (*with_it[best], *found.sound[best]))
    name = found.readings[best].name
    return f"the tolerances hide it: {name} may read {least} to {most} with it, {low} to {high} without"


_NOTHING = 0.02
"""A reading that moves by less than this share of its window has not moved."""
