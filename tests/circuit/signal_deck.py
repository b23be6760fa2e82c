"""The reference amplifiers' signals by ngspice: gain over frequency, output impedance, and a sine through a transient.

`held` replaces the mains' side by what its rectifiers pass on average near a state of ours: an operating point exists
then, and a transient settles in the time of the bypass capacitors. `whole` has the mains, and needs a second and more.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from benchtui.circuit.elements import Choke, Circuit, Diode, Element, MainsTransformer, Pot, Resistor, Valve
from benchtui.circuit.operating import Operating
from benchtui.circuit.signal import Source
from tests.builds import ngspice
from tests.circuit.deck import LAWS, Deck

Supply = Literal["held", "whole"]

OPTIONS = ".options method=trap reltol=1e-5 abstol=1e-10 vntol=1e-6 rshunt=1e12 itl4=100 gmin=1e-12"

MAINS_CYCLES = 10
"""Of a transient that are kept: its harmonics then lie on lines of their own, between those of the mains."""


@dataclass
class SignalDeck(Deck):
    """A deck with a generator, valves' capacitance, coils that begin with their direct current, and maybe no mains."""

    source: Source | None = None
    supply: Supply = "held"
    sine: str = "0"
    ports: dict[str, list[str]] = field(default_factory=dict)

    def add(self, element: Element) -> None:
        if self.source is not None and element.name == self.source.name:
            self.line(f"R{element.name} {element.a} {element.name}_x {element.ohm:.9g}")
            self.line(f"V{element.name} {element.name}_x {element.b} {self.sine}")
        elif isinstance(element, MainsTransformer) and self.supply == "held":
            for w in element.windings:
                self.line(f"R{w.name} {w.a} {w.b} {max(w.ohm, 1e-3):.9g}")
        elif isinstance(element, Diode) and self.supply == "held":
            self.lines.extend(self.ports[element.name])
        elif isinstance(element, Choke):
            self.line(f"L{element.name} {element.a} {element.name}_x {element.henry:.9g} ic={self._direct(element)}")
            self.line(f"R{element.name} {element.name}_x {element.b} {element.ohm:.9g}")
        else:
            super().add(element)
        if isinstance(element, Valve):
            self._electrodes(element)

    def _volts(self, a: str, b: str) -> float:
        return self.begin.get(a, 0.0) - self.begin.get(b, 0.0)

    def _direct(self, e: Choke) -> str:
        return f"{self._volts(e.a, e.b) / e.ohm:.9g}"

    def _electrodes(self, e: Valve) -> None:
        ends = ("ag", e.anode, e.grid, e.anode_grid_farad), ("gk", e.grid, e.cathode, e.grid_cathode_farad)
        for name, a, b, farad in (*ends, ("ak", e.anode, e.cathode, e.anode_cathode_farad)):
            self.line(f"C{e.name}{name} {a} {b} {farad:.9g} ic={self._volts(a, b):.9g}")

    def _coil(self, e, coils, outer, inner, sign, turns, ohm):  # noqa: ANN001, ANN202
        super()._coil(e, coils, outer, inner, sign, turns, ohm)
        amps = sign * self._volts(outer, inner) / ohm
        self.lines[-2] = self.lines[-2].replace("ic=0", f"ic={amps:.9g}")


def norton(operating: Operating) -> dict[str, list[str]]:
    """For each rectifier the lines of its mean current's law at the operating point."""
    net, ports = operating.system.network, operating.case.ports
    ends = [(element.anode, element.cathode) for element in operating.circuit.elements if isinstance(element, Diode)]
    found = {}
    for p, (name, (a, k)) in enumerate(zip(net.rectifier_names, ends, strict=True)):
        rest = ports.amps[p, 0] - ports.siemens[p, :, 0] @ ports.at_volts[:, 0]
        found[name] = [f"I{name} {a} {k} {rest:.12g}"]
        for q, (anode, cathode) in enumerate(ends):
            found[name].append(f"G{name}{q} {a} {k} {anode} {cathode} {ports.siemens[p, q, 0]:.12g}")
    return found


def as_set(operating: Operating) -> Circuit:
    """The circuit with its pots where they were trimmed."""
    pots = operating.pots
    elements = []
    for e in operating.circuit.elements:
        if isinstance(e, Pot):
            at = float(pots[e.name][0])
            elements += [Resistor(f"{e.name}1", e.end_1, e.wiper, e.ohm * at)]
            elements += [Resistor(f"{e.name}2", e.wiper, e.end_2, e.ohm * (1 - at))]
        else:
            elements.append(e)
    return Circuit(tuple(elements), operating.circuit.mains_hz)


def _deck(operating: Operating, source: Source, begin: dict[str, float], supply: Supply, sine: str) -> SignalDeck:
    deck = SignalDeck(operating.circuit.mains_hz, begin, source=source, supply=supply, sine=sine)
    deck.ports = norton(operating)
    for element in as_set(operating).elements:
        deck.add(element)
    return deck


def node_volts(operating: Operating, volts: np.ndarray | None = None) -> dict[str, float]:
    """Volts of every node that has a name in a deck: of rest, or the given (nodes, samples)."""
    net, volts = operating.system.network, operating.dc_volts if volts is None else volts
    return {name: float(volts[k, 0]) for name, k in net.nodes.items() if k not in net.hidden}


