"""From a circuit to its branches, ready for equations; the one place that knows the kinds of element.

Every element becomes branches. A branch carries a current from its tail to its head; a pair of branches (i, j) adds `y`
times the volts of j to the current of i. A resistor is one branch paired with itself; coupled coils, valves (three
branches: anode, screen, grid, each to the cathode) and rectifiers pair several branches. A transistor counts as a valve
without screen, a regulator as one with an anode only. So one way of stamping serves DC, AC and the supply. Modified
nodal analysis reduced to pure nodal form: every winding and choke has its resistance, so no branch current is an
unknown and elimination needs no pivoting.

Inside the engine samples are the last axis.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import singledispatchmethod

import numpy as np

from benchtui.circuit.branches import LEAST_OHM, Coils, Emf, Group, Linear, Network, Track, Turns
from benchtui.circuit.elements import (
    CHASSIS,
    Capacitor,
    Choke,
    Circuit,
    Device,
    Diode,
    Law,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Regulator,
    Resistor,
    Transistor,
    Value,
    Valve,
)

LEAST_PRIMARY_OHM = 1e-6
"""Of a mains transformer whose windings have been given their whole source resistance, and its primary none."""

RECTIFIER_LEAK_SIEMENS = 1e-9
"""From each end of a rectifier to chassis: a winding between blocking rectifiers has no other DC path."""

DARK_SIEMENS = 1e-9
"""Of a gas regulator that does not burn: two in series share their volts."""


@dataclass
class _Draft:
    """Collects branches while the elements are read."""

    samples: int
    nodes: dict[str, int] = field(default_factory=dict)
    linear: list[tuple[str, str]] = field(default_factory=list)
    values: list[tuple[np.ndarray, ...]] = field(default_factory=list)
    names: dict[str, int] = field(default_factory=dict)
    turns: list[Turns] = field(default_factory=list)
    emfs: list[Emf] = field(default_factory=list)
    tracks: dict[str, Track] = field(default_factory=dict)
    coil_ends: list[tuple[str, str]] = field(default_factory=list)
    inverse_henries: list[np.ndarray] = field(default_factory=list)
    valves: list[Device] = field(default_factory=list)
    rectifiers: list[Diode] = field(default_factory=list)
    hidden: set[int] = field(default_factory=set)
    leaks: list[int] = field(default_factory=list)

    def spread(self, value: Value) -> np.ndarray:
        return np.broadcast_to(np.asarray(value, dtype=float), (self.samples,))

    def node(self, name: str) -> None:
        if name != CHASSIS:
            self.nodes.setdefault(name, len(self.nodes))

    def inner(self, name: str) -> str:
        self.node(name)
        self.hidden.add(self.nodes[name])
        return name

    def branch(
        self,
        a: str,
        b: str,
        *,
        ohm: Value = np.inf,
        farad: Value = 0.0,
        henry: Value | None = None,
        least_ohm: float = LEAST_OHM,
    ) -> int:
        self.node(a)
        self.node(b)
        resistance = np.maximum(self.spread(ohm), least_ohm)
        none, endless = np.zeros(self.samples), np.full(self.samples, np.inf)
        g, r, inductance = (
            (1.0 / resistance, endless, none) if henry is None else (none, resistance, self.spread(henry))
        )
        self.linear.append((a, b))
        self.values.append((g, self.spread(farad), r, inductance))
        return len(self.linear) - 1

    @singledispatchmethod
    def add(self, element: object) -> None:
        raise TypeError(f"a circuit cannot hold {element!r}")

    @add.register
    def _(self, element: Resistor) -> None:
        self.names[element.name] = self.branch(element.a, element.b, ohm=element.ohm)

    @add.register
    def _(self, element: Capacitor) -> None:
        self.names[element.name] = self.branch(element.a, element.b, farad=element.farad)

    @add.register
    def _(self, element: Choke) -> None:
        self.names[element.name] = self.branch(element.a, element.b, ohm=element.ohm, henry=element.henry)

    @add.register
    def _(self, element: Pot) -> None:
        ohm, position = self.spread(element.ohm), self.spread(element.position)
        first = self.branch(element.end_1, element.wiper, ohm=ohm * position)
        second = self.branch(element.wiper, element.end_2, ohm=ohm * (1.0 - position))
        self.tracks[element.name] = Track(first, second, ohm, position)

    @add.register
    def _(self, element: MainsTransformer) -> None:
        primary = self.inner(f"{element.name} primary")
        ohm = np.maximum(self.spread(element.primary_ohm), LEAST_PRIMARY_OHM)
        branch = self.branch(primary, CHASSIS, ohm=ohm, least_ohm=LEAST_PRIMARY_OHM)
        self.names[element.name] = branch
        self.emfs.append(Emf(branch, self.nodes[primary], np.sqrt(2.0) * self.spread(element.mains_v), ohm))
        for winding in element.windings:
            branch = self.branch(winding.a, winding.b, ohm=winding.ohm)
            self.names[winding.name] = branch
            self.turns.append(Turns(branch, self.nodes[primary], self.spread(winding.ratio)))

    @add.register
    def _(self, element: OutputTransformer) -> None:
        shares: list[Value] = []
        halves = [(element.anode_a, 0)] + ([(element.anode_b, 1)] if element.anode_b is not None else [])
        taps = element.screen_taps or (None, None, 0.0)
        for anode, half in halves:
            sign = 1.0 if half == 0 else -1.0
            whole, tap, tapped = 1.0 / len(halves), taps[half], taps[2]
            parts = [(element.ht, tap, tapped), (tap, anode, 1.0 - tapped)] if tap else [(element.ht, anode, 1.0)]
            for inner_end, outer_end, part in parts:
                ohm = self.spread(element.half_ohm[half]) * part
                inner = self._coil(element.name, outer_end, inner_end, ohm)
                shares.append(sign * part * whole)
            self.branch(anode, element.ht, farad=element.winding_farad)
            self.branch(inner, element.ht, ohm=element.core_loss_ohm)
        self._coil(element.name, element.hot, element.cold, self.spread(element.secondary_ohm))
        self._couple(element, shares + [1.0 / self.spread(element.ratio)])

    def _coil(self, name: str, start: str, end: str, ohm: np.ndarray) -> str:
        """A coil from a hidden node to `end`, its resistance from `start` to that node; gives the hidden node."""
        inner = self.inner(f"{name} coil {len(self.coil_ends)}")
        self.branch(start, inner, ohm=ohm)
        self.node(end)
        self.coil_ends.append((inner, end))
        return inner

    def _couple(self, element: OutputTransformer, shares: list[Value]) -> None:
        """Inductance from shares of the whole primary's turns; all coils are equally tightly coupled."""
        turns = np.stack([self.spread(share) for share in shares])
        whole = self.spread(element.primary_henry)
        coupling = np.sqrt(1.0 - np.clip(self.spread(element.leakage_henry) / whole, 1e-6, 0.9))
        henry = whole * turns[:, None] * turns[None, :] * coupling
        for each in range(len(turns)):
            henry[each, each] = whole * turns[each] ** 2
        inverse = np.linalg.inv(np.moveaxis(henry, -1, 0))
        self.inverse_henries.append(np.moveaxis(inverse, 0, -1))

    @add.register
    def _(self, element: Valve | Transistor) -> None:
        self.device(element)

    @add.register
    def _(self, element: Regulator) -> None:
        self.device(element)
        if element.law.form == "gas_regulator":
            self.leaks.append(self.branch(element.anode, element.cathode, ohm=1.0 / DARK_SIEMENS))

    def device(self, element: Device) -> None:
        for nodes in electrodes(element):
            for node in nodes:
                self.node(node)
        self.valves.append(element)

    @add.register
    def _(self, element: Diode) -> None:
        for node in (element.anode, element.cathode):
            self.leaks.append(self.branch(node, CHASSIS, ohm=1.0 / RECTIFIER_LEAK_SIEMENS))
        self.rectifiers.append(element)

    def farads(self) -> np.ndarray:
        """Of the devices between their electrodes (devices, 3, samples)."""
        found = np.zeros((len(self.valves), 3, self.samples))
        for number, valve in enumerate(self.valves):
            if isinstance(valve, Valve):
                each = (valve.anode_grid_farad, valve.grid_cathode_farad, valve.anode_cathode_farad)
                found[number] = [self.spread(farad) for farad in each]
        return found

    def groups(self, elements: list) -> tuple[Group, ...]:
        found: dict[tuple[str, frozenset[str]], list[int]] = {}
        for number, element in enumerate(elements):
            law: Law = element.law
            found.setdefault((law.form, frozenset(law.constants)), []).append(number)
        return tuple(
            Group(
                form,
                np.array(members),
                {key: np.stack([self.spread(elements[m].law.constants[key]) for m in members]) for key in sorted(keys)},
                np.stack([self.spread(_emission(elements[m])) for m in members]),
            )
            for (form, keys), members in found.items()
        )


