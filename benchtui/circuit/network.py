"""A circuit as branches between numbered nodes, ready for equations; the one place that knows the kinds of element.

Every element becomes branches. A branch carries a current from its tail to its head; a pair of branches (i, j) adds
`y` times the volts of j to the current of i. A resistor is one branch paired with itself; coupled coils, valves
(three branches: anode, screen, grid, each to the cathode) and rectifiers pair several branches. So one way of stamping
serves DC, AC and the supply. Modified nodal analysis reduced to pure nodal form: every winding and choke has its
resistance, so no branch current is an unknown and elimination needs no pivoting.

Inside the engine samples are the last axis.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import singledispatchmethod

import numpy as np

from benchtui.circuit.elements import (
    CHASSIS,
    Capacitor,
    Choke,
    Circuit,
    Diode,
    Law,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Resistor,
    Value,
    Valve,
)

LEAST_OHM = 1e-3
"""Less than this counts as this: no meter on a bench resolves it, and the equations stay well scaled."""

LEAST_PRIMARY_OHM = 1e-6
"""Of a mains transformer whose windings have been given their whole source resistance, and its primary none."""

COIL_DC_SIEMENS = 1e3
"""A coil of an output transformer at DC, its resistance being a branch of its own."""

RECTIFIER_LEAK_SIEMENS = 1e-9
"""From each end of a rectifier to chassis: a winding between blocking rectifiers has no other DC path."""


@dataclass(frozen=True, eq=False)
class Linear:
    """Branches of admittance g + s c + 1 / (r + s l); each array (branches, samples)."""

    g: np.ndarray
    c: np.ndarray
    r: np.ndarray
    l: np.ndarray  # noqa: E741

    def take(self, columns: np.ndarray) -> Linear:
        """The same for some samples."""
        return Linear(*(each[:, columns] for each in (self.g, self.c, self.r, self.l)))

    def rows(self, branches: list[int]) -> Linear:
        """The same for some branches."""
        return Linear(*(each[branches] for each in (self.g, self.c, self.r, self.l)))

    def at_dc(self) -> np.ndarray:
        """Siemens at DC, (branches, samples)."""
        return self.g + 1.0 / self.r

    def at(self, s: np.ndarray) -> np.ndarray:
        """Complex siemens at the complex frequencies `s` (harmonics, 1): (branches, harmonics, samples)."""
        y = self.g[:, None] + s * self.c[:, None]
        chokes = np.isfinite(self.r).any(axis=1)
        y[chokes] += 1.0 / (self.r[chokes, None] + s * self.l[chokes, None])
        return y


@dataclass(frozen=True, eq=False)
class Coils:
    """Coupled coils of an output transformer: first branch, inverse of their henries (coils, coils, samples)."""

    first: int
    count: int
    inverse_henry: np.ndarray


@dataclass(frozen=True, eq=False)
class Group:
    """Valves, or rectifiers, of one equation form; `members` are their numbers, constants (members, samples)."""

    form: str
    members: np.ndarray
    constants: dict[str, np.ndarray]
    emission: np.ndarray

    def take(self, columns: np.ndarray) -> Group:
        """The same for some samples, which may repeat."""
        constants = {key: value[:, columns] for key, value in self.constants.items()}
        return replace(self, constants=constants, emission=self.emission[:, columns])


@dataclass(frozen=True, eq=False)
class Track:
    """A pot: its two branches and the whole track's resistance (samples,)."""

    to_wiper: int
    from_wiper: int
    ohm: np.ndarray
    position: np.ndarray


@dataclass(frozen=True, eq=False)
class Turns:
    """Secondaries: winding branch, the node that stands for its primary, the ratio (samples,)."""

    branch: int
    primary: int
    ratio: np.ndarray


@dataclass(frozen=True, eq=False)
class Emf:
    """The mains behind a primary: its branch from the primary's node to chassis, that node, peak volts and ohms."""

    branch: int
    node: int
    volts: np.ndarray
    ohm: np.ndarray


@dataclass(frozen=True, eq=False)
class Network:
    """Branches in the order linear, coils, valves (3 each), rectifiers; node `len(nodes)` is chassis."""

    nodes: dict[str, int]
    samples: int
    tail: np.ndarray
    head: np.ndarray
    linear: Linear
    coils: tuple[Coils, ...]
    coil_count: int
    turns: tuple[Turns, ...]
    emfs: tuple[Emf, ...]
    tracks: dict[str, Track]
    valves: tuple[Group, ...]
    valve_names: tuple[str, ...]
    rectifiers: tuple[Group, ...]
    rectifier_names: tuple[str, ...]
    linear_names: dict[str, int]
    hidden: frozenset[int]
    leaks: tuple[int, ...]
    mains_hz: float

    @property
    def first_coil(self) -> int:
        return self.linear.g.shape[0]

    @property
    def first_valve(self) -> int:
        return self.first_coil + self.coil_count

    @property
    def first_rectifier(self) -> int:
        return self.first_valve + 3 * len(self.valve_names)

    def take(self, columns: np.ndarray) -> Network:
        """The same network for some samples."""
        return replace(
            self,
            samples=len(columns),
            linear=self.linear.take(columns),
            coils=tuple(replace(c, inverse_henry=c.inverse_henry[..., columns]) for c in self.coils),
            turns=tuple(replace(t, ratio=t.ratio[columns]) for t in self.turns),
            emfs=tuple(replace(e, volts=e.volts[columns], ohm=e.ohm[columns]) for e in self.emfs),
            tracks={
                name: replace(t, ohm=t.ohm[columns], position=t.position[columns]) for name, t in self.tracks.items()
            },
            valves=tuple(group.take(columns) for group in self.valves),
            rectifiers=tuple(group.take(columns) for group in self.rectifiers),
        )

    def index(self, node: str) -> int:
        """The number of a node; raises KeyError with a sentence when the circuit has no such node."""
        if node == CHASSIS:
            return len(self.nodes)
        try:
            return self.nodes[node]
        except KeyError:
            raise KeyError(f"the circuit has no node {node!r}; it has {', '.join(sorted(self.nodes))}") from None


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
    valves: list[Valve] = field(default_factory=list)
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
    def _(self, element: Valve) -> None:
        for node in (element.anode, element.screen or element.cathode, element.grid, element.cathode):
            self.node(node)
        self.valves.append(element)

    @add.register
    def _(self, element: Diode) -> None:
        for node in (element.anode, element.cathode):
            self.leaks.append(self.branch(node, CHASSIS, ohm=1.0 / RECTIFIER_LEAK_SIEMENS))
        self.rectifiers.append(element)

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
                np.stack([self.spread(elements[m].emission) for m in members]),
            )
            for (form, keys), members in found.items()
        )


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
        ends = ends + [(each, valve.cathode) for each in (valve.anode, valve.screen or valve.cathode, valve.grid)]
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
        valve_names=tuple(each.name for each in draft.valves),
        rectifiers=draft.groups(draft.rectifiers),
        rectifier_names=tuple(each.name for each in draft.rectifiers),
        linear_names=draft.names,
        hidden=frozenset(draft.hidden),
        leaks=tuple(draft.leaks),
        mains_hz=circuit.mains_hz,
    )
