"""A stage of a build as an ngspice circuit, made from the build's models and the parts library alone.

Nothing of `benchtui.circuit` or `benchtui.assemble` is used: this is the second opinion that they are compared with.
The windings of a mains transformer share its primary's resistance: each is an ideal transformer (a voltage source
ruled by the primary's volts, and a current source that loads the primary).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import combinations
from math import sqrt
from typing import Any

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import fitted
from benchtui.parts import sections as layout
from benchtui.parts import valves as library
from benchtui.parts.errors import PartError

CHASSIS = "0"


@dataclass(frozen=True)
class Section:
    """One wired section of a valve: electrode = node, and its law."""

    id: str
    valve: str
    nodes: Mapping[str, str]
    form: str
    constants: Mapping[str, float]


@dataclass(frozen=True)
class Circuit:
    """Lines of a deck by what they are, and what its parts are called in it.

    Nodes are by their names in the deck: `capacitors` and `resistors` hold (node, node, value), `rectifiers` (anode,
    cathode). `coils` are (name, nodes and henries), written out by the run that knows their first currents. The
    sense sources are VW (windings), VD (rectifiers), VA and VS (anode and screen of a section), numbered from 1.
    """

    lines: list[str] = field(default_factory=list)
    diodes: list[str] = field(default_factory=list)
    capacitors: dict[str, tuple[str, str, float]] = field(default_factory=dict)
    resistors: dict[str, tuple[str, str, float]] = field(default_factory=dict)
    rectifiers: dict[str, tuple[str, str]] = field(default_factory=dict)
    windings: list[str] = field(default_factory=list)
    coils: list[tuple[str, str]] = field(default_factory=list)
    sections: dict[str, Section] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=lambda: {CHASSIS: "0"})

    def node(self, name: str) -> str:
        """The spice name of a node of the build."""
        return self.names.setdefault(name, f"n{len(self.names)}")

    def resistor(self, name: str, a: str, b: str, ohm: float) -> None:
        """Adds a resistance; a plain wire is a milliohm."""
        ohm = max(ohm, 1e-3)
        self.resistors[name] = (self.node(a), self.node(b), ohm)
        self.lines.append(f"R{len(self.resistors)}_ {self.node(a)} {self.node(b)} {ohm:.9g}")


@dataclass(frozen=True)
class Moment:
    """Which moment of a build: the stage, mains volts, where pots stand, and which valves and fuses are out."""

    stage: str
    mains_v: float
    pots: Mapping[str, float] = field(default_factory=dict)
    valves_out: frozenset[str] = frozenset()
    fuses_out: frozenset[str] = frozenset()
    switches_open: frozenset[str] = frozenset()


def moment(build: Build, stage: str, *, mains_v: float | None = None) -> Moment:
    """The moment in which the build's readings of `stage` are taken."""
    entry = build.stage.get(stage)
    return Moment(
        stage,
        build.mains.volts if mains_v is None else mains_v,
        {},
        frozenset(entry.valves_out if entry else ()),
        frozenset(entry.fuses_out if entry else ()),
        frozenset(name for name, switch in build.switch.items() if stage in switch.open_in),
    )


def circuit(build: Build, now: Moment) -> Circuit:
    """The circuit of `build` at the moment `now`."""
    made, there = Circuit(), fitted(build, now.stage)
    _plain_parts(build, now, there, made)
    for name, part in _fitted(build.pot, there):
        _pot(made, name, part, now.pots.get(name, part.position))
    for name, part in _fitted(build.capacitor, there):
        made.capacitors[name] = (made.node(part.nodes[0]), made.node(part.nodes[1]), part.measured or part.value)
    for name, part in _fitted(build.choke, there):
        _coil(made, name, *part.nodes, part.value, part.resistance)
    for name, transformer in build.transformer.items():
        _mains_transformer(made, name, transformer, there)
    for name, part in _fitted(build.output_transformer, there):
        _output_transformer(made, name, part)
    for name, part in _fitted(build.diode, there):
        _silicon(made, name, part, *_law(build, part.type, part.model, None))
    for reference, valve in build.valve.items():
        if reference not in now.valves_out:
            _heater(made, reference, valve)
            if reference in there:
                _valve(made, build, reference, valve)
    return made


def sections(build: Build, reference: str) -> Iterator[Section]:
    """The wired sections of one valve."""
    valve = build.valve[reference]
    found, nodes = _type(valve.type), _electrodes(valve)
    plans = layout.sections(found) if found else _plans(nodes)
    ids = valve.sections or tuple(reference + plan.suffix for plan in plans)
    for section, plan in zip(ids, plans, strict=False):
        wired = {role: nodes[name][0] for role, name in _roles(plan).items() if name in nodes}
        if "cathode" in nodes:
            wired.setdefault("cathode", nodes["cathode"][0])
        if len(nodes.get("filament", ())) == 2:
            wired["cathode"] = _middle(reference)
        if {"anode", "cathode"} <= wired.keys():
            form, constants = _law(build, valve.type, valve.model, plan)
            yield Section(section, reference, wired, form, constants)


