"""Random plausible circuits: sound ones with one to four faults, wrong values or wrong wires.

A mutant is a circuit of a few samples: what changes the wiring is the same in all of them, what changes a value differs
from sample to sample.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State, stage_state
from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.circuit.elements import (
    CHASSIS,
    Capacitor,
    Choke,
    Circuit,
    Diode,
    Element,
    MainsTransformer,
    Pot,
    Resistor,
    Valve,
    Winding,
)
from benchtui.circuit.operate import Trim
from benchtui.forecast.drawn import powered_points
from benchtui.quantities.codes import series
from tests.circuit.kinds import kinds

OPEN_OHM, SHORT_OHM, LEAK_OHM = 1e12, 1e-3, 1e6
MOST_FAULTS = 4

TARGETS_V = (0.05, 0.3, 3.0)
"""What a pot is trimmed to where the build names no volts: out of reach for some."""

Source = Callable[[np.random.Generator], tuple[Circuit, tuple[Trim, ...]]]


@dataclass(frozen=True, eq=False)
class Mutant:
    """A mutated circuit, the sound one it came from, what was done to it, and which of its pots are to be trimmed."""

    circuit: Circuit
    sound: Circuit
    what: str
    trims: tuple[Trim, ...]


def mutants(builds: Mapping[str, Build], count: int, samples: int, seed: int) -> Iterator[Mutant]:
    """`count` mutants of `samples` each, from `builds` in any stage and state and from the small circuits."""
    sources = {name: _any_state(build) for name, build in builds.items()}
    small = {name: _always(circuit) for name, circuit in kinds().items()}
    rng = np.random.default_rng(seed)
    for _ in range(count):
        pool = sources if sources and rng.random() < 0.75 else small
        name = str(rng.choice(sorted(pool)))
        sound, trims = pool[name](rng)
        mutant = _mutant(name, sound, samples, rng)
        yield replace(mutant, trims=tuple(trim for trim in trims if _can_be_trimmed(trim, mutant.circuit)))


def _always(circuit: Circuit) -> Source:
    return lambda rng: (circuit, ())


def _any_state(build: Build) -> Source:
    powered = [info.id for info in stages(build) if powered_points(build, info.id)]

    def made(rng: np.random.Generator) -> tuple[Circuit, tuple[Trim, ...]]:
        state = stage_state(build, str(rng.choice(powered)), trimmed=False)
        for _ in range(rng.integers(0, 3)):
            state = _changed_state(build, state, rng)
        trims = _trims(build, rng) if rng.random() < 0.3 else ()
        return _with_lifted_wiper(assemble(build, state), rng), trims

    return made


def _trims(build: Build, rng: np.random.Generator) -> tuple[Trim, ...]:
    return tuple(
        Trim(each.pot, point.red, point.black, each.target or float(rng.choice(TARGETS_V)), build.meter.input)
        for each in build.adjust.values()
        for point in [build.point[each.point]]
    )


def _can_be_trimmed(trim: Trim, circuit: Circuit) -> bool:
    nodes = set(_nodes(list(circuit.elements)))
    return {trim.pos, trim.neg} <= nodes and any(each.name == trim.pot for each in circuit.elements)


def _changed_state(build: Build, state: State, rng: np.random.Generator) -> State:
    """One thing that may be so on the bench: out, cold, off its rating, behind a lamp, pots anywhere."""
    some = lambda names: frozenset(n for n in names if rng.random() < 0.4)  # noqa: E731
    pots = {name: float(rng.uniform()) for name in build.pot}
    stops = {name: float(rng.integers(0, 2)) for name in build.pot}
    emission = {section.id: float(rng.choice([0.0, 0.05, 0.5, 2.0])) for section in sections(build)}
    changes: list[dict[str, object]] = [
        {"valves_out": some(build.valve)},
        {"fuses_out": some(build.fuse)},
        {"emission": float(rng.choice([0.0, 0.01, 0.3]))},
        {"emission": 0.0, "rectifier_emission": float(rng.choice([0.0, 0.1, 1.0]))},
        {"mains_v": build.mains.volts * float(rng.choice([0.05, 0.3, 0.7, 0.9, 1.1, 1.2]))},
        {"series_ohm": float(rng.choice([30.0, 300.0, 2000.0]))},
        {"pots": pots},
        {"pots": stops},
        {"extra_emission": emission},
        {"switches_open": some(build.switch)},
    ]
    return replace(state, **changes[int(rng.integers(len(changes)))])


def _with_lifted_wiper(circuit: Circuit, rng: np.random.Generator) -> Circuit:
    pots = [each.name for each in circuit.elements if isinstance(each, Pot)]
    if not pots or rng.random() > 0.1:
        return circuit
    lifted = str(rng.choice(pots))
    return replace(
        circuit,
        elements=tuple(
            replace(each, wiper=f"{each.name} wiper, lifted") if each.name == lifted else each
            for each in circuit.elements
        ),
    )


def _mutant(name: str, sound: Circuit, samples: int, rng: np.random.Generator) -> Mutant:
    elements, done = list(sound.elements), []
    for _ in range(rng.integers(0, MOST_FAULTS)):
        mutate = _WIRING[int(rng.integers(len(_WIRING)))] if rng.random() < 0.4 else _values
        done.append(mutate(elements, samples, rng))
    done.append(_values(elements, samples, rng))
    return Mutant(Circuit(tuple(elements), sound.mains_hz), sound, f"{name}: {'; '.join(done)}", ())


def _values(elements: list[Element], samples: int, rng: np.random.Generator) -> str:
    """In each sample another change of another part's value."""
    factors = {each.name: np.ones(samples) for each in elements}
    for sample in range(samples):
        factors[elements[int(rng.integers(len(elements)))].name][sample] = _factor(rng)
    for place, each in enumerate(elements):
        if (factors[each.name] != 1.0).any():
            elements[place] = _scaled(each, factors[each.name], rng)
    leaky = [(k, each) for k, each in enumerate(elements) if isinstance(each, Capacitor)]
    if leaky and rng.random() < 0.4:
        ohm = rng.choice([OPEN_OHM, OPEN_OHM, LEAK_OHM, SHORT_OHM], samples)
        part = leaky[int(rng.integers(len(leaky)))][1]
        elements.append(Resistor(f"leak {len(elements)}", part.a, part.b, ohm))
    return "values"


