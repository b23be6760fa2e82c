"""The simulated amplifier: one build drawn over every tolerance, with its mains, its meter and its fault."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble, resistances
from benchtui.assemble.state import State, stage_state
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import Circuit
from benchtui.circuit.stacking import picked
from benchtui.diagnosis.changes import Change, changed
from benchtui.diagnosis.exchanges import Exchange, exchanged
from benchtui.diagnosis.faults import faults
from benchtui.forecast.meter import shown
from benchtui.rehearsal.asked import Amplifier, Pots
from benchtui.rehearsal.phase import turned_over

#: Two builds are drawn: the nominal one, as always, and that of the rehearsal.
_BUILDS, _OWN = 2, np.array([1])

#: Share of the spread of mains that a rehearsal uses: at its very edge heaters of a sound build are past their limit.
_MAINS_SHARE = 0.6


def draw(seed: int) -> Draw:
    """The draw of a rehearsal; its second sample is the amplifier."""
    return Draw(_BUILDS, seed)


def mains_v(build: Build, seed: int) -> float:
    """Volts at the primary in this rehearsal."""
    spread = _MAINS_SHARE * build.mains.spread
    return float(build.mains.volts * draw(seed).factor("rehearsal", "mains", (-spread, spread))[1])


def state_of(build: Build, of: Amplifier, stage: str, pots: Pots = ()) -> State:
    """The state of a stage, its pots as they were turned."""
    state = stage_state(build, stage, mains_v=mains_v(build, of.seed), trimmed=False)
    return replace(state, pots=dict(pots))


def powered_circuit(build: Build, of: Amplifier, state: State, by: Exchange | None = None) -> Circuit:
    """The circuit (one sample) with its fault in, where its part is fitted, and with what is exchanged."""
    circuit = picked(assemble(build, state, draw(of.seed)), _OWN)
    if by is None:
        return _planted(build, circuit, of)
    change = change_of(build, circuit, of) or Change({})
    found = changed(circuit, exchanged(build, circuit, change, of.planted.kind if of.planted else "", by))
    return turned_over(found, of.exchanged)


def unpowered_circuit(build: Build, of: Amplifier, state: State) -> Circuit:
    """The same as an ohmmeter meets it."""
    return _planted(build, picked(resistances(build, state, draw(of.seed)), _OWN), of)


def change_of(build: Build, circuit: Circuit, of: Amplifier) -> Change | None:
    """What the planted fault changes in `circuit`; None where nothing is planted or its part is not fitted."""
    wanted = of.planted
    if wanted is None:
        return None
    id = (wanted.kind, wanted.part, wanted.says)
    found = next((fault for fault in faults(build, circuit) if fault.id == id), None)
    return None if found is None else found.changes[wanted.size]


def meter_shows(build: Build, seed: int, quantity: str, value: float, at: str) -> float:
    """A true value as the builder's meter shows it; `at` names the reading. Only direct volts have a sign."""
    if not np.isfinite(value):
        return float(value)
    found = float(shown(build.meter, quantity, np.full(_BUILDS, value), draw(seed), at)[1])
    return found if quantity == "dc" else max(found, 0.0)


def _planted(build: Build, circuit: Circuit, of: Amplifier) -> Circuit:
    change = change_of(build, circuit, of)
    return turned_over(circuit if change is None else changed(circuit, change), of.exchanged)