def _plain_parts(build: Build, now: Moment, there: frozenset[str], made: Circuit) -> None:
    for name, part in _fitted(build.resistor, there):
        made.resistor(name, *part.nodes, part.measured or part.value)
    for table in (build.thermistor, build.load, build.link):
        for name, part in _fitted(table, there):
            made.resistor(name, *part.nodes, part.value)
    for name, part in _fitted(build.fuse, there - now.fuses_out):
        made.resistor(name, *part.nodes, part.value)
    for name, part in _fitted(build.switch, there - now.switches_open):
        made.resistor(name, *part.nodes, part.value)
    for name, part in _fitted(build.heater, there):
        if part.valve not in now.valves_out:
            made.resistor(name, *part.nodes, part.volts / part.amps)


def _pot(made: Circuit, name: str, part: Any, position: float) -> None:
    end_1, wiper, end_2 = part.nodes
    made.resistor(f"{name} below", end_1, wiper, max(position, 1e-6) * part.value)
    made.resistor(f"{name} above", wiper, end_2, max(1.0 - position, 1e-6) * part.value)


def _coil(made: Circuit, name: str, a: str, b: str, henry: float, ohm: float) -> None:
    inner = made.node(f"{name} inside")
    coil = f"L{len(made.coils)}_"
    made.coils.append((coil, f"{made.node(a)} {inner} {henry:.9g}"))
    made.resistors[name] = (inner, made.node(b), ohm)
    made.lines.append(f"RL{len(made.coils)}_ {inner} {made.node(b)} {ohm:.9g}")


def _mains_transformer(made: Circuit, name: str, transformer: Any, there: frozenset[str]) -> None:
    windings = [(key, part) for key, part in transformer.windings.items() if key in there]
    if not windings:
        return
    primary, index = f"p{len(made.windings)}", len(made.windings)
    made.lines.append(f"RP{index}_ mains {primary} {max(transformer.primary.resistance or 0.0, 1e-6):.9g}")
    for key, part in windings:
        emf = part.emf if part.emf is not None else part.volts * (1.0 + (part.regulation or 0.0))
        ratio = emf / ((part.at if part.emf is not None and part.at else None) or transformer.primary.volts)
        made.windings.append(key)
        k, (a, b) = len(made.windings), (made.node(end) for end in part.nodes)
        made.lines.extend(
            [
                f"EW{k}_ w{k}e {b} {primary} 0 {ratio:.12g}",
                f"VW{k}_ w{k}e w{k}i 0",
                f"FW{k}_ {primary} 0 VW{k}_ {ratio:.12g}",
                f"RW{k}_ w{k}i {a} {part.resistance:.9g}",
            ]
        )


def _output_transformer(made: Circuit, name: str, part: Any) -> None:
    """Coils of the primary, each half in two where it is tapped, and the secondary, all coupled alike."""
    whole, share = part.inductance, part.screen_taps.share if part.screen_taps else None
    halves = len(part.anodes)
    start = len(made.coils)
    for index, (anode, ohm) in enumerate(zip(part.anodes, part.resistance, strict=True)):
        henry = whole / halves**2
        if share is None:
            _half(made, f"{name} {index}", part.ht, anode, henry, ohm, first=index == 0)
        else:
            tap = part.screen_taps.nodes[index]
            _half(made, f"{name} {index} inner", part.ht, tap, henry * share**2, ohm * share, first=index == 0)
            rest = 1.0 - share
            _half(made, f"{name} {index} outer", tap, anode, henry * rest**2, ohm * rest, first=index == 0)
        if part.core_loss is not None:
            outer = f"{name} {index}{' outer' if share is not None else ''} inside"
            made.resistor(f"{name} loss {index}", outer, part.ht, part.core_loss)
        if part.capacitance:
            made.capacitors[f"{name} winding {index}"] = (made.node(anode), made.node(part.ht), part.capacitance)
    turns = sqrt(part.impedance / part.load)
    _half(
        made,
        f"{name} secondary",
        part.secondary[1],
        part.secondary[0],
        whole / turns**2,
        part.secondary_resistance,
        first=True,
    )
    coupling = 1.0 - max(part.leakage, 1e-4 * whole) / (2.0 * whole)
    coils = [coil for coil, _ in made.coils[start:]]
    made.lines.extend([f"K{a}{b} {a} {b} {coupling:.9g}" for a, b in combinations(coils, 2)])


