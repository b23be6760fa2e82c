"""The operating point of a circuit on the mains: DC, ripple and rectifier currents in the periodic steady state.

Two solvers alternate until they agree: `dc` with each rectifier replaced by the law of its mean current near the last
wave, and `rectify` with the rest of the circuit linearised near the last DC point. Both replacements are tangents, so
this is Newton's method in two halves: two to four rounds from a neighbour, a few more from nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from benchtui.circuit.ac import AcCircuit, two_step_symbol
from benchtui.circuit.dc import Border, Case, Ports, case_of, linearise, open_ports, solve
from benchtui.circuit.elements import Circuit, Value
from benchtui.circuit.network import Network, network
from benchtui.circuit.operating import Operating
from benchtui.circuit.rectify import Seen, Wave, currents
from benchtui.circuit.system import System

POINTS = 96
ROUNDS = 15
AGREED = 1e-4
"""Share of the largest mean rectifier current by which the two halves may still differ."""

LOOSE, TIGHT = 1e-2, 1e-5
"""Share of its largest current by which a wave may still move: in the first round, whose DC is a guess, and later."""

SEEN_AGAIN = 0.2
"""What the rectifiers see is computed again when a node has moved by more than this share."""


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
    """Where the rounds stand: node volts and pot positions, the last wave, what the rectifiers saw and at which volts."""

    volts: np.ndarray
    position: np.ndarray
    ports: Ports
    wave: Wave | None
    seen: tuple[np.ndarray, np.ndarray] | None
    seen_at: np.ndarray
    settled: np.ndarray
    last_step: np.ndarray


def operate(circuit: Circuit, *, trims: Sequence[Trim] = (), start: Operating | None = None) -> Operating:
    """The steady state of every sample of `circuit`, its pots trimmed; `start` is a neighbour to begin from.

    Samples without a solution have `settled` False and read NaN. Raises ValueError when the values disagree on the
    number of samples, KeyError when a trim names no pot or node of the circuit.
    """
    net = network(circuit)
    system = System(net)
    border = _border(net, trims)
    state = _begin(net, border, start)
    if state.wave is not None:
        state = _on_this_mains(system, state, border)
    for number in range(ROUNDS):
        tolerance = TIGHT if number else LOOSE
        state = _round(system, state, None if number == 0 and start is None else border, trims, tolerance)
        if state.settled.all():
            break
    case = _case(net, state, border)
    return Operating(
        circuit=circuit, system=system, case=case, dc_volts=state.volts, wave=state.wave, settled=state.settled,
        last_step=state.last_step, trimmed=() if border is None else border.names, positions=state.position,
    )


def _border(net: Network, trims: Sequence[Trim]) -> Border | None:
    if not trims:
        return None
    unknown = [trim.pot for trim in trims if trim.pot not in net.tracks]
    if unknown:
        raise KeyError(f"no pot {unknown[0]!r} to trim; the circuit has {', '.join(sorted(net.tracks)) or 'none'}")
    tracks = [net.tracks[trim.pot] for trim in trims]
    spread = [np.broadcast_to(np.asarray(trim.target_v, dtype=float), (net.samples,)) for trim in trims]
    return Border(
        names=tuple(trim.pot for trim in trims),
        to_wiper=np.array([track.to_wiper for track in tracks]),
        from_wiper=np.array([track.from_wiper for track in tracks]),
        ohm=np.stack([track.ohm for track in tracks]),
        pos=np.array([net.index(trim.pos) for trim in trims]),
        neg=np.array([net.index(trim.neg) for trim in trims]),
        target_v=np.stack(spread),
    )


def _begin(net: Network, border: Border | None, start: Operating | None) -> _State:
    """The state before the first round: nothing, or what `start` knows of the same nodes, pots and rectifiers."""
    count, samples = len(net.nodes), net.samples
    names = () if border is None else border.names
    position = np.array([net.tracks[name].position for name in names]).reshape(len(names), samples)
    ports, wave, volts = open_ports(net), None, np.zeros((count, samples))
    if start is not None:
        volts = start.volts_like(net)
        position = np.stack([start.position_like(name, samples) for name in names]) if names else position
        ports, wave = start.supply_like(net, ports)
    return _State(
        volts, np.clip(position, 1e-3, 1 - 1e-3), ports, wave, None, np.zeros((count, samples)),
        np.zeros(samples, dtype=bool), np.zeros((count, samples)),
    )


def _case(net: Network, state: _State, border: Border | None) -> Case:
    case = case_of(net, state.ports)
    if border is None:
        return case
    return replace(case, linear=border.with_positions(case.linear, state.position))


def _on_this_mains(system: System, state: _State, border: Border | None) -> _State:
    """A neighbour's state with the supply scaled to this circuit's own open volts."""
    state = _seen(system, state, _case(system.network, state, border))
    wave = state.wave.scaled_to(state.seen[1])
    return replace(state, wave=wave, ports=wave.ports())


def _round(
    system: System, state: _State, border: Border | None, trims: Sequence[Trim], tolerance: float
) -> _State:
    net = system.network
    if border is not None:
        border = replace(border, target_v=_unloaded(system, _case(net, state, border), state.volts, border, trims))
    position = None if border is None else state.position
    found = solve(system, case_of(net, state.ports), state.volts, border=border, position=position)
    volts = np.where(np.isfinite(found.volts), found.volts, 0.0)
    moved = found.position if border is not None else state.position
    state = replace(state, volts=volts, position=moved, settled=found.settled, last_step=found.last_step)
    if not system.rectifier_count:
        return state
    return _supply(system, state, _case(net, state, border), tolerance)


def _unloaded(
    system: System, case: Case, volts: np.ndarray, border: Border, trims: Sequence[Trim]
) -> np.ndarray:
    """The volts wanted at each trim's pair of nodes without the meter, so that the meter reads the target."""
    at = linearise(system, case, volts)
    rhs = np.zeros((system.nodes + 1, len(trims), volts.shape[1]))
    for k in range(len(trims)):
        rhs[border.pos[k], k] += 1.0
        rhs[border.neg[k], k] -= 1.0
    system.plan.solve(at.factors, rhs[:-1])
    rhs[-1] = 0.0
    source = np.stack([rhs[border.pos[k], k] - rhs[border.neg[k], k] for k in range(len(trims))])
    meters = np.array([np.broadcast_to(np.asarray(t.meter_ohm, dtype=float), volts.shape[1:]) for t in trims])
    return border.target_v * (1.0 + source / meters)


