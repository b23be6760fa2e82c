"""Readings of a stage by ngspice: the independent source that the engine's expectations are compared with.

A stage is brought to rest with the mains rising from nothing, then run for a while from there; the last cycles give
averages, rms and stresses. A meter on a direct voltage is the difference that its resistance makes in an operating
point with the reservoirs held at their volts. Pots are trimmed there too, then the stage is run again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import pi, sqrt
from pathlib import Path

import numpy as np

from benchtui.buildfile.models import Adjustment, Build
from benchtui.buildfile.stages import FEEDBACK, SIGNAL, stages
from benchtui.parts import valves as library
from tests.builds import ngspice
from tests.builds.deck import Circuit, Moment, circuit, moment, sections

LAWS = Path(__file__).with_name("laws.cir").read_text("utf-8").splitlines()
OPTIONS = (
    ".options method=gear reltol=1e-4 abstol=1e-9 vntol=1e-5 rshunt=1e12 cshunt=1e-12 itl1=500 itl4=100 gmin=1e-12"
)
SETTLE_S = 5.0
RUN_S, MEASURED_S = 0.8, 0.4
LOOSEST_DRIFT = 2e-4
LARGE_F = 1e-6
TRIM_ROUNDS = 5
NEAR_ENOUGH = 2e-4
"""Share of a pot's track within which a trim has come to rest: well under a hundredth of a volt of bias."""


@dataclass(frozen=True)
class Run:
    """The last cycles of a stage at rest."""

    circuit: Circuit
    moment: Moment
    vectors: dict[str, np.ndarray]

    def wave(self, node: str) -> np.ndarray:
        """Volts of a node of the build to chassis."""
        name = self.circuit.names.get(node)
        if name is None:
            raise KeyError(f"node {node} is not there in stage {self.moment.stage}")
        return self.spice_wave(name)

    def spice_wave(self, name: str) -> np.ndarray:
        """Volts of a node by its name in the deck."""
        return np.zeros_like(self.time) if name == "0" else self.vectors[f"v({name})"]

    @cached_property
    def time(self) -> np.ndarray:
        return self.vectors["time"]

    def mean(self, wave: np.ndarray) -> float:
        return float(np.trapezoid(wave, self.time) / (self.time[-1] - self.time[0]))

    def rms(self, wave: np.ndarray) -> float:
        return sqrt(self.mean(wave**2))

    def ac(self, wave: np.ndarray) -> float:
        """The rms of what is left without the mean."""
        return self.rms(wave - self.mean(wave))

    def current(self, source: str) -> np.ndarray:
        """Amperes through a sense source of the deck."""
        return self.vectors[f"i({source.lower()})"]


def measure(
    build: Build, stage: str, *, mains_v: float | None = None, pots: Mapping[str, float] | None = None
) -> tuple[Run, dict[str, float]]:
    """The run of a stage and what the meter shows at its points.

    Pots stand where `pots` says; without it they are trimmed where the build trims them in this stage.
    """
    now = replace(moment(build, stage, mains_v=mains_v), pots=pots or {})
    run = settled(build, now)
    trimming = SIGNAL if stage in (FEEDBACK, "signoff") else stage  # pots are left as that stage trims them
    trims = [trim for trim in build.adjust.values() if trimming in trim.stages and pots is None]
    for _ in range(TRIM_ROUNDS if trims else 0):
        pots = _trimmed(build, run, trims)
        moved = max(abs(pots[name] - run.moment.pots.get(name, -1.0)) for name in pots)
        run = settled(build, replace(run.moment, pots=pots), run.vectors)
        if moved < NEAR_ENOUGH:
            break
    return run, readings(build, run)


def settled(build: Build, now: Moment, start: dict[str, np.ndarray] | None = None) -> Run:
    """The stage at rest, come to from nothing or from the end of another run of the same circuit."""
    made = circuit(build, now)
    vectors = start or ngspice.transient(_first_deck(build, made, now))
    for _ in range(16):
        again = ngspice.transient(_second_deck(build, made, now, vectors))
        drift = _drift(vectors, again)
        vectors = again
        if drift < LOOSEST_DRIFT:
            break
    else:
        raise ngspice.SpiceError(f"stage {now.stage} still drifts by {drift:.2g}")
    return Run(made, now, vectors)


