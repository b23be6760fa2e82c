"""A circuit written out for ngspice, and what that says of it: the outside source of test_spice.py.

Ideal transformers are voltage sources ruled by the primary's node with current sources that load it; a magnetising
inductance keeps direct current from passing through (its current is one thousandth of what would be felt). With
`coupled` they are coils instead, as perfectly coupled as the simulator has them, each with its own resistance.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import singledispatchmethod
from math import expm1, log, sqrt
from pathlib import Path

import numpy as np

import tests.builds
from benchtui.circuit.devices import THERMAL_V
from benchtui.circuit.elements import (
    Capacitor,
    Choke,
    Circuit,
    Diode,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Regulator,
    Resistor,
    Transistor,
    Valve,
)
from tests.builds import ngspice

LAWS = (Path(tests.builds.__file__).parent / "laws.cir").read_text("utf-8").splitlines()
OPTIONS = ".options method=gear reltol=1e-4 abstol=1e-9 vntol=1e-5 rshunt=1e12 cshunt=1e-11 itl4=100 gmin=1e-11"
MAGNETISING_HENRY = 5.0
COUPLED_HENRY = 2.0


@dataclass
class Deck:
    """Lines of a deck; the circuit must hold plain numbers. `begin` gives volts that nodes begin with."""

    hz: float
    begin: dict[str, float]
    coupled: bool = False
    lines: list[str] = field(default_factory=list)

    def line(self, text: str) -> None:
        self.lines.append(text)

    @singledispatchmethod
    def add(self, element: object) -> None:
        raise TypeError(f"no line for {element!r}")

    @add.register
    def _(self, e: Resistor) -> None:
        self.line(f"R{e.name} {e.a} {e.b} {max(e.ohm, 1e-3):.9g}")

    @add.register
    def _(self, e: Pot) -> None:
        self.line(f"R{e.name}1 {e.end_1} {e.wiper} {e.ohm * e.position:.9g}")
        self.line(f"R{e.name}2 {e.wiper} {e.end_2} {e.ohm * (1 - e.position):.9g}")

    @add.register
    def _(self, e: Capacitor) -> None:
        volts = self.begin.get(e.a, 0.0) - self.begin.get(e.b, 0.0)
        self.line(f"C{e.name} {e.a} {e.b} {e.farad:.9g} ic={volts:.9g}")

    @add.register
    def _(self, e: Choke) -> None:
        self.line(f"L{e.name} {e.a} {e.name}_x {e.henry:.9g} ic=0")
        self.line(f"R{e.name} {e.name}_x {e.b} {e.ohm:.9g}")

    @add.register
    def _(self, e: MainsTransformer) -> None:
        self.line(f"V{e.name} {e.name}_m 0 SIN(0 {sqrt(2) * e.mains_v:.9g} {self.hz})")
        self.line(f"R{e.name} {e.name}_m {e.name}_p {max(e.primary_ohm, 1e-3):.9g}")
        if self.coupled:
            self._coupled(e)
            return
        self.line(f"L{e.name} {e.name}_p 0 {MAGNETISING_HENRY}")
        for w in e.windings:
            self.line(f"E{w.name} {w.name}_i {w.name}_s {e.name}_p 0 {w.ratio:.9g}")
            self.line(f"V{w.name}_s {w.name}_s {w.b} 0")
            self.line(f"F{w.name} {e.name}_p 0 V{w.name}_s {-w.ratio:.9g}")
            self.line(f"R{w.name} {w.name}_i {w.a} {max(w.ohm, 1e-3):.9g}")

    def _coupled(self, e: MainsTransformer) -> None:
        coils = [f"L{e.name}"]
        self.line(f"L{e.name} {e.name}_p 0 {COUPLED_HENRY} ic=0")
        for w in e.windings:
            self.line(f"L{w.name} {w.name}_i {w.b} {COUPLED_HENRY * w.ratio**2:.12g} ic=0")
            self.line(f"R{w.name} {w.name}_i {w.a} {max(w.ohm, 1e-3):.9g}")
            self.lines.extend(f"K{coil}{w.name} {coil} L{w.name} 1" for coil in coils)
            coils.append(f"L{w.name}")

    @add.register
    def _(self, e: Diode) -> None:
        c = e.law.constants
        self.line(f"V{e.name} {e.anode} {e.name}_x 0")
        if e.law.form == "silicon":
            saturation, ohm = c.get("is_a", c.get("is")), c.get("rs_ohm", c.get("rs"))
            self.line(f".model m_{e.name} D(IS={saturation} N={c['n']} RS={ohm} CJO=10p)")
            self.line(f"D{e.name} {e.name}_x {e.cathode} m_{e.name}")
        else:
            perveance = c.get("perveance_a_v15", c.get("kd"))
            self.line(f"X{e.name} {e.name}_x {e.cathode} vacuum_perveance p={perveance}")

    @add.register
    def _(self, e: Regulator) -> None:
        """A zener diode is ngspice's own diode with its breakdown; a gas valve, burning, has its law written out."""
        c = e.law.constants
        ohm = c["slope_ohm"] - c["knee_v"] / c["at_a"]
        if e.law.form == "zener":
            breakdown = f"BV={c['breakdown_v'] - ohm * c['at_a']:.9g} IBV={c['at_a']} NBV={c['knee_v'] / THERMAL_V:.9g}"
            self.line(f".model m_{e.name} D(IS={c['is_a']} N={c['n']} RS={ohm:.9g} {breakdown})")
            self.line(f"D{e.name} {e.anode} {e.cathode} m_{e.name}")
            return
        over = f"(v({e.name}_x,{e.cathode}) - {c['burning_v'] - ohm * c['at_a']:.9g})/{c['knee_v']}"
        self.line(f"R{e.name} {e.anode} {e.name}_x {ohm:.9g}")
        self.line(f"B{e.name} {e.name}_x {e.cathode} I = {c['at_a']}*exp(min({over},50))")

    @add.register
    def _(self, e: Transistor) -> None:
        """ngspice's own models: a junction field-effect transistor, and Ebers and Moll's with Early's factor."""
        c, n = e.law.constants, e.law.constants["polarity"] > 0
        if e.law.form == "bipolar":
            letter, kind = "Q", "NPN" if n else "PNP"
            constants = f"IS={c['saturation_a']} BF={c['gain']} BR=1 VAF={c['early_v']}"
        else:
            letter, kind, beta = "J", "NJF" if n else "PJF", c["idss_a"] / c["pinch_off_v"] ** 2
            constants = f"VTO={-c['pinch_off_v']} BETA={beta:.9g} LAMBDA={1 / c['modulation_v']:.9g}"
        self.line(f".model m_{e.name} {kind}({constants})")
        self.line(f"{letter}{e.name} {e.collector} {e.base} {e.emitter} m_{e.name}")

    @add.register
    def _(self, e: Valve) -> None:
        nodes = [e.anode, e.grid, *([e.screen] if e.screen else []), e.cathode]
        held = dict(e.law.constants)
        if "start_v" in held:
            self._early_grid(e, held.pop("start_v"), held.get("gg", 1e-3))
            held["gg"] = 0.0
        constants = " ".join(f"{key}={value:.9g}" for key, value in held.items())
        self.line(f"X{e.name} {' '.join(nodes)} {e.law.form} {constants}")

    def _early_grid(self, e: Valve, start_v: float, perveance: float) -> None:
        """Grid current that begins below the cathode: 0.3 uA at -start_v, e-fold in 0.13 V times 2/3 below."""
        offset = 0.13 * log(expm1((0.3e-6 / perveance) ** (2 / 3) / 0.13)) + start_v
        self.line(f"B{e.name}e {e.name}_e 0 V = 0.13*ln(1+exp(min((v({e.grid},{e.cathode})+{offset:.9g})/0.13,40)))")
        self.line(f"B{e.name}g {e.grid} {e.cathode} I = {perveance:.9g}*pow(v({e.name}_e),1.5)")

    @add.register
    def _(self, e: OutputTransformer) -> None:
        """Coils from chassis-side ends outwards; all pairs coupled alike."""
        coils: list[tuple[str, float]] = []
        halves = [(e.anode_a, 0, 1)] + ([(e.anode_b, 1, -1)] if e.anode_b else [])
        taps = e.screen_taps or (None, None, 0.0)
        for anode, half, sign in halves:
            tap, share = taps[half], taps[2]
            parts = [(e.ht, tap, share), (tap, anode, 1 - share)] if tap else [(e.ht, anode, 1.0)]
            for inner, outer, part in parts:
                self._coil(e, coils, outer, inner, sign, part / len(halves), e.half_ohm[half] * part)
            if e.winding_farad:
                volts = self.begin.get(anode, 0.0) - self.begin.get(e.ht, 0.0)
                self.line(f"C{e.name}h{half} {anode} {e.ht} {e.winding_farad:.9g} ic={volts:.9g}")
            if e.core_loss_ohm < 1e12:
                self.line(f"R{e.name}h{half} {coils[-1][0]}_x {e.ht} {e.core_loss_ohm:.9g}")
        self._coil(e, coils, e.hot, e.cold, 1, 1 / e.ratio, e.secondary_ohm)
        for i, (one, _) in enumerate(coils):
            for other, _ in coils[i + 1 :]:
                self.line(f"K{one}{other} L{one} L{other} {sqrt(1 - e.leakage_henry / e.primary_henry):.9g}")

    def _coil(
        self, e: OutputTransformer, coils: list, outer: str, inner: str, sign: int, turns: float, ohm: float
    ) -> None:
        name = f"{e.name}{len(coils)}"
        dotted = (f"{name}_x", inner) if sign > 0 else (inner, f"{name}_x")
        self.line(f"L{name} {dotted[0]} {dotted[1]} {e.primary_henry * turns**2:.9g} ic=0")
        self.line(f"R{name} {outer} {name}_x {ohm:.9g}")
        coils.append((name, turns))