def _seen(system: System, state: _State, case: Case) -> _State:
    """The state with what the rectifiers see of the AC circuit, worked out anew where the volts have moved far."""
    net = system.network
    far = np.abs(state.volts - state.seen_at) > SEEN_AGAIN * np.abs(state.volts).max(axis=0)
    if state.seen is not None and not far.any():
        return state
    valves = linearise(system, case, state.volts).valve_siemens
    seen = AcCircuit(system, _linear_g(net, case), valves).seen_from_rectifiers(two_step_symbol(POINTS, net.mains_hz))
    return replace(state, seen=seen, seen_at=state.volts)


def _supply(system: System, state: _State, case: Case, tolerance: float) -> _State:
    """The rectifiers' wave with the rest linearised at the state's volts."""
    net, count = system.network, system.rectifier_count
    at = linearise(system, replace(case, ports=open_ports(net)), state.volts)
    ends = system.incidence[:, net.first_rectifier : net.first_rectifier + count]
    rhs = np.concatenate([-at.residual[:, None], np.repeat(ends[:, :, None], net.samples, axis=2)], axis=1)
    system.plan.solve(at.factors, rhs)
    across = np.einsum("np,nqs->pqs", ends, rhs)
    open_v = (ends.T @ state.volts + across[:, 0]).T
    state = _seen(system, state, case)
    steady, open_mains_v = state.seen
    ohms = np.concatenate([np.moveaxis(across[:, 1:], -1, 0)[..., None].astype(complex), steady], axis=-1)
    start = None if state.wave is None else state.wave.w
    wave = currents(net, Seen(ohms, open_v, open_mains_v, POINTS), start, tolerance)
    before = case.ports.at(ends.T @ state.volts)[0]
    ports = wave.ports()
    largest = np.abs(ports.amps).max(axis=0)
    agreed = np.abs(ports.amps - before).max(axis=0) <= AGREED * largest + 1e-9
    return replace(
        state, wave=wave, ports=ports, settled=state.settled & wave.settled & agreed & (tolerance == TIGHT)
    )


def _linear_g(net: Network, case: Case) -> np.ndarray:
    """Conductances of the linear branches with the pots where they stand; chokes have none of this kind."""
    return np.where(np.isfinite(net.linear.r), 0.0, case.linear)