def gain(operating: Operating, source: Source, node: str, span: str = "dec 40 0.5 2meg") -> tuple[np.ndarray, ...]:
    """Hz and complex volts of a node for one volt of EMF."""
    return _small(operating, source, node, "DC 0 AC 1", [], span)


def ohms(operating: Operating, source: Source, node: str, span: str) -> tuple[np.ndarray, np.ndarray]:
    """Hz and complex ohms seen from a node to chassis."""
    return _small(operating, source, node, "DC 0", [f"Iseen 0 {node} DC 0 AC 1"], span)


def _small(
    operating: Operating, source: Source, node: str, sine: str, more: list[str], span: str
) -> tuple[np.ndarray, np.ndarray]:
    deck = _deck(operating, source, {}, "held", sine)
    starts = [f".nodeset v({name})={volts:.9g}" for name, volts in node_volts(operating).items()]
    split = ["let re = real(out)", "let im = imag(out)"]
    control = [f"ac {span}", f"let out = v({node})", *split, "set filetype=ascii", "wrdata out.txt re im"]
    lines = ["* signal", *LAWS, OPTIONS, *deck.lines, *more, *starts, ".control", *control, ".endc", ".end"]
    table = ngspice.table(lines)
    return table[:, 0], table[:, 1] + 1j * table[:, 3]


@dataclass(frozen=True)
class Sine:
    """The last cycles of a transient with a sine: volts of the wanted nodes by name, evenly in time."""

    hz: float
    mains_hz: float
    volts: dict[str, np.ndarray]

    def phasors(self, node: str, count: int = 10) -> np.ndarray:
        """Peak phasors of harmonics 1, 2, ... of the signal."""
        wave = self.volts[node]
        cycles = round(MAINS_CYCLES * self.hz / self.mains_hz)
        return np.fft.rfft(wave)[cycles * np.arange(1, count + 1)] * 2.0 / wave.size

    def mean(self, node: str) -> float:
        """Mean volts."""
        return float(self.volts[node].mean())

    def thd(self, node: str) -> float:
        """Harmonics 2 to 10 together as a share of the first."""
        size = np.abs(self.phasors(node))
        return float(np.sqrt((size[1:] ** 2).sum()) / size[0])

    def rms(self, node: str) -> float:
        """Volts rms of harmonics 1 to 10."""
        return float(np.sqrt((np.abs(self.phasors(node)) ** 2).sum() / 2.0))


def sine(
    operating: Operating,
    source: Source,
    emf_v: float,
    nodes: list[str],
    *,
    begin: dict[str, float],
    run_s: float,
    supply: Supply = "held",
    hz: float = 1000.0,
    step_s: float = 1e-5,
) -> Sine:
    """A transient with `emf_v` rms at the source for `run_s` from the node volts `begin`."""
    deck = _deck(operating, source, begin, supply, f"SIN(0 {np.sqrt(2) * emf_v:.9g} {hz})")
    mains_hz = operating.circuit.mains_hz
    kept = MAINS_CYCLES / mains_hz
    starts = [f".ic v({name})={volts:.9g}" for name, volts in begin.items()]
    saved = " ".join(f"v({node})" for node in nodes)
    control = [f"save {saved}", f"tran {step_s} {run_s} {run_s - kept - step_s} {step_s} uic", "write out.raw"]
    lines = ["* signal", *LAWS, OPTIONS, *deck.lines, *starts, ".control", *control, ".endc", ".end"]
    found = ngspice.transient(lines, timeout_s=3000)
    time = run_s - kept + kept * np.arange(65536) / 65536
    volts = {node: _even(time, found["time"], found[f"v({node.lower()})"]) for node in nodes}
    return Sine(hz, mains_hz, volts)


def kicked(
    operating: Operating, source: Source, node: str, *, run_s: float, step_s: float
) -> tuple[np.ndarray, np.ndarray]:
    """Seconds and volts of a node after a step of 1 mV of the EMF, the supply held: does it come to rest?"""
    begin = node_volts(operating)
    deck = _deck(operating, source, begin, "held", f"PWL(0 0 {step_s} 1m)")
    starts = [f".ic v({name})={volts:.9g}" for name, volts in begin.items()]
    control = [f"save v({node})", f"tran {step_s} {run_s} 0 {step_s} uic", "write out.raw"]
    found = ngspice.transient(["* kick", *LAWS, OPTIONS, *deck.lines, *starts, ".control", *control, ".endc", ".end"])
    return found["time"], found[f"v({node.lower()})"]


def _even(at: np.ndarray, time: np.ndarray, volts: np.ndarray) -> np.ndarray:
    """Volts at even times by cubics through four neighbours: straight lines would add distortion of their own."""
    first = np.clip(np.searchsorted(time, at) - 2, 0, time.size - 4)
    places = first[:, None] + np.arange(4)
    x, y = time[places], volts[places]
    total = np.zeros(at.size)
    for k in range(4):
        others = [j for j in range(4) if j != k]
        share = np.prod([(at - x[:, j]) / (x[:, k] - x[:, j]) for j in others], axis=0)
        total += y[:, k] * share
    return total