@dataclass(frozen=True)
class Rest:
    """The last cycles of a run that has come to rest."""

    vectors: dict[str, np.ndarray]

    def _mean(self, wave: np.ndarray) -> float:
        time = self.vectors["time"]
        return float(np.trapezoid(wave, time) / (time[-1] - time[0]))

    def volts(self, pos: str, neg: str = "0") -> np.ndarray:
        """Volts between two nodes over time."""
        at = [np.zeros(1) if node == "0" else self.vectors[f"v({node.lower()})"] for node in (pos, neg)]
        return at[0] - at[1]

    def amps(self, diode: str) -> np.ndarray:
        """Amperes through a rectifier over time."""
        return self.vectors[f"i(v{diode.lower()})"]

    def dc(self, pos: str, neg: str = "0") -> float:
        """Mean volts."""
        return self._mean(self.volts(pos, neg))

    def ac(self, pos: str, neg: str = "0") -> float:
        """Volts rms without the mean."""
        wave = self.volts(pos, neg)
        return sqrt(self._mean((wave - self._mean(wave)) ** 2))

    def rms(self, wave: np.ndarray) -> float:
        """The rms of a wave."""
        return sqrt(self._mean(wave**2))


def at_rest(
    circuit: Circuit,
    begin: dict[str, float],
    *,
    run_s: float,
    last_s: float = 0.2,
    step_s: float = 5e-5,
    coupled: bool = False,
) -> Rest:
    """ngspice's run of the circuit for `run_s` from the volts `begin`, of which the last `last_s` are kept."""
    return Rest(run(circuit, begin, run_s=run_s, keep_from_s=run_s - last_s, step_s=step_s, coupled=coupled))


