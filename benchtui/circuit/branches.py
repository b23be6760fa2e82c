"""What a circuit becomes for the equations: branches between numbered nodes, with arrays of values, samples last."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from benchtui.circuit.elements import CHASSIS

COIL_DC_SIEMENS = 1e3
"""A coil of an output transformer at DC, its resistance being a branch of its own."""

LEAST_OHM = 1e-3
"""Less than this counts as this: no meter on a bench resolves it, and the equations stay well scaled."""


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
    """Branches in the order linear, coils, valves (3 each), rectifiers; node `len(nodes)` is chassis.

    `valves` are all devices of three branches, `device_names` theirs; `valve_names` are the amplifying valves alone.
    `device_farads` (devices, 3, samples) lie from anode to grid, grid to cathode, anode to cathode.
    """

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
    device_names: tuple[str, ...]
    device_farads: np.ndarray
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
        return self.first_valve + 3 * len(self.device_names)

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
            device_farads=self.device_farads[..., columns],
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
