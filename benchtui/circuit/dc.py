"""DC operating points: Newton's method on the nodal equations, all samples at once, each leaving when it has settled.

The residual is summed from branch currents, so that elimination without pivoting only has to be good enough to lead
there. One rule keeps the first steps sane (measured on 269 faulty amplifiers: none failed with it): a valve whose anode
stands well above its knee may fall to a tenth of that in one step, no lower; below half the knee it may go to minus two
knees, and below minus one knee it is left alone. Grids move freely: an open grid must be able to travel 50 V.

A pot that is trimmed adds its position as an unknown and the wanted reading as an equation (bordered Newton).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from benchtui.circuit.branches import COIL_DC_SIEMENS, LEAST_OHM, Group, Network
from benchtui.circuit.devices import VALVE_FORMS
from benchtui.circuit.elimination import Factors, solve_each
from benchtui.circuit.regulators import REGULATOR_FORMS
from benchtui.circuit.system import LEAK_SIEMENS, System
from benchtui.circuit.transistors import TRANSISTOR_FORMS

PASSES, SEARCHED_PASSES = 60, 30
TRIODE_KNEE_V = 10.0

NEAR_STOP = 1e-3
"""Share of its track within which a pot that is trimmed counts as at its stop."""

HALVINGS, LEAST_GAIN = 8, 0.25
"""Of a step that is searched: how often it is halved, the share of itself by which it must bring the end nearer."""

FORMS = VALVE_FORMS | REGULATOR_FORMS | TRANSISTOR_FORMS
"""The laws of all devices of three branches."""


@dataclass(frozen=True, eq=False)
class Ports:
    """Mean currents of the rectifiers near an operating point: amps + siemens (volts - at_volts)."""

    amps: np.ndarray
    at_volts: np.ndarray
    siemens: np.ndarray

    def take(self, columns: np.ndarray) -> Ports:
        """The law of some columns, which may repeat."""
        return Ports(self.amps[:, columns], self.at_volts[:, columns], self.siemens[:, :, columns])

    def with_columns(self, columns: np.ndarray, part: Ports) -> Ports:
        """The law with some columns replaced."""
        amps, at_volts, siemens = self.amps.copy(), self.at_volts.copy(), self.siemens.copy()
        amps[:, columns], at_volts[:, columns], siemens[:, :, columns] = part.amps, part.at_volts, part.siemens
        return Ports(amps, at_volts, siemens)

    def at(self, volts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Currents (rectifiers, columns) and conductances (rectifiers, rectifiers, columns)."""
        return self.amps + np.einsum("pqs,qs->ps", self.siemens, volts - self.at_volts), self.siemens


@dataclass(frozen=True, eq=False)
class Case:
    """What a DC solution depends on; every array has the columns (samples, or samples times meters) last."""

    linear: np.ndarray
    valves: tuple[Group, ...]
    ports: Ports
    meters: np.ndarray
    injected: np.ndarray

    def take(self, columns: np.ndarray) -> Case:
        """The same for some columns, which may repeat."""
        return Case(
            self.linear[:, columns],
            tuple(group.take(columns) for group in self.valves),
            self.ports.take(columns),
            self.meters[:, columns],
            self.injected[:, columns],
        )

    def cold(self, network: Network) -> Case:
        """The same with every valve cold and no leakage at the rectifiers: what an unpowered circuit is.

        Junctions conduct as they did, and a gas regulator burns on while its volts last.
        """
        linear = self.linear.copy()
        linear[list(network.leaks)] = 0.0
        return replace(self, linear=linear, valves=tuple(_out(g) if g.form in VALVE_FORMS else g for g in self.valves))

    def resistive(self, network: Network) -> Case:
        """The same with nothing but resistances and coils: every device open."""
        return replace(self.cold(network), valves=tuple(_out(g) for g in self.valves))

    @property
    def regulated(self) -> bool:
        """Whether a regulator may carry current, which it does also while the valves are cold."""
        return any((g.emission > 0).any() for g in self.valves if g.form in REGULATOR_FORMS)


def _out(group: Group) -> Group:
    return replace(group, emission=np.zeros_like(group.emission))