def electrodes(device: Device) -> tuple[tuple[str, str], ...]:
    """The ends of a device's three branches; one that it lacks has both at the cathode."""
    if isinstance(device, Transistor):
        emitter = device.emitter
        return (device.collector, emitter), (emitter, emitter), (device.base, emitter)
    if isinstance(device, Regulator):
        return (device.anode, device.cathode), (device.cathode, device.cathode), (device.cathode, device.cathode)
    screen = device.screen or device.cathode
    return (device.anode, device.cathode), (screen, device.cathode), (device.grid, device.cathode)


def _emission(element: Device | Diode) -> Value:
    """What scales a device's currents: a gas regulator is dark until it is struck."""
    if isinstance(element, (Valve, Diode)):
        return element.emission
    return 0.0 if element.law.form == "gas_regulator" else 1.0


def samples_of(circuit: Circuit) -> int:
    """How many samples the circuit's values hold (1 when all are plain numbers)."""
    sizes = {np.size(value) for element in circuit.elements for value in _values(element)} - {1}
    if len(sizes) > 1:
        raise ValueError(f"the values of a circuit must hold one number of samples, not {sorted(sizes)}")
    return sizes.pop() if sizes else 1


def _values(element: object) -> list[Value]:
    values: list[Value] = []
    for value in vars(element).values():
        if isinstance(value, (float, int, np.ndarray)):
            values.append(value)
        elif isinstance(value, Law):
            values.extend(value.constants.values())
        elif isinstance(value, tuple):
            values.extend(each for each in value if isinstance(each, (float, int, np.ndarray)))
            values.extend(inner for each in value if hasattr(each, "__dict__") for inner in _values(each))
    return values


