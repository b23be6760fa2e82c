"""What a meter shows: its own resistance on that pair of nodes alone, the rest of the circuit free to give way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from benchtui.circuit.ac import exact_symbol
from benchtui.circuit.dc import linearise, solve
from benchtui.circuit.elements import Capacitor, Circuit, Pot, Resistor, Value
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.circuit.paths import parts_of
from benchtui.circuit.system import System

LOADED_HARMONICS = 8
"""Harmonics for which an AC meter's loading is worked out one by one; above, that of the last one is taken."""

HANGING_SHARE = 0.005
"""Of the meter's ohms: how much the source's may differ between rectifiers blocking and conducting."""

COUPLING_FARAD = 1e-6


@dataclass(frozen=True, eq=False)
class Probe:
    """A meter of `meter_ohm` from `pos` to `neg`: mean volts (dc), or true rms volts behind a capacitor (ac)."""

    pos: str
    neg: str
    kind: Literal["dc", "ac"]
    meter_ohm: Value = np.inf


def readings(operating: Operating, probes: Sequence[Probe], *, loose: bool = False) -> np.ndarray:
    """Volts (samples, probes) as each meter shows them; NaN where nothing but the meter would set them.

    `loose` ones are read on DC all the same: where a part is open the meter may be the only path.

    DC: Newton's method with the meter in place, the rectifiers following the law of their mean current. AC: the
    linearised circuit loaded by the meter. Raises KeyError when the circuit lacks a node.
    """
    found = np.full((operating.samples, len(probes)), np.nan)
    for kind in ("dc", "ac"):
        chosen = [k for k, probe in enumerate(probes) if probe.kind == kind]
        if chosen:
            here = [probes[k] for k in chosen]
            with np.errstate(all="ignore"):
                found[:, chosen] = _dc(operating, here, loose) if kind == "dc" else _ac(operating, here)
    found[~operating.settled] = np.nan
    return found


def _pairs(operating: Operating, probes: Sequence[Probe]) -> list[tuple[int, int]]:
    net = operating.system.network
    return [(net.index(probe.pos), net.index(probe.neg)) for probe in probes]


def _ohms(probes: Sequence[Probe], samples: int) -> np.ndarray:
    return np.stack([np.broadcast_to(np.asarray(probe.meter_ohm, dtype=float), (samples,)) for probe in probes])


def _dc(operating: Operating, probes: Sequence[Probe], loose: bool) -> np.ndarray:
    """All meters at once, each in a copy of the samples of its own."""
    samples, count = operating.samples, len(probes)
    pairs = tuple(_pairs(operating, probes))
    system = System(operating.system.network, pairs)
    columns = np.tile(np.arange(samples), count)
    siemens = np.zeros((count, count * samples))
    for k, ohm in enumerate(_ohms(probes, samples)):
        siemens[k, k * samples : (k + 1) * samples] = 1.0 / ohm
    case = replace(operating.case.take(columns), meters=siemens)
    start = _loaded(operating, pairs, _ohms(probes, samples)).reshape(-1, count * samples)
    solved = solve(system, case, start)
    grounded = np.concatenate([solved.volts, np.zeros((1, count * samples))])
    parts = parts_of(operating.system, operating.case.linear)
    shown = np.empty((samples, count))
    for k, (pos, neg) in enumerate(pairs):
        here = slice(k * samples, (k + 1) * samples)
        joined = (loose | (parts[pos] == parts[neg])) & solved.settled[here]
        shown[:, k] = np.where(joined, grounded[pos, here] - grounded[neg, here], np.nan)
    return shown


def _loaded(operating: Operating, pairs: Sequence[tuple[int, int]], meter_ohm: np.ndarray) -> np.ndarray:
    """Node volts (nodes, probes, samples) with each meter in place, the circuit being linear: where Newton begins."""
    system, volts = operating.system, np.nan_to_num(operating.dc_volts)
    ends = np.zeros((system.nodes + 1, len(pairs), operating.samples))
    for k, (pos, neg) in enumerate(pairs):
        ends[pos, k] += 1.0
        ends[neg, k] -= 1.0
    ends = ends[:-1]
    ohms = linearise(system, operating.case, volts).factors.solve(ends.copy())
    seen, open_v = (ends * ohms).sum(axis=0), (ends * volts[:, None]).sum(axis=0)
    start = volts[:, None] - ohms * (open_v / (seen + meter_ohm))
    return np.where(np.isfinite(start).all(axis=0), start, volts[:, None])


def _ac(operating: Operating, probes: Sequence[Probe]) -> np.ndarray:
    """Open volts of every harmonic, divided between the source's ohms and the meter's.

    Where what a rectifier does while it blocks decides the source (a winding that hangs between blocking rectifiers),
    that division means nothing, and the circuit is solved with the meter in it.
    """
    harmonics = min(LOADED_HARMONICS, len(operating.phasors))
    s = exact_symbol(harmonics, operating.system.network.mains_hz)
    pairs = _pairs(operating, probes)
    source = _source_ohms(operating, None, s, pairs)
    meters = _ohms(probes, operating.samples)
    conducting = _source_ohms(operating, operating.case.ports.siemens, s[:1], pairs)
    hangs = (np.abs(source[:, 0] - conducting[:, 0]) > HANGING_SHARE * meters).any(axis=1)
    shown = np.empty((operating.samples, len(probes)))
    for k, probe in enumerate(probes):
        if hangs[k]:
            shown[:, k] = _ac_solved(operating, probe)
            continue
        share = 1.0 / (1.0 + source[k] / meters[k])
        volts = operating.between(operating.phasors, probe.pos, probe.neg)
        volts = np.concatenate([volts[:harmonics] * share, volts[harmonics:] * share[-1:]])
        power = (np.abs(volts) ** 2).sum(axis=0) / 2.0
        shown[:, k] = np.where(np.isnan(operating.ac_rms(probe.pos, probe.neg)), np.nan, np.sqrt(power))
    return shown


def _source_ohms(
    operating: Operating, rectifiers: np.ndarray | None, s: np.ndarray, pairs: list[tuple[int, int]]
) -> np.ndarray:
    return replace(operating.ac, rectifier_siemens=rectifiers).driving_ohms(s, pairs)


def _ac_solved(operating: Operating, probe: Probe) -> np.ndarray:
    """The reading with the meter, behind its coupling capacitor, as a part of the circuit."""
    pots, inner = operating.pots, "the meter's inside"
    parts = [replace(e, position=pots[e.name]) if isinstance(e, Pot) else e for e in operating.circuit.elements]
    parts.append(Capacitor("the meter's capacitor", probe.pos, inner, COUPLING_FARAD))
    parts.append(Resistor("the meter", inner, probe.neg, probe.meter_ohm))
    found = operate(Circuit(tuple(parts), operating.circuit.mains_hz), start=operating)
    return found.ac_rms(inner, probe.neg)