def _half(made: Circuit, name: str, a: str, b: str, henry: float, ohm: float, *, first: bool) -> None:
    """A coil from a to b; the dot is at b in the half of the first anode, at a in the other."""
    inner, coil = made.node(f"{name} inside"), f"L{len(made.coils)}_"
    dot, other = (inner, made.node(a)) if first else (made.node(a), inner)
    made.coils.append((coil, f"{dot} {other} {henry:.9g}"))
    made.resistors[name] = (inner, made.node(b), ohm)
    made.lines.append(f"RL{len(made.coils)}_ {inner} {made.node(b)} {ohm:.9g}")


def _silicon(made: Circuit, name: str, part: Any, form: str, constants: Mapping[str, float]) -> None:
    series = part.series
    saturation, ohm = constants.get("is_a", constants.get("is")), constants.get("rs_ohm", constants.get("rs"))
    k = len(made.rectifiers) + 1
    a, b = (made.node(end) for end in part.nodes)
    made.rectifiers[name] = (a, b)
    made.diodes.extend(
        [
            f".model D{k}M D(IS={saturation:.6g} N={constants['n'] * series:.6g} RS={ohm * series:.6g})",
            f"VD{k}_ {a} d{k}i 0",
            f"D{k}_ d{k}i {b} D{k}M",
        ]
    )


def _valve(made: Circuit, build: Build, reference: str, valve: Any) -> None:
    for section in sections(build, reference):
        made.sections[section.id] = section
        k = len(made.sections)
        nodes = {role: made.node(node) for role, node in section.nodes.items()}
        if section.form == "vacuum_perveance":
            p = section.constants.get("perveance_a_v15", section.constants.get("kd"))
            made.rectifiers[section.id] = (nodes["anode"], nodes["cathode"])
            d = len(made.rectifiers)
            made.diodes.extend(
                [f"VD{d}_ {nodes['anode']} d{d}i 0", f"XD{d}_ d{d}i {nodes['cathode']} vacuum_perveance p={p:.6g}"]
            )
            continue
        constants = " ".join(f"{key}={value:.9g}" for key, value in section.constants.items())
        made.lines.append(f"VA{k}_ {nodes['anode']} a{k}i 0")
        inner = [f"a{k}i", nodes["grid"]]
        if section.form.startswith("pentode"):
            made.lines.append(f"VS{k}_ {nodes['screen']} s{k}i 0")
            inner.append(f"s{k}i")
        made.lines.append(f"XV{k}_ {' '.join(inner)} {nodes['cathode']} {section.form} {constants}")


def _heater(made: Circuit, reference: str, valve: Any) -> None:
    found, nodes = _type(valve.type), _electrodes(valve)
    if found is None or found.heater is None:
        return
    ohm, ends, tap = found.heater.volts / found.heater.amps, nodes.get("heater", []), nodes.get("heater_centre_tap")
    if len(nodes.get("filament", ())) == 2:
        for number, end in enumerate(nodes["filament"]):
            made.resistor(f"{reference} filament {number}", end, _middle(reference), ohm / 2)
    elif tap and ends:
        pins = [pin for pin in library.pins_of(found, "heater") if pin in valve.pins]
        for pin in pins:
            made.resistor(f"{reference} heater {pin}", valve.pins[pin], tap[0], ohm / 2)
    elif len(ends) == 2:
        made.resistor(f"{reference} heater", *ends, ohm)


def _law(build: Build, type_name: str, own: str | None, plan: layout.Section | None) -> tuple[str, Mapping[str, float]]:
    if own is not None:
        return build.model[own].form, build.model[own].constants
    found = library.find(type_name)
    model = layout.recommended(found, plan or layout.sections(found)[0])
    return model.form, model.constants


def _type(name: str) -> library.ValveType | None:
    try:
        return library.find(name)
    except PartError:
        return None


def _electrodes(valve: Any) -> dict[str, list[str]]:
    found, nodes = _type(valve.type), {}
    for pin, node in valve.pins.items():
        for electrode in library.electrodes(found.pins.get(pin, pin) if found else pin):
            named = nodes.setdefault(electrode, [])
            if node not in named:
                named.append(node)
    return nodes


def _roles(plan: layout.Section) -> dict[str, str]:
    names = {"anode": plan.anode, "grid": plan.grid, "screen": plan.screen, "cathode": plan.cathode}
    return {role: name for role, name in names.items() if name}


def _plans(nodes: Mapping[str, list[str]]) -> Iterator[layout.Section]:
    for suffix, end in (("", ""), ("a", "_1"), ("b", "_2")):
        if f"anode{end}" in nodes:
            own = {name: name + end for name in ("grid", "screen") if name + end in nodes}
            yield layout.Section(suffix, "triode", f"anode{end}", f"cathode{end}", own.get("grid"), own.get("screen"))


def _middle(reference: str) -> str:
    return f"{reference} filament middle"


def _fitted(table: Mapping[str, Any], there: frozenset[str]) -> Iterator[tuple[str, Any]]:
    return ((name, part) for name, part in table.items() if name in there)
