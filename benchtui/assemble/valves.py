"""The valves of a build, section by section: nodes from its pins, law and ratings from library or build file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from benchtui.assemble.draw import Draw
from benchtui.buildfile import models
from benchtui.circuit.elements import Law, Value
from benchtui.parts import sections as layout
from benchtui.parts import valves as library
from benchtui.parts.errors import PartError
from benchtui.parts.guide import spread, value

POWER_W = 5.0
"""Anode dissipation from which a valve counts as an output valve for its spread (common practice, no source)."""


@dataclass(frozen=True)
class Rating:
    """A limit of one section in SI, with its rating system where known."""

    value: float
    confidence: str
    source: str
    system: str | None = None

    @property
    def ceiling(self) -> float:
        """Where a reading stops the work: at the rating, but a tenth above a design-centre one, made for that."""
        return 1.1 * self.value if self.system == "design-centre" else self.value


@dataclass(frozen=True, eq=False)
class Section:
    """One section of a valve of the build: "triode", "pentode", "diode" or "regulator"; `nodes` is electrode = node."""

    id: str
    valve: str
    type: str
    kind: str
    nodes: Mapping[str, str]
    law: Law
    law_source: str
    ratings: Mapping[str, Rating]
    matched: str | None
    farads: Mapping[str, float]
    """Between electrodes, socket and wires included, by the names of the circuit's Valve; none of a diode."""

    def drawn_law(self, draw: Draw) -> Law:
        """The law with its amplification factor (or a rectifier's perveance) spread as bought valves are."""
        constants = dict(self.law.constants)
        if self.kind == "diode":
            name = "kd" if "kd" in constants else "perveance_a_v15"
            bought = draw.factor(self.id, "emission", spread("spread.rectifier_perveance"))
            of_type = draw.factor(self.type, "current of the type", spread("spread.type"))
            constants[name] = constants[name] * bought * of_type
        elif self.kind == "regulator":
            for name, kind in (("burning_v", "burning_volts"), ("strike_v", "striking_volts")):
                constants[name] = constants[name] * draw.factor(self.id, name, spread(f"spread.{kind}"))
        else:
            mu = draw.factor(self.id, "mu", spread("spread.amplification"))
            constants["mu"] = constants["mu"] * mu * draw.factor(self.type, "mu of the type", spread("spread.type"))
        if "start_v" in constants:
            constants["start_v"] = constants["start_v"] * draw.factor(self.id, "grid", spread("spread.grid_start"))
        return Law(self.law.form, constants)

    def drawn_farads(self, draw: Draw) -> dict[str, Value]:
        """Capacitance between the electrodes, all of it more or less in one build."""
        factor = draw.factor(self.id, "capacitance", spread("spread.capacitance"))
        return {name: farad * factor for name, farad in self.farads.items()}

    def drawn_emission(self, draw: Draw) -> Value:
        """Current against the law: the type (or matched set) in common, and each section within it."""
        power = self.ratings.get("anode_w")
        kind = "spread.power_valve" if power and power.value >= POWER_W else "spread.small_valve"
        common = draw.factor(self.matched or self.id, "emission", spread(kind))
        common = common * draw.factor(self.type, "current of the type", spread("spread.type"))
        return common * (draw.factor(self.id, "match", spread("spread.matched_set")) if self.matched else 1.0)


@dataclass(frozen=True)
class HeaterPart:
    """A heater, or half of a tapped one, as a resistance; `part` is the build's own heater part, if it wrote one."""

    id: str
    valve: str
    a: str
    b: str
    ohm: float
    rated_v: float
    part: str | None = None


def known_type(name: str) -> library.ValveType | None:
    """The library's type called `name`, or None."""
    try:
        return library.find(name)
    except PartError:
        return None


def rectifier_valves(build: models.Build) -> dict[str, library.ValveType]:
    """Each rectifier valve of the build = its type in the library."""
    known = {ref: known_type(valve.type) for ref, valve in build.valve.items()}
    return {ref: found for ref, found in known.items() if found is not None and "rectifier" in found.kind}


def electrode_nodes(valve: models.Valve) -> dict[str, list[str]]:
    """Electrode = its nodes in order of pins; pins by number are named by the library's base of the type."""
    found = known_type(valve.type)
    nodes: dict[str, list[str]] = {}
    for pin, node in valve.pins.items():
        label = found.pins.get(pin, pin) if found else pin
        for electrode in library.electrodes(label):
            if node not in nodes.setdefault(electrode, []):
                nodes[electrode].append(node)
    return nodes