def case_of(network: Network, ports: Ports) -> Case:
    """The case without meters and without currents from outside."""
    samples = network.samples
    return Case(
        network.linear.at_dc(), network.valves, ports, np.zeros((0, samples)), np.zeros((len(network.nodes), samples))
    )


def open_ports(network: Network) -> Ports:
    """Rectifiers that carry nothing."""
    count, samples = len(network.rectifier_names), network.samples
    return Ports(np.zeros((count, samples)), np.zeros((count, samples)), np.zeros((count, count, samples)))


def valve_currents(network: Network, groups: tuple[Group, ...], volts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Currents (valves, 3, columns) and conductances (valves, 3, 3, columns) at branch volts (valves, 3, columns)."""
    amps = np.zeros_like(volts)
    siemens = np.zeros((volts.shape[0], 3, *volts.shape[1:]))
    for group in groups:
        anode, screen, grid = (volts[group.members, k] for k in range(3))
        found = FORMS[group.form](anode, screen, grid, group.constants)
        amps[group.members] = np.moveaxis(found.amps * group.emission, 0, 1)
        siemens[group.members] = np.moveaxis(found.siemens * group.emission, 2, 0)
    return amps, siemens


@dataclass(frozen=True, eq=False)
class Linearised:
    """Currents out of the nodes at some volts, the factored matrix there, and the valves' conductances."""

    residual: np.ndarray
    factors: Factors
    valve_siemens: np.ndarray


def _flows(system: System, case: Case, volts: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Currents out of the nodes (nodes, columns), conductances of valves and of rectifiers."""
    net, columns = system.network, volts.shape[1]
    across = system.across(volts)
    amps = np.zeros_like(across)
    amps[: net.first_coil] = case.linear * across[: net.first_coil]
    coil = slice(net.first_coil, net.first_valve)
    amps[coil] = COIL_DC_SIEMENS * across[coil]
    valve = slice(net.first_valve, net.first_rectifier)
    flow, conductance = valve_currents(net, case.valves, across[valve].reshape(-1, 3, columns))
    amps[valve] = flow.reshape(-1, columns)
    last = net.first_rectifier + system.rectifier_count
    amps[net.first_rectifier : last], slope = case.ports.at(across[net.first_rectifier : last])
    amps[last:] = case.meters * across[last:]
    return system.out_of_nodes(amps) + LEAK_SIEMENS * volts - case.injected, conductance, slope


def linearise(system: System, case: Case, volts: np.ndarray, base: np.ndarray | None = None) -> Linearised:
    """The nodal equations at node `volts` (nodes, columns); `base` is the matrix of all that is linear, if known."""
    residual, conductance, slope = _flows(system, case, volts)
    store = system.dc_store(case.linear, case.meters) if base is None else base.copy()
    system.add(store, system.valve_source, conductance.reshape(-1, volts.shape[1]))
    system.add(store, system.rectifier_source, slope.reshape(-1, volts.shape[1]))
    return Linearised(residual, system.plan.factor(store), conductance)


def knees(network: Network) -> np.ndarray:
    """Knee volts of each valve (valves,): where its anode current bends over; inf for what the knee rule leaves."""
    found = np.full(len(network.device_names), TRIODE_KNEE_V)
    for group in network.valves:
        if group.form not in VALVE_FORMS:
            found[group.members] = np.inf
        elif group.form.startswith("pentode"):
            found[group.members] = group.constants["kvb"].max(axis=1)
    return found


def _knee_share(system: System, knee: np.ndarray, volts: np.ndarray, step: np.ndarray) -> np.ndarray:
    """The share of the step (columns,) that the knee rule allows."""
    net = system.network
    anodes = slice(net.first_valve, net.first_rectifier, 3)
    before = system.across(volts)[anodes]
    fall = -system.across(step)[anodes]
    knee = knee[:, None]
    lowest = np.where(before > knee / 2, 0.1 * before, np.where(before > -knee, -2.0 * knee, -np.inf))
    below = fall > before - lowest
    share = np.where(below, np.maximum(before - lowest, 0.0) / np.where(below, fall, 1.0), 1.0)
    return share.min(axis=0, initial=1.0)


@dataclass(frozen=True, eq=False)
class Border:
    """Pots to be trimmed: branches, whole ohms, pairs of nodes read, volts wanted there (trims, columns), meters."""

    names: tuple[str, ...]
    to_wiper: np.ndarray
    from_wiper: np.ndarray
    ohm: np.ndarray
    pos: np.ndarray
    neg: np.ndarray
    target_v: np.ndarray
    meter_ohm: np.ndarray

    def take(self, columns: np.ndarray) -> Border:
        """The same for some columns."""
        return replace(
            self,
            ohm=self.ohm[:, columns],
            target_v=self.target_v[:, columns],
            meter_ohm=self.meter_ohm[:, columns],
        )

    def with_positions(self, linear: np.ndarray, position: np.ndarray) -> np.ndarray:
        """Linear conductances with the pots at `position` (trims, columns)."""
        linear = linear.copy()
        linear[self.to_wiper] = 1.0 / np.maximum(self.ohm * position, LEAST_OHM)
        linear[self.from_wiper] = 1.0 / np.maximum(self.ohm * (1.0 - position), LEAST_OHM)
        return linear


@dataclass(eq=False)
class Solution:
    """Node volts (nodes, columns), whether each column settled, and the pots' positions (trims, columns)."""

    volts: np.ndarray
    settled: np.ndarray
    position: np.ndarray
    last_step: np.ndarray

    def put(self, columns: np.ndarray, part: Solution) -> None:
        """Overwrite some columns."""
        self.volts[:, columns], self.last_step[:, columns] = part.volts, part.last_step
        self.position[:, columns], self.settled[columns] = part.position, part.settled


def solve(
    system: System,
    case: Case,
    start: np.ndarray,
    *,
    border: Border | None = None,
    position: np.ndarray | None = None,
    least_step: float = 1e-7,
) -> Solution:
    """DC volts of every column, from the node volts `start` (nodes, columns).

    A column has settled when Newton's step is under `least_step` of each node's volts (or ten times that in volts).
    """
    columns = start.shape[1]
    found = Solution(
        start.copy(),
        np.zeros(columns, dtype=bool),
        np.zeros((0, columns)) if position is None else position.copy(),
        np.zeros_like(start),
    )
    with np.errstate(all="ignore"):
        _newton(system, case, found, border, least_step)
        lost = np.flatnonzero(~found.settled)
        if border is not None:
            _trimmed(system, case, found, border, least_step)
        elif lost.size:
            _searched(system, case, found, lost, least_step)
    return found


def _trimmed(system: System, case: Case, found: Solution, border: Border, least_step: float) -> None:
    """Once more what did not settle, from where its pots have got to; and what stands at a stop with its pot held.

    Towards a stop a pot's part halves at every step, so that volts and position never quite belong together.
    """
    lost = np.flatnonzero(~found.settled)
    if lost.size:
        again = _held(system, case, found, border, lost, least_step)
        again.settled[:] = False
        _newton(system, case.take(lost), again, border.take(lost), least_step)
        found.put(lost, again)
    from_stop = np.minimum(found.position, 1.0 - found.position).min(axis=0)
    at_stop = np.flatnonzero(found.settled & (from_stop < NEAR_STOP))
    if at_stop.size:
        found.put(at_stop, _held(system, case, found, border, at_stop, least_step))


def _held(
    system: System, case: Case, found: Solution, border: Border, columns: np.ndarray, least_step: float
) -> Solution:
    """Some columns with their pots where they stand."""
    part, position = case.take(columns), found.position[:, columns]
    part = replace(part, linear=border.take(columns).with_positions(part.linear, position))
    return replace(solve(system, part, found.volts[:, columns], least_step=least_step), position=position)


def _newton(system: System, case: Case, found: Solution, border: Border | None, least_step: float) -> None:
    """Plain Newton with the knee rule, from where `found` stands."""
    knee = knees(system.network)
    live = np.arange(found.settled.size)
    part, part_border = case, border
    base = system.dc_store(case.linear, case.meters) if border is None else None
    for _ in range(PASSES):
        volts = found.volts[:, live]
        step, move = _step(system, part, volts, part_border, found.position[:, live], base)
        share = _knee_share(system, knee, volts, step)
        found.volts[:, live] = volts + share * step
        found.position[:, live] += move
        found.last_step[:, live] = step
        small = (_size(step, volts) <= least_step) & (np.abs(move) < 1e-7).all(axis=0)
        alive = np.isfinite(step).all(axis=0)
        found.settled[live[small & alive]] = True
        going = alive & ~small
        if not going.any():
            break
        if not going.all():
            live = live[going]
            part = case.take(live)
            base = None if base is None else base[:, going]
            part_border = None if border is None else border.take(live)


def _size(step: np.ndarray, volts: np.ndarray) -> np.ndarray:
    """The largest step of each column as a share of its node's volts, or of ten volts where that is more."""
    return (np.abs(step) / (10.0 + np.abs(volts))).max(axis=0, initial=0.0)


def _searched(system: System, case: Case, found: Solution, live: np.ndarray, least_step: float) -> None:
    """Newton with each step halved until the step that would follow is shorter; given up where none is.

    The natural monotonicity test of P. Deuflhard, "Newton Methods for Nonlinear Problems", 2004 (from memory): unlike
    the residual it does not care that a coil has 1,000 siemens and an open grid next to none.
    """
    found.volts[:, live] = np.nan_to_num(found.volts[:, live], posinf=0.0, neginf=0.0)
    for _ in range(SEARCHED_PASSES):
        part, volts = case.take(live), found.volts[:, live]
        at = linearise(system, part, volts)
        step = at.factors.solve(-at.residual)
        size, share = _size(step, volts), np.ones(live.size)
        for _ in range(HALVINGS):
            residual, _, _ = _flows(system, part, volts + share * step)
            nearer = _size(at.factors.solve(-residual), volts) <= (1.0 - LEAST_GAIN * share) * size
            if nearer.all():
                break
            share = np.where(nearer, share, 0.5 * share)
        else:
            share = np.where(nearer, share, 0.0)
        found.volts[:, live] = volts + share * step
        found.last_step[:, live] = step
        small, alive = size <= least_step, np.isfinite(step).all(axis=0)
        found.settled[live[small & alive]] = True
        live = live[alive & ~small & (share > 0.0)]
        if not live.size:
            break


def _step(
    system: System,
    case: Case,
    volts: np.ndarray,
    border: Border | None,
    position: np.ndarray,
    base: np.ndarray | None,
) -> tuple[np.ndarray, np.ndarray]:
    """Newton's step of the volts and of the pots' positions (none without a border)."""
    if border is None:
        at = linearise(system, case, volts, base)
        return at.factors.solve(-at.residual), np.zeros((0, volts.shape[1]))
    case = replace(case, linear=border.with_positions(case.linear, position))
    at = linearise(system, case, volts)
    across = system.across(volts)
    upper = -border.ohm * across[border.to_wiper] / np.maximum(border.ohm * position, LEAST_OHM) ** 2
    lower = border.ohm * across[border.from_wiper] / np.maximum(border.ohm * (1.0 - position), LEAST_OHM) ** 2
    rhs = np.empty((system.nodes, 1 + len(border.names), volts.shape[1]))
    rhs[:, 0] = -at.residual
    for k in range(len(border.names)):
        rhs[:, 1 + k] = -(
            system.incidence[:, border.to_wiper[k], None] * upper[k]
            + system.incidence[:, border.from_wiper[k], None] * lower[k]
        )
    at.factors.solve(rhs)
    return _bordered(border, volts, rhs, position)


def _bordered(
    border: Border, volts: np.ndarray, rhs: np.ndarray, position: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Moves that meet the targets, each at most half of the way to the stop, and a fifth of the track."""
    grounded = np.concatenate([rhs, np.zeros((1, *rhs.shape[1:]))])
    at = np.concatenate([volts, np.zeros((1, volts.shape[1]))])
    reads = grounded[border.pos] - grounded[border.neg]
    miss = border.target_v - (at[border.pos] - at[border.neg]) - reads[:, 0]
    matrix = np.moveaxis(reads[:, 1:], -1, 0)
    count = len(border.names)
    move = solve_each(matrix, miss.T[..., None])[..., 0].T
    move = np.where(np.isfinite(move), move, 0.0)
    move = np.clip(move, -np.minimum(0.5 * position, 0.2), np.minimum(0.5 * (1.0 - position), 0.2))
    step = rhs[:, 0] + sum(rhs[:, 1 + k] * move[k] for k in range(count))
    return step, move
