"""Small signals: gain, output impedance, corners, peaking and the answer to a square wave, at an operating point.

A `Source` is a resistor of the circuit with an EMF in series, so the operating point already has it connected. At
audio the rectifiers conduct as they do on average (`Ports.siemens`): below some hertz that is what the supply is, above
them its capacitors are all that counts. Valves have the capacitance between their electrodes here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from benchtui.circuit.ac import AcCircuit, pair_ends
from benchtui.circuit.elements import CHASSIS, Circuit, Resistor, Value
from benchtui.circuit.operating import Operating
from benchtui.circuit.system import between

Pair = tuple[str, str]
"""Two nodes by name, the positive one first."""

HALF_POWER = np.sqrt(0.5)

PER_DECADE, CORNER_STEPS = 24, 4
"""Of a response: how many frequencies are solved, and how often a corner between two of them is sought again."""

WHOLE_HZ, WHOLE_PER_DECADE = (1e-3, 1e9), 30
"""Where oscillation is looked for, and how closely."""

ODD_HARMONICS, SQUARE_POINTS = 128, 1024
"""Of a square wave: how many are summed, and how many times a cycle."""

SETTLED_SHARE = 0.05
"""The last share of a half cycle, over which a square wave's flat part is averaged."""


@dataclass(frozen=True, eq=False)
class Source:
    """A signal generator of `ohm` from `pos` to `neg`; its EMF makes `pos` positive. `connected` puts it in."""

    name: str
    pos: str
    neg: str = CHASSIS
    ohm: Value = 600.0


def connected(circuit: Circuit, *sources: Source) -> Circuit:
    """The circuit with the sources across their nodes, silent."""
    return Circuit((*circuit.elements, *(Resistor(s.name, s.pos, s.neg, s.ohm) for s in sources)), circuit.mains_hz)


def audio(operating: Operating) -> AcCircuit:
    """The circuit as a small signal meets it."""
    anode_grid, grid_cathode, anode_cathode = np.moveaxis(operating.system.network.device_farads, 1, 0)
    farads = np.zeros((len(anode_grid), 3, 3, operating.samples))
    farads[:, 0, 0], farads[:, 2, 2] = anode_grid + anode_cathode, anode_grid + grid_cathode
    farads[:, 0, 2] = farads[:, 2, 0] = -anode_grid
    return replace(operating.ac, rectifier_siemens=operating.case.ports.siemens, farads=farads)


def drive_of(operating: Operating, source: Source) -> tuple[np.ndarray, np.ndarray]:
    """Where 1 A goes in and out (nodes, 1) for a source, and its siemens (samples,), which times an EMF are amperes.

    Raises KeyError where the circuit was solved without it.
    """
    net = operating.system.network
    if source.name not in net.linear_names:
        raise KeyError(f"the circuit has no source {source.name!r}: connect it before the operating point is solved")
    ends = pair_ends(operating.system.nodes, [(net.index(source.pos), net.index(source.neg))])
    return ends, operating.case.linear[net.linear_names[source.name]]


def gain(operating: Operating, source: Source, probes: Sequence[Pair], hz: np.ndarray) -> np.ndarray:
    """Complex volts between each pair of nodes for one volt of the source's EMF: (samples, probes, hz).

    `hz` is (frequencies,), or (frequencies, samples). Raises KeyError for a source or node that the circuit lacks;
    samples that did not settle are NaN.
    """
    ends, siemens = drive_of(operating, source)
    s = 2j * np.pi * np.asarray(hz, dtype=float)
    with np.errstate(all="ignore"):
        volts = siemens * audio(operating).answers(s, ends)[:, 0]
    found = np.stack([_across(operating, volts, probe) for probe in probes])
    found[..., ~operating.settled] = np.nan
    return np.moveaxis(found, -1, 0)


def output_ohms(operating: Operating, probe: Pair, hz: np.ndarray, *, load: str | None = None) -> np.ndarray:
    """Complex ohms seen between two nodes (samples, hz), with the resistor called `load` taken off.

    Raises KeyError for a node or load that the circuit lacks; samples that did not settle are NaN.
    """
    net = operating.system.network
    if load is not None and load not in net.linear_names:
        raise KeyError(f"the circuit has no load {load!r}; it has {', '.join(sorted(net.linear_names))}")
    loaded = 0.0 if load is None else operating.case.linear[net.linear_names[load]]
    pair = (net.index(probe[0]), net.index(probe[1]))
    with np.errstate(all="ignore"):
        seen = audio(operating).driving_ohms(2j * np.pi * np.asarray(hz, dtype=float), [pair])[0]
        found = 1.0 / (1.0 / seen - loaded)
    found[:, ~operating.settled] = np.nan
    return found.T


def stable(operating: Operating) -> np.ndarray:
    """Whether each sample (samples,) comes to rest after a small disturbance, at whatever frequency: no oscillation.

    With nothing of its valves but what each electrode conducts by itself the circuit is passive, so at rest: that much
    stays in, since beside a coil it is all there is at the highest frequencies. The ratio of both determinants from no
    frequency to the highest turns by half a turn for each way in which the circuit with valves grows (Nyquist's
    criterion for the whole return difference: H. W. Bode, "Network Analysis and Feedback Amplifier Design", 1945, from
    memory).
    """
    ac = audio(operating)
    decades = np.log10(WHOLE_HZ[1] / WHOLE_HZ[0])
    s = 2j * np.pi * np.geomspace(*WHOLE_HZ, round(WHOLE_PER_DECADE * decades))
    passive = replace(ac, valve_siemens=np.maximum(ac.valve_siemens * np.eye(3)[..., None], 0.0))
    with np.errstate(all="ignore"):
        turned = np.unwrap((ac.log_determinant(s) - passive.log_determinant(s)).imag, axis=0)
    return operating.settled & (np.abs(turned[-1] - turned[0]) < np.pi / 2.0)


