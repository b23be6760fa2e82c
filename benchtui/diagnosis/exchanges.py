"""What may be exchanged, pulled or opened to see where a fault goes: other states of a stage, and what they read.

Two valves of one type change places; a valve, a fuse or the feedback lead is out; one lead of a coupling capacitor is
lifted. Each is a change of the circuit on top of a fault's own. Only what leaves every other heater warm and every part
within its rating is offered.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations

from benchtui.assemble.valves import heaters, sections
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import CHASSIS, Capacitor, Circuit, Element, Resistor, Valve
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.diagnosis.changes import NO_FARAD, OPEN_OHM, Change, changed
from benchtui.diagnosis.heating import warmed
from benchtui.diagnosis.simulated import ground
from benchtui.forecast.stresses import over_rating

#: Amperes of direct current from which a fuse is one of the HT, and volts from which a capacitor blocks some.
_FUSED_A, _BLOCKS_V = 1e-3, 5.0

#: Of its emission that every other valve must keep.
_WARM = 0.95

#: Faults that nobody can say of whether they go with the valve or stay with the socket.
_EITHER = frozenset({"grid-to-cathode", "grid-to-anode", "valve-missing"})

#: Faults between electrodes inside a valve, which go with it.
_INSIDE = frozenset({"heater-to-cathode"})


@dataclass(frozen=True)
class Exchange:
    """`id` is how the state is called, `says` what is to be done for it, with the power off and through the gate.

    `swap` are two valves that change places; `out` elements that are opened or have no emission.
    """

    id: str
    says: str
    swap: tuple[str, str] | None = None
    out: frozenset[str] = frozenset()

    def tells_of(self, kind: str) -> bool:
        """Whether it is known what a fault of this kind does in it."""
        return self.swap is None or kind not in _EITHER


@lru_cache(maxsize=16)
def exchanges(build: Build, stage: str) -> tuple[Exchange, ...]:
    """Everything that a sound build of `stage` bears."""
    of = ground(build, stage)
    if of.few is None:
        return ()
    return tuple(each for each in _all(build, of.circuit, of.few) if _borne(build, of.circuit, of.few, each))


def exchange_called(build: Build, stage: str, id: str) -> Exchange | None:
    """The exchange of the stage by its id."""
    return next((each for each in exchanges(build, stage) if each.id == id), None)


def exchanged(build: Build, circuit: Circuit, fault: Change, kind: str, by: Exchange) -> Change:
    """The fault's change and the exchange, as one change of `circuit`."""
    places = _places(build, by.swap) if by.swap else {}
    own = {element.name: element for element in circuit.elements}
    after = {name: _exchanged(element, by, places, own, fault) for name, element in own.items()}
    extra = tuple(_moved(bridge, places, own) for bridge in fault.extra) if kind in _INSIDE else fault.extra
    return Change({name: element for name, element in after.items() if element is not own[name]}, extra, fault.pins)


def _all(build: Build, circuit: Circuit, found: Operating) -> Iterator[Exchange]:
    names = {element.name: element for element in circuit.elements}
    there: dict[str, list[str]] = {}
    for section in sections(build):
        if isinstance(names.get(section.id), Valve):
            there.setdefault(section.valve, []).append(section.id)
    warm = {heater.id: heater.valve for heater in heaters(build) if heater.id in names}
    for one, other in combinations(there, 2):
        if build.valve[one].type == build.valve[other].type and len(there[one]) == len(there[other]):
            yield Exchange(f"{one} and {other} exchanged", f"exchange {one} and {other}", swap=(one, other))
    for valve, own in there.items():
        out = frozenset(own) | {id for id, of in warm.items() if of == valve}
        yield Exchange(f"{valve} out", f"pull {valve}", out=out)
    for name in build.fuse:
        if name in names and abs(float(found.current(name)[0])) > _FUSED_A:
            yield Exchange(f"{name} out", f"take out {name}", out=frozenset({name}))
    for name, link in build.link.items():
        if name in names and link.feedback:
            yield Exchange(f"{name} off", f"take off {name} and insulate it", out=frozenset({name}))
    for name, part in build.capacitor.items():
        if name not in names or CHASSIS in part.nodes or abs(float(found.dc(*part.nodes)[0])) <= _BLOCKS_V:
            continue
        high = max(part.nodes, key=lambda node: abs(float(found.dc(node, CHASSIS)[0])))
        says = f"lift the lead of {name} at node {high}, where the higher volts are, and insulate it"
        yield Exchange(f"{name} lifted", says, out=frozenset({name}))


def _borne(build: Build, circuit: Circuit, sound: Operating, by: Exchange) -> bool:
    """Whether a sound build is within every rating so, and every valve that is left stays warm."""
    if by.swap and any(each.valve in by.swap for each in build.adjust.values() if each.valve):
        return False  # each has a bias of its own, trimmed for the other
    change = exchanged(build, circuit, Change({}), "", by)
    found = operate(changed(circuit, change), start=sound, fine=False)
    if not found.settled.all():
        return False
    left = [each.emission(found) for each in warmed(build, circuit) if each.section not in by.out]
    warm = all((emission >= _WARM).all() for emission in left)
    return warm and not (over_rating(build, found) - over_rating(build, sound))


def _exchanged(
    element: Element, by: Exchange, places: dict[str, str], own: dict[str, Element], fault: Change
) -> Element:
    """An element with the fault, after the exchange: a valve's own values go where it goes, its leads stay."""
    here = fault.instead.get(element.name, element)
    if element.name in by.out:
        return _opened(here)
    if element.name not in places:
        return here
    other = places[element.name]
    comes = fault.instead.get(other, own[other])
    if isinstance(here, Valve):
        return replace(here, law=comes.law, emission=comes.emission)
    return replace(here, ohm=comes.ohm)


def _opened(element: Element) -> Element:
    if isinstance(element, Resistor):
        return replace(element, ohm=OPEN_OHM)
    if isinstance(element, Capacitor):
        return replace(element, farad=NO_FARAD)
    return replace(element, emission=0.0)


def _places(build: Build, swap: tuple[str, str]) -> dict[str, str]:
    """Section or heater = the one of the other valve that comes in its place."""
    found: dict[str, str] = {}
    for own in (sections(build), [heater for heater in heaters(build) if heater.part is None]):
        one, other = ([each.id for each in own if each.valve == valve] for valve in swap)
        if len(one) == len(other):
            found |= dict(zip(one, other, strict=True)) | dict(zip(other, one, strict=True))
    return found


def _moved(bridge: Resistor, places: dict[str, str], elements: dict[str, Element]) -> Resistor:
    """A path inside a valve, between the same electrodes at its new place."""
    for name, other in places.items():
        here, there = elements.get(name), elements.get(other)
        if bridge.name == f"{name} bridge" and isinstance(here, Valve) and isinstance(there, Valve):
            return replace(bridge, b=there.cathode)
    return bridge