@lru_cache(maxsize=32)
def sections(build: models.Build) -> tuple[Section, ...]:
    """Every wired section of the build's valves, in the file's order. Raises PartError for an unknown type or model."""
    return tuple(section for ref in build.valve for section in _sections_of(build, ref))


def heaters(build: models.Build) -> tuple[HeaterPart, ...]:
    """Every heater: those written by hand, and those that valves' pins tell."""
    written = tuple(
        HeaterPart(name, part.valve, *part.nodes, part.volts / part.amps, part.volts, part=name)
        for name, part in build.heater.items()
    )
    return written + tuple(heater for ref, valve in build.valve.items() for heater in _heaters_of(ref, valve))


def heater_ends(build: models.Build) -> tuple[HeaterPart, ...]:
    """Heaters as a meter meets them at their pins: the two halves of a filament are one."""
    found: list[HeaterPart] = []
    for heater in heaters(build):
        before = found[-1] if found else None
        if before is not None and before.b == heater.a == filament_middle(heater.valve):
            whole = replace(before, b=heater.b, ohm=before.ohm + heater.ohm, rated_v=before.rated_v + heater.rated_v)
            found[-1] = whole
        else:
            found.append(heater)
    return tuple(found)


def law_of(build: models.Build, name: str, own: str | None, *, series: int = 1) -> Law:
    """The law of a diode `name` (or of its own constants under [model]); `series` of one kind act as one."""
    if own is not None:
        law = Law(build.model[own].form, dict(build.model[own].constants))
    else:
        found = library.find(name)
        model = layout.recommended(found, layout.sections(found)[0])
        law = Law(model.form, dict(model.constants))
    constants = dict(law.constants)
    for key in ("n", "rs", "rs_ohm"):
        if key in constants:
            constants[key] *= series
    return Law(law.form, constants)


def ratings_of(build: models.Build, type_name: str, section: layout.Section | None = None) -> dict[str, Rating]:
    """Ratings of one section of a type: the library's, replaced by the build file's own under [limits]."""
    ratings: dict[str, Rating] = {}
    found = known_type(type_name)
    if found is not None:
        system = found.rating_system.system if found.rating_system else None
        section = section or layout.sections(found)[0]
        for name, limit in layout.section_limits(found, section).items():
            ratings[name] = Rating(limit.value, limit.confidence, library.cite(limit.source), system)
    own = build.limits.get(type_name)
    if own is not None:
        for name, value in own.model_dump(exclude={"source", "system", "confidence"}, exclude_none=True).items():
            ratings[name] = Rating(value, own.confidence, own.source, own.system)
    return ratings


def _sections_of(build: models.Build, ref: str) -> Iterator[Section]:
    valve = build.valve[ref]
    found = known_type(valve.type)
    own = build.model.get(valve.model) if valve.model else None
    wired = _wired_plans(ref, valve, own)
    ids = valve.sections or tuple(ref + plan.suffix for plan, _ in wired)
    for section_id, (plan, joints) in zip(ids, wired, strict=True):
        law, source = _law(valve.type, found, plan, own)
        if valve.grid_start is not None and plan.grid is not None:
            law = Law(law.form, {**law.constants, "start_v": valve.grid_start})
        yield Section(
            id=section_id,
            valve=ref,
            type=valve.type,
            kind=plan.kind,
            nodes=joints,
            law=law,
            law_source=source,
            ratings=ratings_of(build, valve.type, plan if found else None),
            matched=valve.matched,
            farads=_farads(found, plan),
        )


def _farads(found: library.ValveType | None, plan: layout.Section) -> dict[str, float]:
    """The library's between the electrodes, as far as it knows them, and what a socket and wires add."""
    if plan.grid is None:
        return {}
    known = layout.section_capacitance(found, plan) if found else {}
    strays = {"anode_grid": "anode_grid", "grid_cathode": "grid", "anode_cathode": "anode"}
    return {
        f"{ends}_farad": (known[f"{ends}_f"].value if f"{ends}_f" in known else 0.0) + value(f"stray.{stray}")
        for ends, stray in strays.items()
    }


def wired_count(valve: models.Valve) -> int:
    """How many sections of the valve are wired, which is how many `sections` must name."""
    return len(_wired_plans("", valve, None))


def wired_kinds(build: models.Build, ref: str) -> tuple[str, ...]:
    """The kinds of the valve's wired sections, in order."""
    valve = build.valve[ref]
    own = build.model.get(valve.model) if valve.model else None
    return tuple(plan.kind for plan, _ in _wired_plans(ref, valve, own))


