"""The operating point of a circuit on the mains: DC, ripple and rectifier currents in the periodic steady state.

Two solvers alternate until they agree: `dc` with each rectifier replaced by the law of its mean current near the last
wave, and `rectify` with the rest of the circuit linearised near the last DC point. Both replacements are tangents, so
this is Newton's method in two halves: two or three rounds from a neighbour, one or two more from nothing.

Samples that do not settle are tried again by themselves: from nothing if they began at a neighbour, then with the mains
brought up in steps. What still fails is reported as not settled, never as a number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from benchtui.circuit.ac import linearised_at, two_step_symbol
from benchtui.circuit.branches import Network
from benchtui.circuit.dc import Border, Case, Ports, case_of, linearise, open_ports, solve
from benchtui.circuit.elements import Circuit, Value
from benchtui.circuit.network import network
from benchtui.circuit.operating import Operating
from benchtui.circuit.rectify import Wave, currents
from benchtui.circuit.regulators import struck
from benchtui.circuit.ring import Seen
from benchtui.circuit.system import System

COARSE_POINTS, FINE_POINTS, FEW_SAMPLES = 48, 192, 8
"""Time points of a mains cycle for many samples and for a few, which are solved with the many's first."""

ROUNDS = 10
MAINS_STEPS = (0.25, 0.5, 0.75, 1.0)

AGREED, AGREED_A = 1e-4, 2e-8
"""Share of a rectifier's mean current, and amperes, by which the two halves may still differ on it."""

LOOSE, TIGHT = 1e-2, 1e-5
"""Share of its largest current by which a wave may still move: in the first round, whose DC is a guess, and later."""

SEEN_AGAIN = 0.2
"""What the rectifiers see is computed again when a node has moved by more than this share of the largest volts."""


@dataclass(frozen=True, eq=False)
class Trim:
    """A pot set so that a meter of `meter_ohm` from `pos` to `neg` reads `target_v`."""

    pot: str
    pos: str
    neg: str
    target_v: Value
    meter_ohm: Value = np.inf


@dataclass(frozen=True, eq=False)
class _State:
    """Where the rounds stand: node volts, pot positions, the last wave, what the rectifiers saw and at which volts."""

    volts: np.ndarray
    position: np.ndarray
    ports: Ports
    points: int
    wave: Wave | None
    seen_ohms: np.ndarray | None
    seen_mains_v: np.ndarray | None
    seen_at: np.ndarray
    settled: np.ndarray
    last_step: np.ndarray

    def take(self, samples: np.ndarray) -> _State:
        """The state of some samples."""
        return _State(
            self.volts[:, samples],
            self.position[:, samples],
            self.ports.take(samples),
            self.points,
            None if self.wave is None else self.wave.take(samples),
            None if self.seen_ohms is None else self.seen_ohms[samples],
            None if self.seen_mains_v is None else self.seen_mains_v[samples],
            self.seen_at[:, samples],
            self.settled[samples],
            self.last_step[:, samples],
        )

    def with_samples(self, samples: np.ndarray, part: _State) -> _State:
        """The state with some samples replaced; what rectifiers see is left, being a matter of the rounds alone."""
        return replace(
            self,
            volts=_replaced(self.volts, samples, part.volts),
            position=_replaced(self.position, samples, part.position),
            ports=self.ports.with_columns(samples, part.ports),
            wave=part.wave if self.wave is None else self.wave.with_samples(samples, part.wave),
            settled=_replaced(self.settled, samples, part.settled),
            last_step=_replaced(self.last_step, samples, part.last_step),
        )


def _replaced(whole: np.ndarray, columns: np.ndarray, part: np.ndarray) -> np.ndarray:
    whole = whole.copy()
    whole[..., columns] = part
    return whole


def operate(
    circuit: Circuit, *, trims: Sequence[Trim] = (), start: Operating | None = None, fine: bool | None = None
) -> Operating:
    """The steady state of every sample of `circuit`, its pots trimmed; `start` is a neighbour to begin from.

    A `fine` one has the rectifiers' currents at FINE_POINTS of the mains cycle, else at COARSE_POINTS: by default where
    the samples are few.

    Samples without a solution have `settled` False and read NaN. A trim that cannot reach its target ends at a stop of
    its pot, and `Operating.untrimmed` says so. Raises ValueError when the values disagree on the number of samples,
    KeyError when a trim names no pot or node of the circuit.
    """
    system = System(network(circuit))
    fine = system.network.samples <= FEW_SAMPLES if fine is None else fine
    found = _steady(circuit, system, trims, start, fine)
    while (burning := struck(system.network.valves, found.valve_volts[:, 0])) is not None:
        system = system.with_network(replace(system.network, valves=burning))
        found = _steady(circuit, system, trims, found, fine)
    return found