def run(
    circuit: Circuit,
    begin: dict[str, float],
    *,
    run_s: float,
    keep_from_s: float,
    step_s: float,
    coupled: bool = False,
) -> dict[str, np.ndarray]:
    """The vectors of a transient run."""
    deck = Deck(circuit.mains_hz, begin, coupled)
    for element in circuit.elements:
        deck.add(element)
    starts = [f".ic v({node})={volts:.9g}" for node, volts in begin.items()]
    control = [f"tran {step_s} {run_s} {keep_from_s} {step_s} uic", "write out.raw", ".endc", ".end"]
    return ngspice.transient(["* test", *LAWS, OPTIONS, *deck.lines, *starts, ".control", *control])


def winding_ohms(e: OutputTransformer) -> list[Resistor]:
    """An output transformer as nothing but the resistances of its windings, for runs of seconds and minutes."""
    halves = zip((e.anode_a, e.anode_b), e.half_ohm, strict=False)
    found = [Resistor(f"{e.name}h{k}", anode, e.ht, ohm) for k, (anode, ohm) in enumerate(halves) if anode]
    taps = e.screen_taps[:2] if e.screen_taps else ()
    found += [Resistor(f"{e.name}t{k}", tap, e.ht, e.half_ohm[k]) for k, tap in enumerate(taps) if tap]
    return [*found, Resistor(f"{e.name}s", e.hot, e.cold, e.secondary_ohm)]
