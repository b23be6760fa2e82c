"""The pins of valve sockets that are wired in a stage, and which of them are neighbours."""

from __future__ import annotations

from collections.abc import Container, Iterator
from dataclasses import dataclass
from itertools import combinations

from benchtui.assemble.valves import heaters, known_type
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import fitted, order, stages
from benchtui.parts import valves as library
from benchtui.parts.bases import base
from benchtui.parts.errors import PartError

_NEAR_STEPS = 1.2
"""Pins this many of the socket's steps apart are neighbours; the gap at the key of most sockets is wider."""

_HEATER = ("heater", "filament")


@dataclass(frozen=True)
class Pin:
    """A connection of a valve's socket: pin "5" of V2, or an electrode's name where the type is not in the library."""

    valve: str
    name: str

    def __str__(self) -> str:
        return f"{self.valve}.{self.name}"

    @property
    def place(self) -> str:
        """Where a probe goes, in words."""
        return f"{'pin ' if self.name.isdigit() else ''}{self.name} of {self.valve}"


def wired_pins(build: Build, stage: str, nodes: Container[str]) -> dict[Pin, str]:
    """Pin = node of every socket, as wired in `stage` to one of `nodes`, whether its valve is plugged in or not.

    A valve's stage wires its electrodes; its heater is wired with the first stage in which the valve is plugged in.
    """
    here = fitted(build, stage)
    heated = _heated(build, stage)
    found = {}
    for ref, valve in build.valve.items():
        for name, node in valve.pins.items():
            if node in nodes and (ref in here or (ref in heated and is_heater(build, Pin(ref, name)))):
                found[Pin(ref, name)] = node
    return found


def _heated(build: Build, stage: str) -> frozenset[str]:
    """Valves with a heater that were in their sockets in any stage up to `stage`."""
    place = {id: number for number, id in enumerate(order(build))}
    passed = [info for info in stages(build) if info.kind != "bench" and place[info.id] <= place[stage]]
    return frozenset(
        heater.valve for heater in heaters(build) for info in passed if heater.valve not in info.entry.valves_out
    )


def is_heater(build: Build, pin: Pin) -> bool:
    """Whether the pin is one of the valve's heater or filament."""
    return any(electrode.startswith(_HEATER) for electrode in library.electrodes(electrode_of(build, pin)))


def electrode_of(build: Build, pin: Pin) -> str:
    """What the library calls the pin, such as "cathode"; its own name where the type is not known."""
    found = known_type(build.valve[pin.valve].type)
    return found.pins.get(pin.name, pin.name) if found else pin.name


def neighbours(build: Build, ref: str) -> Iterator[tuple[Pin, Pin]]:
    """Pins side by side on the socket of valve `ref`, empty ones too; none where its base is not known."""
    found = known_type(build.valve[ref].type)
    if found is None:
        return
    try:
        angles = base(found.base).angles
    except PartError:
        return
    apart = {
        (str(one + 1), str(other + 1)): abs((angles[one] - angles[other] + 180.0) % 360.0 - 180.0)
        for one, other in combinations(range(len(angles)), 2)
    }
    step = min(apart.values(), default=0.0)
    for (one, other), angle in apart.items():
        if angle <= _NEAR_STEPS * step:
            yield Pin(ref, one), Pin(ref, other)


def stage_before(build: Build, stage: str) -> str | None:
    """The stage that this build passes through before `stage`; None for the first."""
    ids = [info.id for info in stages(build)]
    place = ids.index(stage)
    return ids[place - 1] if place else None