def readings(build: Build, run: Run) -> dict[str, float]:
    """Point = what the builder's meter shows in the run's stage: volts, or ohms (infinite where nothing joins)."""
    points = {name: point for name, point in build.point.items() if run.moment.stage in point.stages}
    direct = {name: point for name, point in points.items() if point.quantity == "dc"}
    loads = _meter_loads(build, run, [(point.red, point.black) for point in direct.values()])
    found = ohms(build, run.moment)
    for name, point in points.items():
        if point.quantity == "resistance":
            continue
        wave = run.wave(point.red) - run.wave(point.black)
        if point.quantity == "dc":
            found[name] = run.mean(wave) + loads[list(direct).index(name)]
        else:
            found[name] = run.ac(wave)
    return found


def ohms(build: Build, now: Moment) -> dict[str, float]:
    """Point = ohms between its nodes with the stage unpowered, without the meter's leads."""
    points = {name: point for name, point in build.point.items() if now.stage in point.stages}
    return {
        name: resistance(build, now, point.red, point.black)
        for name, point in points.items()
        if point.quantity == "resistance"
    }


def resistance(build: Build, now: Moment, red: str, black: str) -> float:
    """Ohms between two nodes of the unpowered stage, the primary included; infinite from 1 Gohm."""
    made = circuit(build, now)
    for name, transformer in build.transformer.items():
        if transformer.primary.nodes and transformer.primary.resistance:
            made.resistor(f"{name} primary", *transformer.primary.nodes, transformer.primary.resistance)
    a, b = made.node(red), made.node(black)
    if a == b:
        return 0.0
    plain = [line for line in made.lines if not line.startswith(("V", "X", "E", "F", "RP", "K", "RW"))]
    windings = []
    for transformer in build.transformer.values():
        for key, part in transformer.windings.items():
            if key in made.windings:
                windings.append(
                    f"RC{len(windings)}_ {made.node(part.nodes[0])} {made.node(part.nodes[1])} {part.resistance:.9g}"
                )
    coils = [f"RX{name} {ends.rsplit(' ', 1)[0]} 1e-6" for name, ends in made.coils]
    lines = ["* ohms", *plain, *windings, *coils, f"IX {b} {a} 1e-3", ".options rshunt=1e13", ".control", "op"]
    ohm = ngspice.shown([*lines, *ngspice.show(_difference(a, b)), ".endc", ".end"])[0] / 1e-3
    return ohm if abs(ohm) < 1e9 else float("inf")


def _first_deck(build: Build, made: Circuit, now: Moment) -> list[str]:
    """From nothing, with the mains rising, in coarse steps; the last 40 ms are kept."""
    crest, hertz = sqrt(2) * now.mains_v, build.mains.frequency
    mains = f"BM mains 0 V = {crest:.9g}*min(1,time/1.5)*sin({2 * pi * hertz:.12g}*time)"
    run = f"tran 4e-4 {SETTLE_S} {SETTLE_S - 0.04} 4e-4 uic"
    coils = [f"{name} {ends}" for name, ends in made.coils]
    return _deck([mains, *coils, *_capacitors(made)], made, run)


def _second_deck(build: Build, made: Circuit, now: Moment, before: dict[str, np.ndarray]) -> list[str]:
    """From where the last run ended (whole mains cycles from zero), in fine steps."""
    crest = sqrt(2) * now.mains_v
    mains = f"VM mains 0 SIN(0 {crest:.9g} {build.mains.frequency:.9g})"
    coils = [f"{name} {ends} ic={before[f'i({name.lower()})'][-1]:.9g}" for name, ends in made.coils]
    start = [f".ic {name}={wave[-1]:.9g}" for name, wave in before.items() if name.startswith("v(") and "." not in name]
    run = f"tran 1e-4 {RUN_S} {RUN_S - MEASURED_S} 1e-4 uic"
    return _deck([mains, *coils, *_capacitors(made), *start], made, run)


