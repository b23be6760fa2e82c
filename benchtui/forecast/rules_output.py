"""Rules of the review for what loads the output valves."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from benchtui.buildfile.models import OutputTransformer
from benchtui.circuit.elements import Circuit
from benchtui.circuit.resistance import resistance
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import StageStates, Walk, first
from benchtui.forecast.rules_bias import Powered, powered_output
from benchtui.parts.guide import guide
from benchtui.quantities.show import show

_STOPPER_OHM = 1e3
"""Up to this a resistor between two electrodes is a stopper: they work as one."""


def loads(walk: Walk) -> Iterator[Finding]:
    """Output valves work into a load from their first power on, and into a guard resistor if it falls off."""
    valves = list(powered_output(walk))
    for name, transformer in walk.build.output_transformer.items():
        driving = [valve for valve in valves if _drives(valve, name, transformer)]
        if driving:
            yield from _load(walk, driving[0].states, name, transformer)
            yield from _guard(walk, driving, name, transformer)


def _load(walk: Walk, states: StageStates, name: str, transformer: OutputTransformer) -> Iterator[Finding]:
    """A part under [load] across the secondary, or nobody is asked whether the load is on."""
    there = (load for ref, load in walk.build.load.items() if ref in states.state.fitted)
    wired = Circuit(_without(states, name, loads=True), states.rated.circuit.mains_hz)
    if any(_same(wired, load.nodes, transformer.secondary) for load in there):
        return
    text = (
        f"{name} has no load across its secondary when its valves first come under HT: a dummy load under [load], of "
        f"{show(transformer.load, 'ohm')} and fitted by this stage, is wanted"
    )
    yield states.find(walk.grade("warn"), name, "load-missing", text, None, None, "common practice, no source")


def _same(circuit: Circuit, one: tuple[str, str], other: tuple[str, str]) -> bool:
    return any(all(_ohm(circuit, a, b) < 1.0 for a, b in zip(one, ends, strict=True)) for ends in (other, other[::-1]))


def _guard(walk: Walk, driving: list[Powered], name: str, transformer: OutputTransformer) -> Iterator[Finding]:
    """Resistance across the secondary that stays when load and loudspeaker fall off."""
    share, states = guide("load.guard_share"), driving[0].states
    left = Circuit(_without(states, name, loads=True), states.rated.circuit.mains_hz)
    ohm, most = _ohm(left, *transformer.secondary), share.value * transformer.load
    if ohm <= most:
        return
    beam = next((valve for valve in driving if _works_as_pentode(valve, name)), None)
    left_with = f"{show(ohm, 'ohm', 3)} is" if np.isfinite(ohm) else "nothing is"
    text = (
        f"{name}: {left_with} left across its secondary if the load falls off; a guard resistor of "
        f"{show(10 * transformer.load, 'ohm')} to {show(most, 'ohm')}, rated for the full output, is wanted"
        + (", or the anodes swing to kilovolts and arc" if beam else "")
    )
    severity = walk.grade("warn") if beam else "note"
    yield states.find(severity, name, "load-guard", text, ohm if np.isfinite(ohm) else None, most, share.source)


def _drives(valve: Powered, name: str, transformer: OutputTransformer) -> bool:
    """Whether the valve's anode is at the transformer, behind a stopper at most."""
    wired = Circuit(_without(valve.states, name), valve.states.rated.circuit.mains_hz)
    return any(_ohm(wired, valve.section.nodes["anode"], anode) <= _STOPPER_OHM for anode in transformer.anodes)


def _works_as_pentode(valve: Powered, name: str) -> bool:
    """Whether the valve has a screen that is not tied to its anode."""
    screen = valve.section.nodes.get("screen")
    wired = Circuit(_without(valve.states, name), valve.states.rated.circuit.mains_hz)
    return screen is not None and not _ohm(wired, screen, valve.section.nodes["anode"]) <= _STOPPER_OHM


def _without(states: StageStates, transformer: str, *, loads: bool = False):
    """Elements of the stage's circuit but for the output transformer, and but for loads if `loads`."""
    out = {transformer, *(states.build.load if loads else ())}
    return tuple(element for element in states.rated.circuit.elements if element.name not in out)


def _ohm(circuit: Circuit, a: str, b: str) -> float:
    """Ohms of the linear network between two nodes; inf where one is not in the circuit."""
    if a == b:
        return 0.0
    try:
        return first(resistance(circuit, a, b))
    except KeyError:
        return np.inf
