"""The simulated amplifier whose feedback makes it oscillate: which channel does, and what is read at its load."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.circuit.driven import COARSE_HARMONICS
from benchtui.circuit.elements import CHASSIS, Circuit, Resistor
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.circuit.signal import stable
from benchtui.diagnosis.changes import OPEN_OHM, Change, changed
from benchtui.forecast.signal_bench import OnTest
from benchtui.forecast.signal_path import SignalPath, signal_paths
from benchtui.rehearsal.asked import Powered
from benchtui.rehearsal.bent import flattened
from benchtui.rehearsal.power import OnBench, steady


def howls(build: Build, powered: Powered) -> dict[str, float]:
    """True volts of the points across loads whose channel oscillates; nothing where all is at rest.

    As much as the channel gives without its feedback just before it clips: no steady oscillation is less, and one
    beyond it is by a few dB more. The meter is taken to follow, however high it is.
    """
    found = {}
    for path in _restless(build, powered):
        ends = {*build.load[path.load].nodes, CHASSIS}
        at = (n for n, p in build.point.items() if p.quantity in ("ac", "ripple") and {p.red, p.black} <= ends)
        found |= dict.fromkeys(at, howl_v(build, powered, path))
    return found


@lru_cache(maxsize=16)
def howl_v(build: Build, powered: Powered, path: SignalPath) -> float:
    """Volts rms at the load of a channel that oscillates."""
    settled = steady(build, powered, OnBench(path, "off"))
    if settled is None:
        return 0.0
    return float(np.nan_to_num(flattened(OnTest(build, path, settled.found), harmonics=COARSE_HARMONICS).output_v[0]))


@lru_cache(maxsize=16)
def _restless(build: Build, powered: Powered) -> tuple[SignalPath, ...]:
    """The channels whose loop is closed and does not come to rest."""
    settled = steady(build, powered)
    if settled is None:
        return ()
    closed = [path for path in signal_paths(build) if _closed(settled.circuit, path)]
    if not closed or stable(settled.found)[0]:
        return ()
    alone = [path for path in closed if stable(_opened(settled.found, settled.circuit, path))[0]]
    return tuple(alone or closed)


def _closed(circuit: Circuit, path: SignalPath) -> bool:
    return any(each.name == path.feedback for each in circuit.elements)


def _opened(found: Operating, circuit: Circuit, path: SignalPath) -> Operating:
    """The same with the lead of one channel off."""
    lead = next(each for each in circuit.elements if isinstance(each, Resistor) and each.name == path.feedback)
    off = Resistor(lead.name, lead.a, lead.b, OPEN_OHM)
    return operate(changed(circuit, Change({lead.name: off})), start=found, fine=False)