def _capacitors(made: Circuit) -> list[str]:
    return [f"C{k}_ {a} {b} {farad:.9g}" for k, (a, b, farad) in enumerate(made.capacitors.values())]


def _deck(own: list[str], made: Circuit, run: str) -> list[str]:
    control = [".control", "set filetype=binary", run, "write out.raw", "quit", ".endc", ".end"]
    return ["* stage", OPTIONS, *LAWS, *made.lines, *made.diodes, *own, *control]


def _drift(before: dict[str, np.ndarray], after: dict[str, np.ndarray]) -> float:
    """Largest change of a node's mean from one run to the next, as a share of it (of 10 V at least)."""
    worst = 0.0
    for name in before.keys() & after.keys():
        if name.startswith("v(") and "." not in name:
            was, now = _mean(before, name), _mean(after, name)
            worst = max(worst, abs(now - was) / max(abs(now), 10.0))
    return worst


def _mean(vectors: dict[str, np.ndarray], name: str) -> float:
    time = vectors["time"]
    return float(np.trapezoid(vectors[name], time) / (time[-1] - time[0]))


def _held(run: Run) -> list[str]:
    """The stage without mains and rectifiers, every reservoir held at its mean volts."""
    made = run.circuit
    reservoirs = _reservoirs(made)
    coils = [f"RX{name} {text.rsplit(' ', 1)[0]} 1e-6" for name, text in made.coils]
    sources = []
    for k, (name, (a, b, _)) in enumerate(made.capacitors.items()):
        if name in reservoirs:
            volts = run.mean(run.spice_wave(a) - run.spice_wave(b))
            sources.append(f"VH{k}_ {a} {b} {volts:.9g}")
    start = [
        f".nodeset v({name})={_mean(run.vectors, f'v({name})'):.9g}" for name in made.names.values() if name != "0"
    ]
    lines = [line for line in made.lines if not line.startswith("K")]
    return ["* held", OPTIONS, *LAWS, *lines, "VM mains 0 0", *coils, *sources, *start]


def _reservoirs(made: Circuit) -> set[str]:
    """Large capacitors at a rectifier, or behind a choke where there is none at the rectifier (choke input)."""
    near, far = _joined(made, coils=False), _joined(made, coils=True)
    large = {name: {a, b} for name, (a, b, farad) in made.capacitors.items() if farad >= LARGE_F}
    found: set[str] = set()
    for end in {node for pair in made.rectifiers.values() for node in pair}:
        for joined in (near, far):
            there = {name for name, nodes in large.items() if joined[end] in {joined[node] for node in nodes}}
            if joined[end] != joined["0"] and there:
                found |= there
                break
    return found


def _joined(made: Circuit, *, coils: bool, most_ohm: float = 20.0) -> dict[str, str]:
    """Spice node -> the node that stands for all joined with it by at most `most_ohm`, or by a coil if wanted."""
    root = {name: name for name in made.names.values()}

    def top(name: str) -> str:
        while root[name] != name:
            name = root[name]
        return name

    wires = [(a, b) for a, b, ohm in made.resistors.values() if ohm <= most_ohm]
    if coils:
        inner = {a: b for a, b, _ in made.resistors.values()}
        ends = [text.split()[:2] for _, text in made.coils]
        wires += [(a, b) for a, b in ends] + [(b, inner[b]) for _, b in ends if b in inner]
    for a, b in wires:
        root[top(a)] = top(b)
    return {name: top(name) for name in root}


