"""The simulated amplifier without power: what an ohmmeter shows, its clip and links where they are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.circuit.resistance import Unpowered, paths
from benchtui.diagnosis.unpowered import OL_OHM
from benchtui.forecast.clip import clips_on
from benchtui.forecast.ohms import clipped
from benchtui.rehearsal.amplifier import meter_shows, state_of, unpowered_circuit
from benchtui.rehearsal.asked import Ohms


def ohms(build: Build, asked: Ohms) -> float:
    """Ohms as the meter shows them, inf for open; a node that nothing is at yet is open."""
    state = state_of(build, asked.amplifier, asked.stage, asked.pots)
    if asked.clips is None:
        bare = Unpowered(paths(unpowered_circuit(build, asked.amplifier, state).elements))
        state = clipped(
            build, asked.stage, state, bare, clips_on(build, asked.stage, linked=asked.linked, after=asked.after)
        )
    else:
        state = replace(state, clips=asked.clips)
    found = Unpowered(paths(unpowered_circuit(build, asked.amplifier, state).elements))
    value = float(found.between(asked.red, asked.black)[0]) if {asked.red, asked.black} <= found.nodes else np.inf
    return meter_shows(build, asked.amplifier.seed, "resistance", value, asked.at) if value < OL_OHM else np.inf
