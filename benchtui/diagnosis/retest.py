"""What is read again after a part was replaced: every reading that a fault of that part would move.

A part that is put in may be the wrong value, the wrong way round, or make no contact, and its joints were made anew: so
every fault of it is tried on the circuit, on builds drawn as for the diagnosis. What none of them moves by more than a
reading strays by itself, the part cannot move within its tolerance either. Nor has the fault that was mended overloaded
anything there: it would have moved that reading.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np

from benchtui.assemble.valves import heaters, sections
from benchtui.buildfile.models import Build
from benchtui.diagnosis.faults import Change, Fault, faults
from benchtui.diagnosis.simulated import ground, with_changes
from benchtui.diagnosis.symptoms import roles

#: Kinds of fault that are made with a soldering iron: what is plugged in brings none.
_WIRING = frozenset({"lead-beside", "leads-exchanged", "pins-exchanged", "pins-bridged", "earth-missing"})

#: What a name of a part is made of, in a sentence.
_NAME = re.compile(r"\w+")


@dataclass(frozen=True)
class Retest:
    """Points of a stage by id: those in ohms and in volts that are read again, and those in volts that need not be."""

    ohms: tuple[str, ...]
    volts: tuple[str, ...]
    spared: tuple[str, ...]


def retest(build: Build, stage: str, parts: Collection[str]) -> Retest:
    """What is read again in powered `stage` once `parts` (ids of the build) were replaced.

    What nobody can compute is read again. Nor is anything left out where a part has no fault that is known, or where
    fuses alone were replaced, since a fuse seldom blows for nothing; or where a point guards something: grid bias
    always, bond and insulation where the part is on the mains side.
    """
    here = {name: point for name, point in build.point.items() if stage in point.stages}
    own = {id: _own(build, id) for id in parts}
    every = faults(build, ground(build, stage).circuit)
    by = {id: [fault for fault in every if _may_have(build, id, own[id], fault)] for id in own}
    found = [fault for fault in every if any(fault in those for those in by.values())]
    known = {id for id, those in by.items() if those}
    if known != set(parts) or known <= build.fuse.keys():
        moved = {name for name, point in here.items() if point.guards is None}
    else:
        moved = set(_moved(build, stage, [change for fault in found for change in fault.changes]))
    moved |= {name for name, point in here.items() if _always(build, point.guards, parts)}
    volts = [name for name, point in here.items() if point.quantity != "resistance"]
    return Retest(
        tuple(name for name in here if name in moved and name not in volts),
        tuple(name for name in volts if name in moved),
        tuple(name for name in volts if name not in moved),
    )


def _moved(build: Build, stage: str, changes: list[Change]) -> Iterator[str]:
    """The points that one of `changes` moves, and those that are not computed."""
    values, least, _ = with_changes(build, stage, [Change({}), *changes])
    names = list(ground(build, stage).points)
    off = values[1:] - values[:1]
    known = np.isfinite(off).all(axis=1)
    with np.errstate(invalid="ignore"):
        far = np.abs(off.mean(axis=1)) > least[0]
    moves = (far | ~known).any(axis=0)
    yield from (name for name, so in zip(names, moves, strict=True) if so)
    yield from (name for name, point in build.point.items() if stage in point.stages and name not in names
                and point.guards not in ("bond", "insulation"))  # fmt: skip


def _own(build: Build, id: str) -> frozenset[str]:
    """The ids by which the faults of a part go: its sections, heaters and windings beside its own."""
    found = {id} | {section.id for section in sections(build) if section.valve == id}
    found |= {heater.part or heater.id for heater in heaters(build) if heater.valve == id}
    return frozenset(found | set(build.transformer[id].windings if id in build.transformer else ()))


def _may_have(build: Build, id: str, own: frozenset[str], fault: Fault) -> bool:
    """May the replaced part have brought the fault: its own, and where it is soldered in a slip at its leads?"""
    if fault.kind not in _WIRING:
        return fault.part in own
    return id not in build.valve and (fault.part in own or id in _NAME.findall(fault.says))


def _always(build: Build, guards: str | None, parts: Collection[str]) -> bool:
    if guards in ("bond", "insulation"):
        known = roles(build)
        return any("mains" in known.get(id, ()) or id in build.transformer or id in build.link for id in parts)
    return guards is not None