def _factor(rng: np.random.Generator) -> float:
    """Open, shorted, a decimal slip, doubled, or any other value of E24 over six decades."""
    figures = np.array(series("E24")) / 10.0
    any_value = float(rng.choice(figures) * 10.0 ** rng.integers(-3, 3))
    return float(rng.choice([1e12, 1e-9, 10.0, 0.1, 2.0, 0.5, any_value, any_value]))


def _scaled(element: Element, factor: np.ndarray, rng: np.random.Generator) -> Element:
    """The part with its value times `factor`, as far as its kind bears it."""
    mild = np.clip(factor, 0.5, 2.0)
    if isinstance(element, (Resistor, Choke)):
        return replace(element, ohm=np.minimum(element.ohm * factor, OPEN_OHM))
    if isinstance(element, Capacitor):
        return replace(element, farad=np.clip(element.farad * factor, 0.0, 0.01))
    if isinstance(element, Pot):
        return replace(element, ohm=np.minimum(element.ohm * factor, OPEN_OHM))
    if isinstance(element, Valve):
        return _other_valve(element, factor, mild, rng)
    if isinstance(element, Diode):
        silicon = "is_a" in element.law.constants
        return element if silicon else replace(element, emission=np.where(factor > 1e3, 0.0, mild))
    if isinstance(element, MainsTransformer):
        return replace(element, windings=tuple(_half_open(each, factor, rng) for each in element.windings))
    return element