def _steady(circuit: Circuit, system: System, trims: Sequence[Trim], start: Operating | None, fine: bool) -> Operating:
    """The steady state with each gas regulator dark or burning as the system has it."""
    net = system.network
    border = _border(net, trims)
    state = _nothing(net, border, COARSE_POINTS)
    with np.errstate(all="ignore"):
        if start is not None:
            state = _neighbour(system, border, start, state)
        state = _solved(system, border, state)
        if system.rectifier_count and fine:
            state = _solved(system, border, _finer(state), TIGHT)
    return Operating(
        circuit=circuit,
        system=system,
        case=_case(net, state, border),
        dc_volts=state.volts,
        wave=state.wave,
        settled=state.settled,
        last_step=state.last_step,
        border=border,
        positions=state.position,
    )


def _solved(system: System, border: Border | None, state: _State, first: float = LOOSE) -> _State:
    """The rounds, the further attempts on what did not settle, and a last DC solution with the final wave."""
    state = _rounds(system, border, state, first)
    for attempt in (_from_nothing, _by_steps):
        lost = np.flatnonzero(~state.settled)
        if lost.size:
            again = attempt(system.take(lost), None if border is None else border.take(lost), state.points)
            state = state.with_samples(lost, again)
    if not system.rectifier_count:
        return state
    settled = state.settled
    state = _direct(system, border, state)
    return replace(state, settled=settled & state.settled)


def _finer(state: _State) -> _State:
    """The same with the wave at the finer time points, yet to be solved there."""
    return replace(
        state,
        points=FINE_POINTS,
        wave=state.wave.resampled(FINE_POINTS),
        seen_ohms=None,
        settled=np.zeros_like(state.settled),
    )


def _border(net: Network, trims: Sequence[Trim]) -> Border | None:
    if not trims:
        return None
    unknown = [trim.pot for trim in trims if trim.pot not in net.tracks]
    if unknown:
        raise KeyError(f"no pot {unknown[0]!r} to trim; the circuit has {', '.join(sorted(net.tracks)) or 'none'}")
    tracks = [net.tracks[trim.pot] for trim in trims]
    return Border(
        names=tuple(trim.pot for trim in trims),
        to_wiper=np.array([track.to_wiper for track in tracks]),
        from_wiper=np.array([track.from_wiper for track in tracks]),
        ohm=np.stack([track.ohm for track in tracks]),
        pos=np.array([net.index(trim.pos) for trim in trims]),
        neg=np.array([net.index(trim.neg) for trim in trims]),
        target_v=np.stack([np.broadcast_to(np.asarray(t.target_v, dtype=float), (net.samples,)) for t in trims]),
        meter_ohm=np.stack([np.broadcast_to(np.asarray(t.meter_ohm, dtype=float), (net.samples,)) for t in trims]),
    )


def _nothing(net: Network, border: Border | None, points: int) -> _State:
    """The state before the first round: no volts anywhere, pots as the circuit has them."""
    count, samples = len(net.nodes), net.samples
    names = () if border is None else border.names
    position = np.array([net.tracks[name].position for name in names]).reshape(len(names), samples)
    none = np.zeros((count, samples))
    return _State(
        none,
        np.clip(position, 1e-3, 1 - 1e-3),
        open_ports(net),
        points,
        None,
        None,
        None,
        none,
        np.zeros(samples, dtype=bool),
        none,
    )


def _neighbour(system: System, border: Border | None, start: Operating, state: _State) -> _State:
    """What `start` knows of the same nodes, pots and rectifiers, the supply scaled to this circuit's open volts."""
    net, pots = system.network, start.pots
    names = () if border is None else border.names
    if names:
        known = [pots.get(name, net.tracks[name].position) for name in names]
        position = np.stack([np.broadcast_to(each, (net.samples,)) for each in known])
        state = replace(state, position=np.clip(position, 1e-3, 1 - 1e-3))
    state = replace(state, volts=_volts_like(net, start))
    wave = _wave_like(net, start)
    if wave is None:
        return state
    ac = linearised_at(system, _case(net, state, border), state.volts)
    _, mains_v = ac.seen_from_rectifiers(two_step_symbol(state.points, net.mains_hz)[:1])
    wave = wave.resampled(state.points).scaled_to(mains_v)
    return replace(state, wave=wave, ports=wave.ports())


def _volts_like(net: Network, start: Operating) -> np.ndarray:
    """DC volts of the nodes that both have, else 0: (nodes, samples)."""
    volts = np.zeros((len(net.nodes), net.samples))
    for name, number in start.system.network.nodes.items():
        if name in net.nodes:
            volts[net.nodes[name]] = np.nan_to_num(start.dc_volts[number])
    return volts


def _wave_like(net: Network, start: Operating) -> Wave | None:
    """The neighbour's wave, when it settled and has the same rectifiers."""
    if start.wave is None or net.rectifier_names != start.system.network.rectifier_names or not start.settled.all():
        return None
    return start.wave.take(np.broadcast_to(np.arange(start.samples), (net.samples,)))


def _from_nothing(system: System, border: Border | None, points: int) -> _State:
    return _rounds(system, border, _nothing(system.network, border, points))