def _meter_loads(build: Build, run: Run, pairs: list[tuple[str, str]]) -> list[float]:
    """What the meter's resistance changes at each pair of nodes, in volts."""
    if not pairs:
        return []
    names = [(run.circuit.node(red), run.circuit.node(black)) for red, black in pairs]
    meters = [f"RM{k} {a} {b} 1e15" for k, (a, b) in enumerate(names)]
    control = [".control", "op"]
    for a, b in names:
        control += ngspice.show(_difference(a, b))
    for k, (a, b) in enumerate(names):
        control += [f"alter RM{k} = {build.meter.input:.9g}", "op", *ngspice.show(_difference(a, b))]
        control.append(f"alter RM{k} = 1e15")
    values = ngspice.shown([*_held(run), *meters, *control, ".endc", ".end"])
    if len(values) != 2 * len(names):
        raise ngspice.SpiceError(f"{len(values)} values for {len(names)} points of stage {run.moment.stage}")
    return [loaded - free for free, loaded in zip(values[: len(names)], values[len(names) :], strict=True)]


def _difference(a: str, b: str) -> str:
    return f"v({a})-v({b})".replace("-v(0)", "").replace("v(0)-", "-1*")


def _trimmed(build: Build, run: Run, trims: list[Adjustment]) -> dict[str, float]:
    """Pot positions at which every trim reads its target, the reservoirs held, each pot in turn."""
    pots = {trim.pot: run.moment.pots.get(trim.pot, 0.5) for trim in trims}
    for trim in trims:
        pots[trim.pot] = _solved(build, run, trim, pots)
    return pots


def _solved(build: Build, run: Run, trim: Adjustment, pots: dict[str, float]) -> float:
    """The position of one pot for its target, the others where they stand: regula falsi with halved weights."""

    def miss(position: float) -> float:
        made = circuit(build, replace(run.moment, pots=pots | {trim.pot: position}))
        return _miss(build, replace(run, circuit=made), trim)

    here = pots[trim.pot]
    low, high = max(here - 0.05, 0.0), min(here + 0.05, 1.0)
    at_low, at_high = miss(low), miss(high)
    while at_low * at_high > 0:
        if low == 0.0 and high == 1.0:
            raise ngspice.SpiceError(f"pot {trim.pot} does not reach its target")
        low, high = max(low - 0.15, 0.0), min(high + 0.15, 1.0)
        at_low, at_high = miss(low), miss(high)
    for _ in range(20):
        middle = low - at_low * (high - low) / (at_high - at_low)
        found = miss(middle)
        if abs(found) < 1e-5 or high - low < 1e-6:
            return middle
        if found * at_high < 0:
            low, at_low = high, at_high
        else:
            at_low /= 2
        high, at_high = middle, found
    raise ngspice.SpiceError(f"pot {trim.pot} does not come to rest")


def _miss(build: Build, run: Run, trim: Adjustment) -> float:
    if trim.target is not None:
        point = build.point[trim.point]
        a, b = run.circuit.node(point.red), run.circuit.node(point.black)
        meter = f"RM {a} {b} {build.meter.input:.9g}"
        lines = [*_held(run), meter, ".control", "op", *ngspice.show(_difference(a, b)), ".endc", ".end"]
        return ngspice.shown(lines)[0] - trim.target
    section = next(s for ref in build.valve for s in sections(build, ref) if s.id == trim.valve)
    anode, cathode = run.circuit.node(section.nodes["anode"]), run.circuit.node(section.nodes["cathode"])
    source = f"VA{list(run.circuit.sections).index(section.id) + 1}_"
    wanted = [*ngspice.show(_difference(anode, cathode)), *ngspice.show(f"i({source})")]
    volts, amps = ngspice.shown([*_held(run), ".control", "op", *wanted, ".endc", ".end"])
    return volts * amps - trim.dissipation * anode_limit(build, section.valve)


def anode_limit(build: Build, valve: str) -> float:
    """The anode dissipation that a valve's type is rated for, in watts."""
    own = build.limits.get(build.valve[valve].type)
    if own is not None and own.anode_w is not None:
        return own.anode_w
    return library.find(build.valve[valve].type).limits["anode_w"].value


def in_order(build: Build) -> list[str]:
    """The stages that the build passes through."""
    return [info.id for info in stages(build)]


def powered(build: Build) -> list[str]:
    """The stages of a build in which something is read with the mains on."""
    live = {stage for point in build.point.values() if point.quantity != "resistance" for stage in point.stages}
    return [stage for stage in in_order(build) if stage in live]
