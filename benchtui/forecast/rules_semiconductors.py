"""Rules of the review for zener diodes, transistors and gas regulator valves."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Fet, Transistor, Zener
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import StageStates, first, of_limit
from benchtui.forecast.rules_parts import RATING, watts_judged


def semiconductor_watts(states: StageStates) -> Iterator[Finding]:
    for name, part in _fitted(states):
        yield from watts_judged(states, name, part.watts, "semiconductor-watts")


def transistor_volts(states: StageStates) -> Iterator[Finding]:
    for name, part in _fitted(states):
        if isinstance(part, Zener) or part.volts is None:
            continue
        for when, found in states.at_high_mains:
            volts = abs(first(np.nan_to_num(found.dc(part.nodes[0], part.nodes[2]))))
            if volts > part.volts:
                text = f"{name}, {when} at the highest mains: {of_limit(volts, part.volts, 'V')}"
                yield states.find("stop", name, "transistor-volts", text, volts, part.volts, RATING)


def transistor_amps(states: StageStates) -> Iterator[Finding]:
    for name, part in _fitted(states):
        if not isinstance(part, Transistor) or part.amps is None:
            continue
        amps = max(abs(first(found.current(name))) for _, found in states.at_high_mains)
        if amps > part.amps:
            text = f"{name} at the highest mains: {of_limit(amps, part.amps, 'A')}"
            yield states.find("stop", name, "transistor-amps", text, amps, part.amps, RATING)


def regulator_current(states: StageStates) -> Iterator[Finding]:
    """A gas regulator holds its volts between two currents: under the lesser it goes out, over the greater it wears."""
    for section in sections(states.build):
        if section.kind != "regulator" or section.id not in states.rated.system.network.device_names:
            continue
        least, most = (section.ratings.get(name) for name in ("least_a", "cathode_a"))
        for when, found in (("hot at rated mains", states.rated), *states.at_high_mains):
            amps = abs(first(found.current(section.id)))
            if most is not None and amps > most.value:
                text = f"{section.id}, {when}: {of_limit(amps, most.value, 'A')}"
                yield states.find("warn", section.id, "regulator-current", text, amps, most.value, most.source)
            elif least is not None and when.startswith("hot") and amps < least.value:
                text = f"{section.id}, {when}: {of_limit(amps, least.value, 'A')} that it needs to hold its volts"
                yield states.find("warn", section.id, "regulator-current", text, amps, least.value, least.source)


def _fitted(states: StageStates) -> Iterator[tuple[str, Zener | Fet | Transistor]]:
    for table in ("zener", "fet", "transistor"):
        for name, part in getattr(states.build, table).items():
            if name in states.state.fitted:
                yield name, part