def _wired_plans(
    ref: str, valve: models.Valve, own: models.Model | None
) -> list[tuple[layout.Section, dict[str, str]]]:
    """The sections of the valve that are wired, each with its electrodes' nodes."""
    found = known_type(valve.type)
    nodes = electrode_nodes(valve)
    plans = layout.sections(found) if found else tuple(_plans_by_name(nodes, own))
    return [(plan, joints) for plan in plans if (joints := _wired(ref, plan, nodes)) is not None]


def _wired(ref: str, plan: layout.Section, nodes: Mapping[str, list[str]]) -> dict[str, str] | None:
    """Electrode = node of one section, or None where it is not wired (an unused half)."""
    wanted = {"anode": plan.anode, "grid": plan.grid, "screen": plan.screen}
    wired = {role: nodes[name][0] for role, name in wanted.items() if name in nodes}
    if plan.cathode == "filament" and len(nodes.get("filament", ())) == 2:
        wired["cathode"] = filament_middle(ref)
    elif plan.cathode in nodes:
        wired["cathode"] = nodes[plan.cathode][0]
    elif "cathode" in nodes:
        wired["cathode"] = nodes["cathode"][0]
    needed = {"anode", "cathode"} | ({"grid"} if plan.grid else set())
    return wired if needed <= wired.keys() else None


def _law(
    type_name: str, found: library.ValveType | None, plan: layout.Section, own: models.Model | None
) -> tuple[Law, str]:
    if own is not None:
        return Law(own.form, dict(own.constants)), own.source
    if found is None:
        raise PartError(
            type_name,
            "is not in the valve library",
            "give own constants under [model], or write a known type",
        )
    model = layout.recommended(found, plan)
    return Law(model.form, dict(model.constants)), library.cite(model.source)


def _plans_by_name(nodes: Mapping[str, list[str]], own: models.Model | None) -> Iterator[layout.Section]:
    """Sections of a type that the library does not know, told by the electrode names of its pins and its own law."""
    two_ended = "regulator" if own is not None and own.form == "gas_regulator" else "diode"
    for suffix, end in (("", ""), ("a", "_1"), ("b", "_2")):
        if f"anode{end}" not in nodes:
            continue
        present = {name: f"{name}{end}" for name in ("grid", "screen") if f"{name}{end}" in nodes}
        kind = "pentode" if "screen" in present else "triode" if "grid" in present else two_ended
        cathode = f"cathode{end}" if f"cathode{end}" in nodes else "cathode"
        yield layout.Section(suffix, kind, f"anode{end}", cathode, present.get("grid"), present.get("screen"))


def doubled_pins(build: models.Build) -> Iterator[tuple[str, str, str, str]]:
    """Pins joined inside a valve, such as a regulator's jumper: (valve, name of the joint, first node, another)."""
    for ref, valve in build.valve.items():
        for electrode, nodes in electrode_nodes(valve).items():
            if electrode not in ("heater", "filament"):
                yield from ((ref, f"{ref}.{electrode}_{k}", nodes[0], node) for k, node in enumerate(nodes[1:], 2))


def filament_middle(ref: str) -> str:
    """The node in the middle of a filament, where the law of a directly heated valve has its cathode."""
    return f"{ref}.filament"


def _heaters_of(ref: str, valve: models.Valve) -> Iterator[HeaterPart]:
    found = known_type(valve.type)
    if found is None or found.heater is None:
        return
    nodes, rated = electrode_nodes(valve), found.heater
    if "filament" in nodes and len(nodes["filament"]) == 2:
        first, second = nodes["filament"]
        half = 0.5 * rated.volts / rated.amps
        middle = filament_middle(ref)
        yield HeaterPart(f"{ref}.filament_1", ref, first, middle, half, 0.5 * rated.volts)
        yield HeaterPart(f"{ref}.filament_2", ref, middle, second, half, 0.5 * rated.volts)
        return
    ends, tap = nodes.get("heater", []), nodes.get("heater_centre_tap")
    if tap and ends:
        half_v = 0.5 * rated.volts
        pins = [pin for pin in library.pins_of(found, "heater") if pin in valve.pins]
        for number, pin in enumerate(pins, 1):
            yield HeaterPart(f"{ref}.heater_{number}", ref, valve.pins[pin], tap[0], half_v / rated.amps, half_v)
    elif len(ends) == 2:
        yield HeaterPart(f"{ref}.heater", ref, *ends, rated.volts / rated.amps, rated.volts)
