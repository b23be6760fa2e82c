"""Which fault is planted: drawn by its weight among all that the build derives, and such that a reading shows it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from random import Random

import numpy as np

from benchtui.assemble.valves import sections
from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.diagnosis.faults import Fault, faults
from benchtui.forecast.clip import clip_ends
from benchtui.forecast.drawn import drawn_stage
from benchtui.forecast.run import SAMPLES, stage_run
from benchtui.forecast.signal import SignalForecast, expect_signal
from benchtui.parts.guide import value as guide
from benchtui.rehearsal.amplifier import mains_v, powered_circuit, state_of
from benchtui.rehearsal.asked import Amplifier, Ohms, Planted, Pots, Powered, Signal, Turned
from benchtui.rehearsal.phase import turns
from benchtui.rehearsal.power import turned
from benchtui.rehearsal.reading import reads
from benchtui.rehearsal.signal import with_signal
from benchtui.rehearsal.unpowered import ohms

#: So many are tried at most.
_MOST = 40

#: Share of its window's width by which a reading is to lie outside.
_WELL_OUTSIDE = 0.1

#: Weight of an output transformer that is the wrong way round: which ends are in phase nobody knows before it is tried.
_PHASE = 2.0

#: Turning one pot moves the others' readings, so they are gone over so often.
_PASSES = 2


def planted(build: Build, seed: int) -> Planted | None:
    """The fault of the rehearsal `seed`; None where none of those tried would show in a powered stage."""
    powered = [info.id for info in stages(build) if info.kind == "power"]
    if not powered:
        return None
    sound, rng = Amplifier(seed), Random(seed)
    whole = faults(build, powered_circuit(build, sound, state_of(build, sound, powered[-1])))
    named = {part.id for part in parts(build)} | {section.id for section in sections(build)} | build.transformer.keys()
    thought_of = tuple(each for each in whole if each.part in named and not _moves_pins(each))
    for fault in _drawn(build, thought_of, rng)[:_MOST]:
        chosen = Planted(fault.kind, fault.part, fault.says, rng.randrange(len(fault.changes)))
        of = Amplifier(seed, chosen)
        found = any(shows(build, of, stage) for stage in powered)
        if found and settles(build, of, powered) and all(lets_in(build, of, stage) for stage in powered):
            return chosen
    return None


def _moves_pins(fault: Fault) -> bool:
    """Are pins of a valve elsewhere with it? A probe that is said to go to a pin would have to follow it."""
    return any(change.pins for change in fault.changes)


def shows(build: Build, of: Amplifier, stage: str) -> bool:
    """Does a reading of the stage at full mains, pots trimmed as a sound build's are, lie well outside its window?

    Not where the fault has no steady state: whoever looks for it is to have readings. One build in a hundred lies just
    outside without a fault.
    """
    volts = mains_v(build, of.seed)
    run = stage_run(build, stage, mains_v=volts)
    if run.nominal.blame[0] is not None:
        return False
    powered = Powered(of, stage, pots=_trimmed(build, of, stage, run.targets))
    found = reads(build, powered)
    drawn = drawn_stage(build, stage, volts, True, SAMPLES)
    windows = dict(zip(drawn.points, drawn.windows, strict=True))
    known = [(value, *windows[name]) for name, value in found.points if name in windows]
    return found.solved and (_outside(known) or _outside(_with_signal(build, powered, volts)))


def _outside(known: Iterable[tuple[float, float, float]]) -> bool:
    """Does any of the readings lie well outside its low and high? Where an end counts alone, beside its own size."""
    for value, low, high in known:
        width = high - low if np.isfinite(high - low) else abs(low)
        if max(low - value, value - high) > _WELL_OUTSIDE * width:
            return True
    return False


def _with_signal(build: Build, powered: Powered, mains_v: float) -> Iterator[tuple[float, float, float]]:
    """What the signal points of the stage read, with their windows, and what one of them was to read by another.

    Without those around full power: they take long, and what shows there shows in the small, or in direct volts.
    """
    forecast = _signal(build, powered.stage, mains_v)
    read: dict[str, float] = {}
    for each in forecast.expectations:
        value = with_signal(build, Signal(powered, each.point, forecast.settings[each.point].input_v))
        if value is not None:
            read[each.point] = value
            yield value, each.low, each.high
    for held in forecast.related:
        if held.point in read and (other := read.get(held.other)):
            yield read[held.point] / other, held.low, held.high


@lru_cache(maxsize=16)
def _signal(build: Build, stage: str, mains_v: float) -> SignalForecast:
    return expect_signal(build, stage, mains_v=mains_v, small=True)


def settles(build: Build, of: Amplifier, powered: Sequence[str]) -> bool:
    """Has every stage a steady state, the last also behind a lamp, so that there is something to read?"""
    asked = [Powered(of, stage) for stage in powered]
    asked += [Powered(of, powered[-1], lamp_w) for lamp_w in build.bench.lamps[:1]]
    return all(reads(build, each).solved for each in asked)


def lets_in(build: Build, of: Amplifier, stage: str) -> bool:
    """Can the bleed clip be proved in the gates after `stage`? Else no hands could go in to mend.

    Less than its ohms is a short, which it is read alone for.
    """
    ends = clip_ends(build, stage)
    if ends is None:
        return True
    found, due = (ohms(build, Ohms(each, stage, *ends, "HT to chassis", (ends,))) for each in (of, of.mended))
    near = guide("gate.clip_near")
    return found <= due * near


def _trimmed(build: Build, of: Amplifier, stage: str, targets: Mapping[str, float]) -> Pots:
    """Where the pots stand once each was turned to its target, as far as it goes."""
    pots: dict[str, float] = {}
    for adjustment, volts in [*targets.items()] * _PASSES:
        position = turned(build, Turned(Powered(of, stage, pots=tuple(pots.items())), adjustment, volts))
        pots[build.adjust[adjustment].pot] = position
    return tuple(pots.items())


def _weight(build: Build, fault: Fault) -> float:
    """How often it is met beside the others."""
    return max(fault.weight, _PHASE) if turns(build, Planted(*fault.id)) else fault.weight


def _drawn(build: Build, of: tuple[Fault, ...], rng: Random) -> list[Fault]:
    """The faults in an order drawn by weight: the heavier comes the earlier."""
    weights = {fault.id: _weight(build, fault) for fault in of}
    keys = {id: rng.random() ** (1.0 / weight) for id, weight in weights.items() if weight > 0.0}
    return sorted((fault for fault in of if fault.id in keys), key=lambda fault: -keys[fault.id])
