"""The simulated amplifier with the power on: where it settles, what its fuses do, how the lamp glows, its pots."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.circuit.elements import Capacitor, Circuit, MainsTransformer
from benchtui.circuit.operate import Trim, operate
from benchtui.circuit.operating import Operating
from benchtui.diagnosis.changes import OPEN_OHM
from benchtui.diagnosis.exchanges import exchange_called
from benchtui.diagnosis.heating import warmed
from benchtui.diagnosis.planted import Followed, follows, fuses_in
from benchtui.forecast.lamp import BehindLamp, through_lamp
from benchtui.forecast.signal_bench import on_test
from benchtui.forecast.signal_path import SignalPath
from benchtui.forecast.trim import ht_point
from benchtui.rehearsal.amplifier import meter_shows, powered_circuit, state_of
from benchtui.rehearsal.asked import Powered, Turned

#: The capacitance by which the fall at a point is followed where no capacitor is: no part of a build is called so.
HT_PROBE, _PROBE_FARAD = "the meter on HT", 1e-13

#: How often what follows of a fault may have consequences of its own.
_TURNS = 3


@dataclass(frozen=True, eq=False)
class Steady:
    """A steady state (one sample), the circuit with all that followed of its fault, the fuses blown, and the lamp."""

    found: Operating
    circuit: Circuit
    blown: tuple[str, ...]
    lamp: BehindLamp | None = None


@dataclass(frozen=True)
class OnBench:
    """A generator at the input of a channel, its volume up; the feedback lead "off", "tried" or "closed"."""

    path: SignalPath
    lead: str


@lru_cache(maxsize=32)
def steady(build: Build, asked: Powered, test: OnBench | None = None) -> Steady | None:
    """Where the amplifier settles; None where that cannot be told."""
    state = state_of(build, asked.amplifier, asked.stage, asked.pots)
    if test is not None:
        state = on_test(state, build, test.path, test.lead)
        if test.lead == "off":  # also where the stage has it on
            state = replace(state, leads=dict.fromkeys(filter(None, [test.path.feedback]), OPEN_OHM))
    by = exchange_called(build, asked.stage, asked.exchange) if asked.exchange else None
    whole = _with_probe(build, asked.stage, powered_circuit(build, asked.amplifier, state, by))
    heated = warmed(build, whole)
    followed: Followed | None = Followed.nothing(fuses_in(build, whole), heated, 1)
    settled = None
    for _ in range(_TURNS):
        if followed is None:
            break
        last = followed
        lamp, found = None, None
        if asked.lamp_w is not None:
            lamp = _behind(build, asked.lamp_w, last.circuit(whole))
            found = lamp.found if lamp is not None else None
        else:
            found = operate(last.circuit(whole))
        if found is None or not found.settled.all():
            return None
        blown = tuple(name for name, out in last.blown.items() if out.any())
        settled = Steady(found, found.circuit, blown, lamp)
        followed = follows(build, found, last, heated)
    if settled is None or settled.lamp is None:
        return settled
    found = operate(settled.circuit, start=settled.found)  # now as fine as a reading is
    return replace(settled, found=found) if found.settled.all() else None


def _behind(build: Build, lamp_w: float, circuit: Circuit) -> BehindLamp | None:
    """The circuit behind a lamp of so many watts, which stands before each primary."""

    def limited(ohm: np.ndarray) -> Circuit:
        elements = (
            replace(each, primary_ohm=each.primary_ohm + ohm) if isinstance(each, MainsTransformer) else each
            for each in circuit.elements
        )
        return Circuit(tuple(elements), circuit.mains_hz)

    return through_lamp(build, lamp_w, limited, samples=1, fine=False)


def _with_probe(build: Build, stage: str, circuit: Circuit) -> Circuit:
    """A capacitance too small to matter at the point that reads HT, by which its fall is followed."""
    id = ht_point(build, stage)
    if id is None:
        return circuit
    point = build.point[id]
    return Circuit((*circuit.elements, Capacitor(HT_PROBE, point.red, point.black, _PROBE_FARAD)), circuit.mains_hz)


def turned(build: Build, asked: Turned) -> float:
    """The position (0 to 1) of a pot that was turned until the meter showed what is wanted."""
    adjustment = build.adjust[asked.adjustment]
    now = dict(asked.powered.pots).get(adjustment.pot, build.pot[adjustment.pot].position)
    settled = steady(build, asked.powered)
    if settled is None or adjustment.pot not in settled.found.system.network.tracks:
        return now
    point = build.point[adjustment.point]
    shows = meter_shows(build, asked.powered.amplifier.seed, "dc", asked.wanted_v, adjustment.point)
    true_v = asked.wanted_v * asked.wanted_v / shows if shows else asked.wanted_v
    trim = Trim(adjustment.pot, point.red, point.black, true_v, build.meter.input)
    found = operate(settled.circuit, trims=[trim], start=settled.found)
    return float(found.pots[adjustment.pot][0]) if found.settled.all() else now