def _other_valve(element: Valve, factor: np.ndarray, mild: np.ndarray, rng: np.random.Generator) -> Valve:
    """Dead, weak, strong, gassy, or with another amplification."""
    constants = dict(element.law.constants)
    kind = int(rng.integers(3))
    if kind == 0:
        return replace(element, emission=np.where(factor > 1e3, 0.0, np.clip(factor, 0.01, 3.0)))
    if kind == 1 and "gi" in constants:
        gassy = np.clip(1e-6 * np.abs(np.log(factor)) ** 4, 1e-6, 0.02)
        constants["gi"] = np.where(factor != 1.0, gassy, constants["gi"])
    else:
        constants["mu"] = constants["mu"] * mild
    return replace(element, law=replace(element.law, constants=constants))


def _half_open(winding: Winding, factor: np.ndarray, rng: np.random.Generator) -> Winding:
    """Open, or half of its turns shorted."""
    if rng.random() < 0.5:
        return winding
    ohm = np.where(factor > 1e3, 1e9, winding.ohm * np.clip(factor, 0.5, 10.0))
    return replace(winding, ohm=ohm, ratio=winding.ratio * np.where(factor < 1e-3, 0.5, 1.0))


def _removed(elements: list[Element], samples: int, rng: np.random.Generator) -> str:
    place = int(rng.integers(len(elements)))
    if isinstance(elements[place], MainsTransformer):
        return "nothing"
    return f"{elements.pop(place).name} removed"


def _between_any(elements: list[Element], samples: int, rng: np.random.Generator) -> str:
    """A part, a blob of solder or a burnt track between any two nodes."""
    a, b = rng.choice(_nodes(elements), 2, replace=False)
    if rng.random() < 0.2:
        elements.append(Capacitor(f"stray {len(elements)}", str(a), str(b), 10.0 ** rng.uniform(-9, -4, samples)))
    else:
        ohm = rng.choice([SHORT_OHM, 100.0, 1e4, 1e6, OPEN_OHM], samples)
        elements.append(Resistor(f"stray {len(elements)}", str(a), str(b), ohm))
    return f"part from {a} to {b}"


def _moved_lead(elements: list[Element], samples: int, rng: np.random.Generator) -> str:
    """One lead of a part on a neighbour's node: one that another part joins to it."""
    movable = [k for k, each in enumerate(elements) if _leads(each)]
    place = int(rng.choice(movable))
    part = elements[place]
    lead = str(rng.choice(_leads(part)))
    here = getattr(part, lead)
    near = sorted({n for each in elements for n in _ends(each) if here in _ends(each)} - {here})
    if not near:
        return "nothing"
    elements[place] = replace(part, **{lead: str(rng.choice(near))})
    return f"{lead} of {part.name} moved"


def _swapped(elements: list[Element], samples: int, rng: np.random.Generator) -> str:
    """Two leads of one part changed over."""
    place = int(rng.choice([k for k, each in enumerate(elements) if len(_leads(each)) > 1]))
    part = elements[place]
    first, second = rng.choice(_leads(part), 2, replace=False)
    elements[place] = replace(part, **{first: getattr(part, second), second: getattr(part, first)})
    return f"{first} and {second} of {part.name} swapped"


_LEADS = ("a", "b", "end_1", "wiper", "end_2", "anode", "grid", "screen", "cathode", "collector", "base", "emitter")
_WIRING = (_removed, _between_any, _moved_lead, _swapped)


def _leads(element: Element) -> list[str]:
    return [lead for lead in _LEADS if getattr(element, lead, None) is not None]


def _ends(element: Element) -> list[str]:
    return [getattr(element, lead) for lead in _leads(element)]


def _nodes(elements: list[Element]) -> list[str]:
    return sorted({node for each in elements for node in _ends(each)} | {CHASSIS})