def _by_steps(system: System, border: Border | None, points: int) -> _State:
    """The mains brought up in steps, each from the one before."""
    net = system.network
    state = _nothing(net, border, points)
    for share in MAINS_STEPS:
        part = system.with_network(replace(net, emfs=tuple(replace(emf, volts=share * emf.volts) for emf in net.emfs)))
        at_full = share == MAINS_STEPS[-1]
        state = replace(state, seen_ohms=None, settled=np.zeros(net.samples, dtype=bool))
        state = _rounds(part, border if at_full else None, state)
    return state


def _rounds(system: System, border: Border | None, state: _State, first: float = LOOSE) -> _State:
    """Rounds until all samples settle, waves in the `first` as well as that; when most have, the others go on alone."""
    whole, live = state, np.arange(system.network.samples)
    for number in range(ROUNDS):
        started = state.wave is not None or not system.rectifier_count
        state = _round(system, border if started else None, state, TIGHT if number else first)
        left = np.flatnonzero(~state.settled)
        if not left.size:
            break
        if 2 * left.size < live.size:
            whole = whole.with_samples(live, state)
            live, state, system = live[left], state.take(left), system.take(left)
            border = None if border is None else border.take(left)
    return whole.with_samples(live, state)


def _case(net: Network, state: _State, border: Border | None) -> Case:
    case = case_of(net, state.ports)
    if border is None:
        return case
    return replace(case, linear=border.with_positions(case.linear, state.position))


def _round(system: System, border: Border | None, state: _State, tolerance: float) -> _State:
    """DC with the rectifiers' last law, then the rectifiers with the circuit as it is there."""
    state = _direct(system, border, state)
    if not system.rectifier_count:
        return state
    return _supply(system, state, _case(system.network, state, border), tolerance)


def _direct(system: System, border: Border | None, state: _State) -> _State:
    """DC, and the pots' positions, with the rectifiers' last law."""
    net = system.network
    position = None
    if border is not None:
        border = replace(border, target_v=_unloaded(system, _case(net, state, border), state.volts, border))
        position = state.position
    found = solve(system, case_of(net, state.ports), state.volts, border=border, position=position)
    return replace(
        state,
        volts=np.where(np.isfinite(found.volts), found.volts, 0.0),
        position=state.position if border is None else found.position,
        settled=found.settled,
        last_step=found.last_step,
    )


def _unloaded(system: System, case: Case, volts: np.ndarray, border: Border) -> np.ndarray:
    """The volts wanted at each trim's pair of nodes without the meter, so that the meter reads the target."""
    at = linearise(system, case, volts)
    trims = np.arange(len(border.names))
    rhs = np.zeros((system.nodes + 1, trims.size, volts.shape[1]))
    rhs[border.pos, trims] += 1.0
    rhs[border.neg, trims] -= 1.0
    at.factors.solve(rhs[:-1])
    rhs[-1] = 0.0
    return border.target_v * (1.0 + (rhs[border.pos, trims] - rhs[border.neg, trims]) / border.meter_ohm)


def _seen(system: System, state: _State, case: Case) -> _State:
    """The state with what the rectifiers see of the AC circuit, worked out anew where the volts have moved far."""
    net = system.network
    far = np.abs(state.volts - state.seen_at) > SEEN_AGAIN * np.abs(state.volts).max(axis=0)
    if state.seen_ohms is not None and not far.any():
        return state
    ac = linearised_at(system, case, state.volts)
    ohms, mains_v = ac.seen_from_rectifiers(two_step_symbol(state.points, net.mains_hz))
    return replace(state, seen_ohms=ohms, seen_mains_v=mains_v, seen_at=state.volts)


def _supply(system: System, state: _State, case: Case, tolerance: float) -> _State:
    """The rectifiers' wave with the rest linearised at the state's volts."""
    net, count = system.network, system.rectifier_count
    at = linearise(system, replace(case, ports=open_ports(net)), state.volts)
    ends = system.incidence[:, net.first_rectifier : net.first_rectifier + count]
    rhs = np.concatenate([-at.residual[:, None], np.repeat(ends[:, :, None], net.samples, axis=2)], axis=1)
    at.factors.solve(rhs)
    across = np.einsum("np,nqs->spq", ends, rhs)
    state = _seen(system, state, case)
    seen = Seen(
        ohms=np.concatenate([across[:, :, 1:, None].astype(complex), state.seen_ohms], axis=-1),
        open_mean_v=(ends.T @ state.volts).T + across[:, :, 0],
        open_mains_v=state.seen_mains_v,
        points=state.points,
    )
    wave = currents(net, seen, None if state.wave is None else state.wave.w, tolerance)
    before, _ = case.ports.at(ends.T @ state.volts)
    ports = wave.ports()
    agreed = (np.abs(ports.amps - before) <= AGREED * np.abs(ports.amps) + AGREED_A).all(axis=0)
    settled = state.settled & wave.settled & agreed & (tolerance == TIGHT)
    return replace(state, wave=wave, ports=ports, settled=settled)