def network(circuit: Circuit) -> Network:
    """The branches of a circuit; raises ValueError when the values disagree on the number of samples."""
    draft = _Draft(samples_of(circuit))
    for element in circuit.elements:
        draft.add(element)
    chassis = len(draft.nodes)
    numbers = {**draft.nodes, CHASSIS: chassis}
    ends = draft.linear + draft.coil_ends
    for valve in draft.valves:
        ends += electrodes(valve)
    ends = ends + [(each.anode, each.cathode) for each in draft.rectifiers]
    coils, first = [], len(draft.linear)
    for inverse in draft.inverse_henries:
        coils.append(Coils(first, len(inverse), inverse))
        first += len(inverse)
    shape = (len(draft.linear), 4, draft.samples)
    values = np.array(draft.values).reshape(shape)
    return Network(
        nodes=draft.nodes,
        samples=draft.samples,
        tail=np.array([numbers[a] for a, _ in ends], dtype=int),
        head=np.array([numbers[b] for _, b in ends], dtype=int),
        linear=Linear(values[:, 0], values[:, 1], values[:, 2], values[:, 3]),
        coils=tuple(coils),
        coil_count=len(draft.coil_ends),
        turns=tuple(draft.turns),
        emfs=tuple(draft.emfs),
        tracks=draft.tracks,
        valves=draft.groups(draft.valves),
        device_names=tuple(each.name for each in draft.valves),
        device_farads=draft.farads(),
        valve_names=tuple(each.name for each in draft.valves if isinstance(each, Valve)),
        rectifiers=draft.groups(draft.rectifiers),
        rectifier_names=tuple(each.name for each in draft.rectifiers),
        linear_names=draft.names,
        hidden=frozenset(draft.hidden),
        leaks=tuple(draft.leaks),
        mains_hz=circuit.mains_hz,
    )
