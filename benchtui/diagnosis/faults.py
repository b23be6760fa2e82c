"""Everything that can be wrong with one part of a circuit, each as a change of the circuit, from what the build fits.

A fault whose size nobody knows beforehand (a leak, a weak valve) has a change for each of some sizes. No change takes
an element out where a value can do the same, so that most faults have the same structure and are solved side by side.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from benchtui.assemble.valves import Section, heaters, sections
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import (
    CHASSIS,
    Capacitor,
    Choke,
    Circuit,
    Diode,
    Element,
    Law,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Regulator,
    Resistor,
    Valve,
)
from benchtui.diagnosis.changes import NO_FARAD, OPEN_OHM, SHORT_OHM, Change
from benchtui.diagnosis.heating import STARVED, heated_by
from benchtui.diagnosis.joints import Jointed, jointed, leads_of
from benchtui.diagnosis.kinds import kinds
from benchtui.diagnosis.miswired import miswired

#: Sizes that are tried, common practice, no source.
_LEAKS_OHM = {"electrolytic": (30.0, 300.0, 2e3, 7e3, 2.5e4), "film": (1e5, 5e5, 2e6, 8e6)}
_REVERSED_OHM = (300.0, 1500.0)
_DRIFTS = (0.5, 0.7, 1.4, 2.0)
_WEAK, _STRONG = (0.2, 0.35, 0.5), (1.6, 2.2)
_IONS = (1.5e-4, 5e-4, 1.5e-3)
_OTHER_TAP = (0.87, 1.15)
_TO_CATHODE_OHM = (1e3, 5e4)


@dataclass(frozen=True, eq=False)
class Fault:
    """One thing that is wrong: its kind in the published list, the part, and a change for each size it may have."""

    kind: str
    part: str
    says: str
    weight: float
    changes: tuple[Change, ...]

    @property
    def id(self) -> tuple[str, str, str]:
        return self.kind, self.part, self.says


@dataclass(frozen=True, eq=False)
class Site:
    """A circuit in which something is wrong, the build it is of, and the elements by name."""

    build: Build
    circuit: Circuit
    elements: Mapping[str, Element]

    @cached_property
    def sockets(self) -> Jointed:
        """Every pin of every valve with a joint of its own."""
        valves = {name: element for name, element in self.elements.items() if isinstance(element, Valve)}
        return jointed(valves, [(name, pin) for name, valve in valves.items() for pin in leads_of(valve)])


def faults(build: Build, circuit: Circuit) -> tuple[Fault, ...]:
    """Every single fault of what is fitted in `circuit`, which was assembled from `build`."""
    site = Site(build, circuit, {element.name: element for element in circuit.elements})
    found: list[Fault] = []
    for element in circuit.elements:
        for make in _MAKERS.get(_table(build, element), ()):
            found += make(site, element)
    for section in sections(build):
        if section.id in site.elements:
            found += _of_section(site, section)
    for valve in dict.fromkeys(section.valve for section in sections(build) if section.id in site.elements):
        found += _of_valve(site, valve)
    return (*found, *_of_wires(site))


def _table(build: Build, element: Element) -> str:
    """The table of the build file that the element is of; "" where it is of none."""
    tables = ("resistor", "thermistor", "load", "fuse", "link", "switch", "capacitor", "choke", "pot", "diode",
              "transformer", "output_transformer")  # fmt: skip
    return next((table for table in tables if element.name in getattr(build, table)), "")


def _fault(kind: str, part: str, *changes: Change, **words: str) -> Fault:
    listed = kinds()[kind]
    return Fault(kind, part, listed.says.format(part=part, **words), listed.weight, changes)


def _with(element: Element, **values: object) -> Change:
    return Change({element.name: replace(element, **values)})


def _bridge(name: str, a: str, b: str, ohm: float) -> Change:
    return Change({}, (Resistor(f"{name} bridge", a, b, ohm),))


def _resistor(site: Site, element: Resistor) -> Iterator[Fault]:
    name, ohm = element.name, element.ohm
    yield _fault("resistor-open", name, _with(element, ohm=OPEN_OHM))
    yield _fault("resistor-shorted", name, _with(element, ohm=SHORT_OHM))
    yield _fault("resistor-ten-times-high", name, _with(element, ohm=10.0 * ohm))
    yield _fault("resistor-ten-times-low", name, _with(element, ohm=0.1 * ohm))
    yield _fault("resistor-drifted", name, *(_with(element, ohm=factor * ohm) for factor in _DRIFTS))


def _wire(site: Site, element: Resistor) -> Iterator[Fault]:
    yield _fault("wire-open", element.name, _with(element, ohm=OPEN_OHM))


def _thermistor(site: Site, element: Resistor) -> Iterator[Fault]:
    yield _fault("resistor-open", element.name, _with(element, ohm=OPEN_OHM))


def _fuse(site: Site, element: Resistor) -> Iterator[Fault]:
    yield _fault("fuse-open", element.name, _with(element, ohm=OPEN_OHM))


def _switch(site: Site, element: Resistor) -> Iterator[Fault]:
    yield _fault("switch-open", element.name, _with(element, ohm=OPEN_OHM))


def _load(site: Site, element: Resistor) -> Iterator[Fault]:
    yield _fault("load-open", element.name, _with(element, ohm=OPEN_OHM))
    yield _fault("load-shorted", element.name, _with(element, ohm=SHORT_OHM))


def _capacitor(site: Site, element: Capacitor) -> Iterator[Fault]:
    name, make = element.name, site.build.capacitor[element.name].make
    kind = "electrolytic" if make == "electrolytic" else "film"
    yield _fault("capacitor-open", name, _with(element, farad=NO_FARAD))
    yield _fault("capacitor-shorted", name, _bridge(name, element.a, element.b, SHORT_OHM))
    yield _fault("capacitor-leaky", name, *(_bridge(name, element.a, element.b, ohm) for ohm in _LEAKS_OHM[kind]))
    if kind == "electrolytic":
        wrong = (_bridge(name, element.a, element.b, ohm) for ohm in _REVERSED_OHM)
        yield _fault("capacitor-reversed", name, *wrong)


def _choke(site: Site, element: Choke) -> Iterator[Fault]:
    name = element.name
    yield _fault("choke-open", name, _with(element, ohm=OPEN_OHM))
    yield _fault("choke-shorted", name, _with(element, ohm=0.1 * element.ohm, henry=0.02 * element.henry))
    yield _fault("choke-to-core", name, *(_bridge(name, end, CHASSIS, 1.0) for end in (element.a, element.b)))


def _pot(site: Site, element: Pot) -> Iterator[Fault]:
    lifted = Resistor(element.name, element.end_1, element.end_2, element.ohm)
    yield _fault("wiper-open", element.name, Change({element.name: lifted}))
    yield _fault("pot-at-end", element.name, *(_with(element, position=end) for end in (0.001, 0.999)))


def _diode(site: Site, element: Diode) -> Iterator[Fault]:
    name = element.name
    yield _fault("diode-open", name, _with(element, emission=0.0))
    yield _fault("diode-shorted", name, _bridge(name, element.anode, element.cathode, SHORT_OHM))
    yield _fault("diode-reversed", name, _with(element, anode=element.cathode, cathode=element.anode))


def _transformer(site: Site, element: MainsTransformer) -> Iterator[Fault]:
    for number, winding in enumerate(element.windings):
        name = winding.name
        yield _fault("winding-open", name, _winding(element, number, ohm=OPEN_OHM))
        other = (_winding(element, number, ratio=share * winding.ratio) for share in _OTHER_TAP)
        yield _fault("winding-wrong-tap", name, *other)
        yield _fault("winding-reversed", name, _winding(element, number, ratio=-1.0 * winding.ratio))
    primary = site.build.transformer[element.name].primary
    taps = [tap for tap in primary.taps if tap != primary.volts]
    wrong = [_with(element, mains_v=element.mains_v * primary.volts / tap) for tap in taps]
    if wrong:
        yield _fault("mains-wrong-tap", element.name, *wrong)


def _winding(element: MainsTransformer, number: int, **values: object) -> Change:
    windings = list(element.windings)
    windings[number] = replace(windings[number], **values)
    return _with(element, windings=tuple(windings))


def _output_transformer(site: Site, element: OutputTransformer) -> Iterator[Fault]:
    anodes = [node for node in (element.anode_a, element.anode_b) if node is not None]
    for half, anode in enumerate(anodes):
        ohms = tuple(OPEN_OHM if k == half else ohm for k, ohm in enumerate(element.half_ohm))
        yield _fault("output-half-open", element.name, _with(element, half_ohm=ohms))
        yield _fault("output-half-shorted", element.name, _bridge(element.name, anode, element.ht, SHORT_OHM))


def _of_section(site: Site, section: Section) -> Iterator[Fault]:
    element, name = site.elements[section.id], section.id
    if isinstance(element, Regulator):
        return
    yield _fault("section-dead", name, _with(element, emission=0.0))
    yield _fault("valve-weak", name, *(_with(element, emission=share * element.emission) for share in _WEAK))
    if not isinstance(element, Valve):
        return
    yield _fault("valve-strong", name, *(_with(element, emission=share * element.emission) for share in _STRONG))
    gassy = (_with(element, law=Law(element.law.form, {**element.law.constants, "gi": ion})) for ion in _IONS)
    yield _fault("valve-gassy", name, *gassy)
    yield _fault("grid-to-cathode", name, _bridge(name, element.grid, element.cathode, 10.0))
    yield _fault("grid-to-anode", name, _bridge(name, element.grid, element.anode, 10.0))
    for pin in leads_of(element):
        yield _fault("pin-loose", name, site.sockets.loose((name, pin)), pin=pin)


def _of_valve(site: Site, valve: str) -> Iterator[Fault]:
    own = [site.elements[s.id] for s in sections(site.build) if s.valve == valve and s.id in site.elements]
    filaments = [h for h in heaters(site.build) if h.valve == valve and h.id in site.elements]
    dead = {element.name: replace(element, emission=0.0) for element in own if hasattr(element, "emission")}
    cold = {heater.id: replace(site.elements[heater.id], ohm=OPEN_OHM) for heater in filaments}
    yield _fault("valve-missing", valve, Change({**dead, **cold}))
    if len(dead) > 1:
        yield _fault("section-dead", valve, Change(dead))
    for heater in filaments:
        heated = {name: dead[name] for name in heated_by(heater, filaments, list(dead))}
        yield _fault("heater-open", heater.part or valve, Change({**heated, heater.id: cold[heater.id]}))
    if len(filaments) == 2 and not any("filament" in heater.id for heater in filaments):
        starved = {element.name: replace(element, emission=STARVED * element.emission) for element in own
                   if hasattr(element, "emission")}  # fmt: skip
        through = {h.id: replace(site.elements[h.id], ohm=4.0 * site.elements[h.id].ohm) for h in filaments}
        yield _fault("heaters-in-series", valve, Change({**starved, **through}))
    for element in own:
        if isinstance(element, Valve) and filaments and element.cathode != CHASSIS:
            touching = (_bridge(element.name, filaments[0].a, element.cathode, ohm) for ohm in _TO_CATHODE_OHM)
            yield _fault("heater-to-cathode", element.name, *touching)


def _of_wires(site: Site) -> Iterator[Fault]:
    """Wires that go where they should not: all those of one kind and part are as likely together as the kind is."""
    wires = miswired(site.build, site.circuit)
    count = Counter((wire.kind, wire.part) for wire in wires)
    for wire in wires:
        fault = _fault(wire.kind, wire.part, wire.change)
        yield replace(fault, says=wire.says, weight=fault.weight / count[wire.kind, wire.part])


Maker = Callable[[Site, Element], Iterator[Fault]]

_MAKERS: Mapping[str, tuple[Maker, ...]] = {
    "resistor": (_resistor,), "thermistor": (_thermistor,), "load": (_load,), "fuse": (_fuse,), "link": (_wire,),
    "switch": (_switch,), "capacitor": (_capacitor,), "choke": (_choke,), "pot": (_pot,), "diode": (_diode,),
    "transformer": (_transformer,), "output_transformer": (_output_transformer,),
}  # fmt: skip
