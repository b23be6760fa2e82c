"""What an amplifier that stopped working does, as weights of the faults that do it, from `symptoms.toml`.

A symptom says little beside a reading: it only moves how likely each fault is beforehand.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from importlib.resources import files

import numpy as np

from benchtui.assemble.valves import heaters, rectifier_valves, sections
from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build, Capacitor
from benchtui.circuit.elements import CHASSIS
from benchtui.diagnosis.faults import Fault
from benchtui.diagnosis.table import Table, just_wired

#: How likely it is that nothing is wrong inside, where an amplifier has stopped working: a plug, a source, a speaker,
#: a contact that is back (own decision, beside 0.8 for a stage that was just wired).
NONE_BROKEN = 0.1

#: Rated volts from which an electrolytic capacitor, or one to chassis, is taken to smooth HT and not for a bypass.
_SMOOTHS_V = 100.0


@dataclass(frozen=True)
class Move:
    """A factor on faults of these kinds in parts of these roles; none listed means all."""

    factor: float
    kinds: frozenset[str]
    roles: frozenset[str]


@dataclass(frozen=True)
class Symptom:
    """What an amplifier does, in words, the question that it answers, and the faults that it speaks for."""

    id: str
    asked: str
    says: str
    moves: tuple[Move, ...]


#: What stands in the list and is no symptom: the amplifier worked before.
_WORKED = "worked"


def symptoms() -> dict[str, Symptom]:
    """Every symptom by its id, in the order of the list."""
    return {id: each for id, each in listed().items() if id != _WORKED}


@cache
def listed() -> dict[str, Symptom]:
    """All of the list, also what is no symptom."""
    data = tomllib.loads(files(__package__).joinpath("symptoms.toml").read_text(encoding="utf-8"))
    return {id: Symptom(id, each["asked"], each["says"], tuple(map(_move, each["moves"]))) for id, each in data.items()}


def _move(of: dict) -> Move:
    return Move(of["factor"], frozenset(of.get("kinds", ())), frozenset(of.get("roles", ())))


def told_by(table: Table, ids: Iterable[str], *, worked: bool) -> Table:
    """The table with each fault as likely as the symptoms `ids` let it be; `worked`: nothing in it was just wired."""
    weight = np.array(table.weight, dtype=float)
    if worked:
        weight /= just_wired(table.build, table.stage, table.faults)
        ids = (*ids, _WORKED)
    return replace(table, weight=weight * factors(table.build, table.faults, ids))


def factors(build: Build, faults: Iterable[Fault], ids: Iterable[str]) -> np.ndarray:
    """What the symptoms `ids` multiply the weight of each fault by (faults,)."""
    moves = [move for id in ids for move in listed()[id].moves]
    known = roles(build)
    found = []
    for fault in faults:
        own = known.get(fault.part, frozenset())
        fits = (m for m in moves if (not m.kinds or fault.kind in m.kinds) and (not m.roles or own & m.roles))
        found.append(float(np.prod([move.factor for move in fits])))
    return np.array(found)


@lru_cache(maxsize=8)
def roles(build: Build) -> dict[str, frozenset[str]]:
    """What each part, section and heater is for, as far as the build tells: the roles of symptoms.toml."""
    found: dict[str, set[str]] = {listed.id: set() for listed in parts(build)}
    for id, part in build.capacitor.items():
        found[id].add(_capacitor(part))
    for id in build.output_transformer:
        found[id].add("transformer")
    _mains_side(build, found)
    _channels(build, found)
    _valves(build, found)
    _heated(build, found)
    return {id: frozenset(own) for id, own in found.items()}


def _capacitor(part: Capacitor) -> str:
    if CHASSIS not in part.nodes and part.make != "electrolytic":
        return "coupling"
    return "smoothing" if part.volts >= _SMOOTHS_V else "bypass"


def _valves(build: Build, found: dict[str, set[str]]) -> None:
    """Each section, and each valve with all that its sections are."""
    anodes = {node for part in build.output_transformer.values() for node in part.anodes}
    rectifiers, of_valve = rectifier_valves(build), {id: frozenset(found[id]) for id in build.valve}
    for section in sections(build):
        role = "output" if section.nodes.get("anode") in anodes else "small"
        role = "rectifier" if section.valve in rectifiers else role
        found[section.id] = {*of_valve[section.valve], role} | found.get(section.id, set())
        found[section.valve].add(role)


def _heated(build: Build, found: dict[str, set[str]]) -> None:
    """Heaters, what feeds them, and what joins their leads to chassis; a filament's own lead may be the HT."""
    listed = heaters(build)
    nodes = {node for heater in listed for node in (heater.a, heater.b)}
    leads = {node for heater in listed if "filament" not in heater.id for node in (heater.a, heater.b)}
    for heater in listed:
        found[heater.part or heater.id] = {"heater", *(found[heater.valve] & {"channel", "shared"})}
    for transformer in build.transformer.values():
        for name, winding in transformer.windings.items():
            found[name].add("heater" if nodes & set(winding.nodes) else "ht")
    for table in (build.resistor, build.link, build.fuse, build.switch):
        for id, part in table.items():
            if leads & set(part.nodes):
                found[id].add("heater")


def _mains_side(build: Build, found: dict[str, set[str]]) -> None:
    """All that is joined to the mains leads by fuses, switches, thermistors and links, the transformers included."""
    nodes, tables = (
        set(build.mains.nodes or ()),
        (build.fuse, build.switch, build.thermistor, build.link, build.resistor),
    )
    joined: set[str] = set()
    while True:
        more = {
            id
            for table in tables
            for id, part in table.items()
            if id not in joined and nodes & set(part.nodes) and CHASSIS not in part.nodes
        }
        if not more:
            break
        joined |= more
        nodes |= {node for table in tables for id in more if id in table for node in table[id].nodes}
    for id in (*joined, *build.transformer):
        found.setdefault(id, set()).add("mains")


def _channels(build: Build, found: dict[str, set[str]]) -> None:
    """A part that every channel has under the same name is the channel's; all others are shared."""
    letters = tuple(build.channels)
    if len(letters) < 2:
        return
    for id in list(found):
        stem = next((id.removesuffix(letter) for letter in letters if id.endswith(letter)), "")
        own = bool(stem) and all(stem + letter in found for letter in letters)
        found[id].add("channel" if own else "shared")
