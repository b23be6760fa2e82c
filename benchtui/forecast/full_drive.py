"""What valves and supply bear while a channel plays a sine at full power, beside their ratings.

Each channel is driven alone, so what a supply bears is told only where it feeds one. The level is that just before
clipping; ripple is left out, as in all that is driven.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from math import isfinite

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import SIGNAL
from benchtui.circuit.clipping import clipping
from benchtui.circuit.driven import COARSE_HARMONICS, Drive, Driven
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.forecast.review_state import StageStates, first
from benchtui.forecast.rules_fuses import fuse_amps, lasting_amps
from benchtui.forecast.rules_parts import RATING
from benchtui.forecast.rules_supply import rectifiers
from benchtui.forecast.run import highest_mains
from benchtui.forecast.signal_bench import OnTest, nominal_channel, on_test
from benchtui.forecast.signal_path import SignalPath, signal_paths

_VALVE = (("anode_w", "anode dissipation", "W"), ("screen_w", "screen dissipation", "W"),
          ("cathode_a", "mean cathode current", "A"))  # fmt: skip


@dataclass(frozen=True)
class Borne:
    """A rating, and what stands against it: `here` at some mains, `high` at the highest, in `unit`.

    `ceiling` is the limit at the highest mains where it is another one.
    """

    part: str
    quantity: str
    unit: str
    here: float
    high: float
    limit: float
    source: str
    ceiling: float | None = None


def borne(states: StageStates, mains_v: float | None = None) -> tuple[Borne, ...]:
    """Every rating that a sine at full power counts for, in a build whose signal stage is `states`.

    `here` is at `mains_v`; without one it is at the highest mains as well.
    """
    found, paths = [], signal_paths(states.build)
    for path in paths:
        high = driven_high(states.build, path)
        here = high if mains_v is None else driven_here(states.build, path, mains_v)
        if here is not None and high is not None:
            found += _valves(states.build, path, here, high)
            found += supply(states, here.supply, high.supply) if len(paths) == 1 else ()
    return tuple(each for each in found if isfinite(each.here) and isfinite(each.high))


def driven_here(build: Build, path: SignalPath, mains_v: float) -> Driven | None:
    """A channel just before it clips; None where it does not come to rest, or bends every sine."""
    return _driven(nominal_channel(build, path, mains_v, "closed"))


@lru_cache(maxsize=8)
def driven_high(build: Build, path: SignalPath) -> Driven | None:
    """The same at the highest mains, pots where rated mains had them trimmed."""
    rated = nominal_channel(build, path, None, "closed").operating
    if not rated.settled[0]:
        return None
    pots = {name: float(position[0]) for name, position in rated.pots.items()}
    top = replace(stage_state(build, SIGNAL, mains_v=highest_mains(build)), pots=pots, trimmed=frozenset())
    circuit = assemble(build, on_test(top, build, path, "closed"))
    return _driven(OnTest(build, path, operate(circuit, start=rated)))


def _driven(of: OnTest) -> Driven | None:
    if not (of.operating.settled[0] and of.stable[0]):
        return None
    found = clipping(Drive(of.operating, of.source, of.hz, harmonics=COARSE_HARMONICS), of.load)
    return found.driven if np.isfinite(found.output_v[0]) else None


def _valves(build: Build, path: SignalPath, here: Driven, high: Driven) -> Iterator[Borne]:
    own = {section.id for section, _ in path.small} | {section.id for section in path.output}
    for section in sections(build):
        for name, quantity, unit in _VALVE if section.id in own else ():
            rating = section.ratings.get(name)
            if rating is not None:
                both = (first(getattr(each.valve(section.id), name)) for each in (here, high))
                yield Borne(section.id, quantity, unit, *both, rating.value, rating.source, rating.ceiling)


def supply(states: StageStates, here: Operating, high: Operating) -> Iterator[Borne]:
    """Currents of windings, rectifiers (their peaks) and fuses, of the two solved states `here` and `high`."""
    build, present = states.build, here.system.network.linear_names
    for transformer in build.transformer.values():
        for name, winding in transformer.windings.items():
            if winding.amps and name in present:
                source = "estimated in the build file" if winding.estimated else RATING
                yield Borne(
                    name, "rms current", "A", first(here.rms(name)), first(high.rms(name)), winding.amps, source
                )
    for name, _, _, ratings in rectifiers(states):
        rating = ratings.get("peak_a")
        if rating is not None:
            both = [first(each.peak(name)) for each in (here, high)]
            if isfinite(both[0]):
                yield Borne(name, "peak current", "A", *both, rating.value, rating.source, rating.ceiling)
    for name, fuse in build.fuse.items():
        amps = [fuse_amps(build, each, name) for each in (here, high)]
        if amps[0] is not None and amps[1] is not None:
            yield Borne(name, "rms current", "A", amps[0], amps[1], *lasting_amps(fuse))