@dataclass(frozen=True, eq=False)
class Response:
    """Gain over frequency: `gain` (samples, hz) complex, and what stands out in it, each (samples,).

    `mid` is the gain's size at the middle frequency. The corners are where it first falls to 0.707 of that on either
    side, NaN where it does not within the range. Peaks are dB above `mid`, 0 where it only falls: some dB at an end
    speak for feedback that is close to oscillating there (textbook). Gain has a meaning only where it is `stable`.
    """

    hz: np.ndarray
    gain: np.ndarray
    mid: np.ndarray
    low_hz: np.ndarray
    high_hz: np.ndarray
    low_peak_db: np.ndarray
    high_peak_db: np.ndarray


def response(
    operating: Operating,
    source: Source,
    probe: Pair,
    *,
    middle_hz: float = 1000.0,
    span_hz: tuple[float, float] = (0.5, 2e6),
) -> Response:
    """Gain from the source's EMF to two nodes over the span, its corners and peaks. Raises KeyError as `gain` does."""
    ends = [
        np.geomspace(middle_hz, end, 1 + int(np.ceil(PER_DECADE * abs(np.log10(end / middle_hz))))) for end in span_hz
    ]
    low, high = (gain(operating, source, [probe], hz)[:, 0] for hz in ends)
    mid = np.abs(low[:, 0])
    corners = _corners(operating, source, probe, ends, [low, high], mid)
    peaks = [20.0 * np.log10(np.abs(side).max(axis=1) / mid) for side in (low, high)]
    return Response(
        np.concatenate([ends[0][:0:-1], ends[1]]), np.concatenate([low[:, :0:-1], high], axis=1), mid, *corners, *peaks
    )


def _corners(
    operating: Operating, source: Source, probe: Pair, hz: list[np.ndarray], sides: list[np.ndarray], mid: np.ndarray
) -> list[np.ndarray]:
    """Hz (samples,) of the low and the high corner: bracketed on the grid, then by straight lines in logarithms."""
    inner, outer = np.empty((2, 2, mid.size)), np.empty((2, 2, mid.size))
    found = np.zeros((2, mid.size), dtype=bool)
    for k, (at, side) in enumerate(zip(hz, sides, strict=True)):
        level = np.log(np.abs(side) / (HALF_POWER * mid[:, None]))
        beyond = level < 0
        found[k] = beyond.any(axis=1)
        first = np.where(found[k], beyond.argmax(axis=1), 1)
        for edge, place in ((inner, first - 1), (outer, first)):
            edge[k] = np.log(at[place]), np.take_along_axis(level, place[:, None], axis=1)[:, 0]
    for _ in range(CORNER_STEPS):
        share = inner[:, 1] / (inner[:, 1] - outer[:, 1])
        middle = inner[:, 0] + np.clip(np.nan_to_num(share), 0.02, 0.98) * (outer[:, 0] - inner[:, 0])
        at = np.abs(gain(operating, source, [probe], np.exp(middle))[:, 0]).T
        level = np.log(at / (HALF_POWER * mid))
        for edge, here in ((inner, level >= 0), (outer, level < 0)):
            edge[:, 0], edge[:, 1] = np.where(here, middle, edge[:, 0]), np.where(here, level, edge[:, 1])
    return [np.where(each, np.exp(at), np.nan) for each, at in zip(found, middle, strict=True)]


@dataclass(frozen=True, eq=False)
class SquareWave:
    """One cycle of the answer (samples, points) to a square wave of +-1 V, the first half positive; its overshoot.

    `overshoot_pct` (samples,) is by how much its crest stands above its flat part, in per cent of the step. Both have a
    meaning only where the circuit is `stable`.
    """

    volts: np.ndarray
    overshoot_pct: np.ndarray


def square_wave(operating: Operating, source: Source, probe: Pair, hz: float = 10e3) -> SquareWave:
    """The answer between two nodes to a square wave of the source's EMF; small, so valves do not limit it.

    Summed from odd harmonics, each weighed by Lanczos' factor, so that the sum itself does not overshoot (textbook):
    its edges take 1/250 of a cycle. Raises KeyError as `gain` does.
    """
    odd = 2 * np.arange(ODD_HARMONICS) + 1
    weight = 4.0 / (np.pi * odd) * np.sinc(odd / (2.0 * ODD_HARMONICS))
    phasors = gain(operating, source, [probe], hz * odd)[:, 0] * weight
    spectrum = np.zeros((operating.samples, SQUARE_POINTS // 2 + 1), dtype=complex)
    spectrum[:, odd] = phasors * SQUARE_POINTS / 2j
    volts = np.fft.irfft(spectrum, SQUARE_POINTS)
    half = SQUARE_POINTS // 2
    flat = volts[:, round(half * (1.0 - 2.0 * SETTLED_SHARE)) : round(half * (1.0 - SETTLED_SHARE))].mean(axis=1)
    crest = (volts[:, :half] * np.sign(flat)[:, None]).max(axis=1)
    return SquareWave(volts, 50.0 * np.maximum(crest / np.abs(flat) - 1.0, 0.0))


def _across(operating: Operating, volts: np.ndarray, probe: Pair) -> np.ndarray:
    """Volts (..., samples) between two nodes of node volts (nodes, ..., samples)."""
    net = operating.system.network
    pos, neg = net.index(probe[0]), net.index(probe[1])
    return between(np.moveaxis(volts, 0, -2), pos, neg)
