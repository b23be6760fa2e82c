"""What is left over of Kirchhoff's first law at a solution, from the elements' own laws and nothing of the solver's.

Only node volts, pots' positions and the rectifiers' waves are taken from the solution. The currents are summed element
by element, so that a mistake in branches, stamps or elimination shows.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from benchtui.circuit.branches import COIL_DC_SIEMENS, LEAST_OHM
from benchtui.circuit.dc import FORMS
from benchtui.circuit.elements import (
    CHASSIS,
    Capacitor,
    Choke,
    Diode,
    Element,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Regulator,
    Resistor,
    Transistor,
    Valve,
    Winding,
)
from benchtui.circuit.network import DARK_SIEMENS, RECTIFIER_LEAK_SIEMENS
from benchtui.circuit.operating import Operating
from benchtui.circuit.system import LEAK_SIEMENS

LEAST_A = 1e-4
"""What is left over is judged against the largest current of the circuit, and against this where next to none flows."""

Flow = tuple[str, str, np.ndarray]
_COIL_OHM = 1.0 / COIL_DC_SIEMENS


def left_over(found: Operating) -> np.ndarray:
    """Largest sum of mean currents at any node but chassis, as a share of the largest current: (samples,)."""
    volts = {name: found.dc_volts[number] for name, number in found.system.network.nodes.items()}
    volts[CHASSIS] = np.zeros(found.samples)
    sums = {name: LEAK_SIEMENS * each for name, each in volts.items()}
    largest = np.full(found.samples, LEAST_A)
    for element in found.circuit.elements:
        for a, b, amps in _flows(element, volts, found):
            sums[a] = sums[a] + amps
            sums[b] = sums[b] - amps
            largest = np.maximum(largest, np.abs(amps))
    hidden = {name for name, number in found.system.network.nodes.items() if number in found.system.network.hidden}
    outer = [np.abs(each) for name, each in sums.items() if name != CHASSIS and name not in hidden]
    return np.max(outer, axis=0) / largest


def _flows(element: Element, volts: dict[str, np.ndarray], found: Operating) -> Iterator[Flow]:
    """Mean currents (from, to, amps) that the element carries."""

    def through(a: str, b: str, ohm: object) -> Flow:
        return a, b, (volts[a] - volts[b]) / np.maximum(np.asarray(ohm, dtype=float), LEAST_OHM)

    match element:
        case Resistor() | Choke() | Winding():
            yield through(element.a, element.b, element.ohm)
        case Capacitor():
            return
        case Pot():
            position = found.pots[element.name]
            yield through(element.end_1, element.wiper, element.ohm * position)
            yield through(element.wiper, element.end_2, element.ohm * (1.0 - position))
        case MainsTransformer():
            for winding in element.windings:
                yield from _flows(winding, volts, found)
        case OutputTransformer():
            yield from _wound(element, volts)
        case Diode():
            yield element.anode, element.cathode, found.current(element.name)
            for end in (element.anode, element.cathode):
                yield end, CHASSIS, RECTIFIER_LEAK_SIEMENS * volts[end]
        case Valve() | Transistor() | Regulator():
            yield from _device(element, volts, found)


def _wound(part: OutputTransformer, volts: dict[str, np.ndarray]) -> Iterator[Flow]:
    """Each winding, or part of one, at DC: its resistance, the coil's, and core loss from between the two to `ht`."""
    taps = part.screen_taps or (None, None, 0.0)
    for anode, tap, half_ohm in zip((part.anode_a, part.anode_b), taps[:2], part.half_ohm, strict=False):
        ohm = np.asarray(half_ohm, dtype=float)
        if tap is not None:
            yield tap, part.ht, (volts[tap] - volts[part.ht]) / (np.maximum(ohm * taps[2], LEAST_OHM) + _COIL_OHM)
            ohm = ohm * (1.0 - taps[2])
        inner = tap or part.ht
        series, core = 1.0 / np.maximum(ohm, LEAST_OHM), 1.0 / np.asarray(part.core_loss_ohm, dtype=float)
        between = series * volts[anode] + COIL_DC_SIEMENS * volts[inner] + core * volts[part.ht]
        between = between / (series + COIL_DC_SIEMENS + core)
        to_ht = core * (between - volts[part.ht])
        yield anode, part.ht, to_ht
        yield anode, inner, series * (volts[anode] - between) - to_ht
    secondary_ohm = np.maximum(part.secondary_ohm, LEAST_OHM) + _COIL_OHM
    yield part.hot, part.cold, (volts[part.hot] - volts[part.cold]) / secondary_ohm


def _device(element: Valve | Transistor | Regulator, volts: dict[str, np.ndarray], found: Operating) -> Iterator[Flow]:
    anode, screen, grid, cathode = _electrodes(element)
    zero = np.zeros(found.samples)
    to_cathode = [zero if node is None else volts[node] - volts[cathode] for node in (anode, screen, grid)]
    constants = {name: np.asarray(value, dtype=float) + zero for name, value in element.law.constants.items()}
    amps = FORMS[element.law.form](*to_cathode, constants).amps
    if element.law.form == "gas_regulator":
        yield anode, cathode, DARK_SIEMENS * to_cathode[0]
        emission = _burning(element, found)
    else:
        emission = element.emission if isinstance(element, Valve) else 1.0
    for node, each in zip((anode, screen, grid), amps, strict=True):
        if node is not None:
            yield node, cathode, each * emission


def _electrodes(element: Valve | Transistor | Regulator) -> tuple[str, str | None, str | None, str]:
    if isinstance(element, Valve):
        return element.anode, element.screen, element.grid, element.cathode
    if isinstance(element, Transistor):
        return element.collector, None, element.base, element.emitter
    return element.anode, None, None, element.cathode


def _burning(element: Regulator, found: Operating) -> np.ndarray:
    net = found.system.network
    number = net.device_names.index(element.name)
    groups = [group for group in net.valves if number in group.members]
    return groups[0].emission[groups[0].members.tolist().index(number)]
