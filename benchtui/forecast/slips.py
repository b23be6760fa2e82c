"""Every single wiring slip that a stage invites, each as a change of its circuit, from what the stage fits.

Which slips are thought of is common practice, no source. Tags that lie side by side are not in a build file, so only
neighbouring pins of a socket are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations

from benchtui.assemble.netlist import JOINT_OHM
from benchtui.assemble.valves import doubled_pins, heaters
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import (
    CHASSIS,
    Capacitor,
    Circuit,
    Diode,
    Element,
    MainsTransformer,
    Pot,
    Regulator,
    Resistor,
    Transistor,
)
from benchtui.forecast.leads import leads, placed
from benchtui.forecast.pins import Pin, is_heater, neighbours
from benchtui.quantities.sentence import capital


@dataclass(frozen=True, eq=False)
class Slip:
    """One thing done wrong; `says` it in a sentence. `put` elements replace those of `without`.

    `pins` says where a probe on these pins then is. `hidden`: why no ohmmeter shows it, where that is known beforehand.
    `joins`: the kind of fault of a wire that goes where it should not, and the part that it is a fault of.
    """

    id: str
    says: str
    without: frozenset[str] = frozenset()
    put: tuple[Element, ...] = ()
    pins: Mapping[Pin, str] = field(default_factory=dict)
    hidden: str = ""
    joins: tuple[str, str] | None = None


@dataclass(frozen=True, eq=False)
class Work:
    """What a stage wires: its circuit, the parts it fits with their kind, its pins with their nodes, the new ones.

    Kinds are the tables of the build file; a mains transformer's primary is of kind "primary".
    """

    build: Build
    stage: str
    circuit: Circuit
    fitted: Mapping[str, str]
    pins: Mapping[Pin, str]
    fresh: frozenset[Pin]


def slips(work: Work) -> tuple[Slip, ...]:
    """The single slips of the stage; none of them leaves the wiring as it should be."""
    found: list[Slip] = []
    for element in work.circuit.elements:
        if isinstance(element, MainsTransformer):
            found += _of_windings(work, element)
        for make in _KINDS.get(work.fitted.get(element.name, ""), ()):
            found += make(work, element)
    found += _of_sockets(work)
    found += _earth(work)
    return tuple(replace(slip, says=capital(slip.says)) for slip in found)


# -- parts


def _open(work: Work, element: Element) -> Iterator[Slip]:
    says = f"{element.name} is left out, or a lead of it makes no contact"
    yield Slip(f"{element.name} open", says, frozenset({element.name}), hidden=_unseen(element))


def _leads_open(work: Work, element: Element) -> Iterator[Slip]:
    for lead, node in leads(element).items():
        nowhere = placed(element, {lead: f"{element.name} {lead}"})
        yield _changed(element, nowhere, f"{lead} open", f"{element.name}'s lead at {_node(node)} makes no contact")


def _short(work: Work, element: Element) -> Iterator[Slip]:
    a, b = leads(element).values()
    bridge = Resistor(f"{element.name} bridge", a, b, JOINT_OHM)
    yield Slip(f"{element.name} short", f"{element.name} is bridged, by solder or a strand", put=(bridge,))


def _leads_short(work: Work, element: Element) -> Iterator[Slip]:
    for a, b in combinations(dict.fromkeys(leads(element).values()), 2):
        bridge = Resistor(f"{element.name} bridge", a, b, JOINT_OHM)
        says = f"{element.name}'s leads at {_node(a)} and {_node(b)} touch"
        yield Slip(f"{element.name} {a} to {b}", says, put=(bridge,))


def _decade(work: Work, element: Resistor | Pot) -> Iterator[Slip]:
    for word, factor in (("ten times too large", 10.0), ("ten times too small", 0.1)):
        wrong = replace(element, ohm=factor * element.ohm)
        yield _changed(element, wrong, f"x {factor:g}", f"{element.name} is {word}")


def _moved(work: Work, element: Element) -> Iterator[Slip]:
    """A lead on the pin beside its own; one on an empty pin is an open one, and was thought of."""
    seen = set()
    for lead, node in leads(element).items():
        for pin, beside in _beside(work):
            wrong = work.pins[beside]
            if work.pins[pin] == node != wrong and (lead, wrong) not in seen:
                seen.add((lead, wrong))
                says = f"{element.name} is at {beside.place} instead of pin {pin.name}"
                moved = _changed(element, placed(element, {lead: wrong}), f"at {beside} for {pin}", says)
                yield replace(moved, joins=("lead-beside", element.name))


def _reversed(work: Work, element: Capacitor | Diode | Regulator) -> Iterator[Slip]:
    part = work.build.capacitor.get(element.name)
    if part is None or part.make == "electrolytic":
        (first, a), (second, b) = leads(element).items()
        wrong = _changed(element, placed(element, {first: b, second: a}), "reversed", f"{element.name} is reversed")
        marked = "its plus" if part else "its band, and read it with the meter's diode test"
        yield replace(wrong, hidden=f"ohms are the same both ways: look at {marked}")


def _swapped(work: Work, element: Element) -> Iterator[Slip]:
    for (one, a), (other, b) in combinations(leads(element).items(), 2):
        if a != b:
            says = f"{element.name}'s leads at {_node(a)} and {_node(b)} are exchanged"
            wrong = _changed(element, placed(element, {one: b, other: a}), f"{one} for {other}", says)
            yield replace(wrong, joins=("leads-exchanged", element.name))


def _unseen(element: Element) -> str:
    if isinstance(element, Capacitor):
        return "a meter in ohms shows nothing of a capacitor once it is charged: look at both its leads"
    if isinstance(element, (Diode, Regulator, Transistor)):
        return "a junction is open to ohms: read it with the meter's diode test"
    return ""


def _changed(element: Element, wrong: Element, id: str, says: str) -> Slip:
    return Slip(f"{element.name} {id}", says, frozenset({element.name}), (wrong,), hidden=_unseen(element))


def _node(node: str) -> str:
    return "chassis" if node == CHASSIS else node


# -- mains transformers, whose windings are parts of their own


def _of_windings(work: Work, element: MainsTransformer) -> Iterator[Slip]:
    ends = {lead: node for lead, node in leads(element).items() if lead.rsplit(" ", 1)[0] in work.fitted}
    for lead, node in ends.items():
        nowhere = placed(element, {lead: f"{element.name} {lead}"})
        yield _changed(element, nowhere, f"{lead} open", f"{_winding(lead)}'s lead at {_node(node)} makes no contact")
    for winding in element.windings:
        if winding.name in work.fitted:
            bridge = Resistor(f"{winding.name} bridge", winding.a, winding.b, JOINT_OHM)
            yield Slip(f"{winding.name} short", f"the leads of {winding.name} touch", put=(bridge,))
    for (one, a), (other, b) in combinations(ends.items(), 2):
        if a != b and _winding(one) != _winding(other):
            says = f"{_winding(one)}'s lead at {_node(a)} and {_winding(other)}'s at {_node(b)} are exchanged"
            wrong = _changed(element, placed(element, {one: b, other: a}), f"{one} for {other}", says)
            yield replace(wrong, joins=("leads-exchanged", _winding(one)))


def _winding(lead: str) -> str:
    return lead.rsplit(" ", 1)[0]


# -- sockets


def _of_sockets(work: Work) -> Iterator[Slip]:
    for pin in work.pins:
        if pin in work.fresh:
            nowhere = {pin: f"{pin} alone"}
            yield Slip(f"{pin} open", f"{pin.place} is joined to nothing", *_inside(work, nowhere), pins=nowhere)
    for one, other in _pairs(work):
        a, b = work.pins[one], work.pins[other]
        if a == b or not {one, other} & work.fresh:
            continue
        if not (is_heater(work.build, one) and is_heater(work.build, other)):  # the ends of a heater may be exchanged
            says = f"the wires of pins {one.name} and {other.name} of {one.valve} are exchanged"
            exchanged = {one: b, other: a}
            joins = ("pins-exchanged", one.valve)
            yield Slip(f"{one} for {other}", says, *_inside(work, exchanged), pins=exchanged, joins=joins)
        bridge = Resistor(f"{one} bridge {other}", a, b, JOINT_OHM)
        says = f"pins {one.name} and {other.name} of {one.valve} are bridged"
        yield Slip(f"{one} to {other}", says, put=(bridge,), joins=("pins-bridged", one.valve))


def _pairs(work: Work) -> Iterator[tuple[Pin, Pin]]:
    """Neighbours on a socket that are both wired."""
    for ref in dict.fromkeys(pin.valve for pin in work.pins):
        for one, other in neighbours(work.build, ref):
            if one in work.pins and other in work.pins:
                yield one, other


def _beside(work: Work) -> Iterator[tuple[Pin, Pin]]:
    for one, other in _pairs(work):
        yield one, other
        yield other, one


def _inside(work: Work, moved: Mapping[Pin, str]) -> tuple[frozenset[str], tuple[Element, ...]]:
    """What the valve itself has between its pins, such as its heater, taken out and put between the nodes they have."""
    ref = next(iter(moved)).valve
    valve = work.build.valve[ref]
    wired = {name: moved.get(Pin(ref, name), node) for name, node in valve.pins.items()}
    alone = work.build.model_copy(update={"valve": {ref: valve.model_copy(update={"pins": wired})}, "heater": {}})
    ends = {heater.id: (heater.a, heater.b) for heater in heaters(alone)}
    ends |= {name: (a, b) for _, name, a, b in doubled_pins(alone)}
    there = [element for element in work.circuit.elements if isinstance(element, Resistor) and element.name in ends]
    put = tuple(replace(element, a=ends[element.name][0], b=ends[element.name][1]) for element in there)
    return frozenset(element.name for element in there), put


def _earth(work: Work) -> Iterator[Slip]:
    """All that the stage joins to the chassis hangs on a wire of its own that is missing."""
    earthed = [e for e in work.circuit.elements if e.name in work.fitted and CHASSIS in leads(e).values()]
    if len(earthed) < 2:
        return
    loose = f"{work.stage} earth"
    put = tuple(placed(e, {lead: loose for lead, node in leads(e).items() if node == CHASSIS}) for e in earthed)
    pins = {pin: loose for pin in work.fresh if work.pins[pin] == CHASSIS}
    names = ", ".join(e.name for e in earthed)
    says = f"the common wire to the chassis is missing: {names} are joined to each other alone"
    without = frozenset(e.name for e in earthed)
    yield Slip("earth open", says, without, put, pins, joins=("earth-missing", work.stage))


_KINDS = {
    "resistor": (_open, _short, _decade, _moved),
    "thermistor": (_open, _short, _moved),
    "load": (_open, _short),
    "link": (_open, _moved),
    "fuse": (_open,),
    "switch": (_open,),
    "choke": (_open, _short, _moved),
    "primary": (_open, _short),
    "capacitor": (_open, _short, _moved, _reversed),
    "diode": (_open, _short, _moved, _reversed),
    "zener": (_open, _short, _moved, _reversed),
    "pot": (_leads_open, _leads_short, _decade, _moved, _swapped),
    "transistor": (_open, _leads_short, _moved, _swapped),
    "fet": (_open, _leads_short, _moved, _swapped),
    "output_transformer": (_leads_open, _leads_short, _moved, _swapped),
}
"""Kind of part = the slips that it invites. A fuse or a switch that is bridged reads what it read."""
