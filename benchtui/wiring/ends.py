"""Every end that is soldered: the tags and leads of what is mounted, and the wire ends of loose parts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from benchtui.assemble.valves import known_type
from benchtui.buildfile.models import Build, MainsTransformer, OutputTransformer, Part, Valve
from benchtui.buildfile.stages import order, stages
from benchtui.buildfile.wiring import CHASSIS as CHASSIS
from benchtui.parts.valves import electrodes

HEATERS = ("heater", "filament", "heater_centre_tap")

#: Parts that are held by their own wires; all others are mounted.
LOOSE = ("resistor", "capacitor", "thermistor", "diode", "zener", "transistor", "fet")

_ENDS: Mapping[str, tuple[str, ...]] = {
    "fuse": ("first tag (the end of the holder)", "second tag (its side)"),
    "switch": ("one tag", "other tag"),
    "pot": ("end 1", "wiper", "end 2"),
    "input": ("hot", "cold"),
    "load": ("hot", "cold"),
    "choke": ("one lead", "other lead"),
    "diode": ("anode", "cathode"),
    "zener": ("anode", "cathode"),
    "transistor": ("collector", "base", "emitter"),
    "fet": ("drain", "gate", "source"),
}


@dataclass(frozen=True)
class End:
    """One end of a part at `node`, which `stage` connects.

    A "tag" can be soldered to, a "lead" runs to some tag, a "loose" end is the wire of a part without a mounting. `key`
    is its name by references alone, which no change of words or of a valve's type touches. `role` is what the end is at
    its part: an electrode, a kind of lead, or its number where the part has no more to say.
    """

    key: str
    part: str
    name: str
    node: str
    stage: str
    kind: Literal["tag", "lead", "loose"]
    role: str = ""

    @property
    def says(self) -> str:
        """As it is called at the bench: "V2 pin 5 (grid)"."""
        return f"{self.part} {self.name}"


@lru_cache(maxsize=16)
def ends(build: Build) -> tuple[End, ...]:
    """All ends of the build, those of the mains inlet first, in the order of the file."""
    found = [*_inlet(build), *_transformers(build)]
    for table in ("output_transformer", "fuse", "switch", "choke", "valve", "pot", "input", "load", *LOOSE):
        for id, part in getattr(build, table).items():
            found += _ends_of(build, table, id, part)
    return tuple(found)


@lru_cache(maxsize=16)
def place_of_stage(build: Build) -> Mapping[str, int]:
    """Stage = its place in the order of the walk."""
    return {id: number for number, id in enumerate(order(build))}


@lru_cache(maxsize=16)
def on_panel(build: Build) -> frozenset[str]:
    """Parts that sit in a hole of a panel."""
    holes = (hole.part for panel in build.panel.values() for hole in panel.holes.values())
    rows = (part for panel in build.panel.values() for row in panel.rows.values() for part in row.parts)
    return frozenset(part for part in (*holes, *rows) if part)


def _ends_of(build: Build, table: str, id: str, part: Part) -> Iterator[End]:
    if isinstance(part, Valve):
        yield from _pins(build, id, part)
    elif isinstance(part, OutputTransformer):
        yield from _output(id, part)
    else:
        kind = "loose" if table in LOOSE and id not in on_panel(build) else "lead" if table == "choke" else "tag"
        name = f"terminals for {id}" if table == "load" else id
        for number, (says, node) in enumerate(zip(_names(table, part), part.nodes, strict=True)):  # type: ignore[attr-defined]
            yield End(f"{id}.{number + 1}", name, says, node, part.stage, kind, role=str(number))


def _names(table: str, part: Part) -> tuple[str, ...]:
    if table == "capacitor" and getattr(part, "make", "") == "electrolytic":
        return ("plus", "minus")
    return _ENDS.get(table, ("one end", "other end"))


def _inlet(build: Build) -> Iterator[End]:
    """Tags of the mains inlet, or ends of a captive lead: no part of the file, wired with the first cold checks."""
    inlet = "mains lead" if build.mains.inlet == "captive lead" else "mains inlet"
    live, neutral = build.mains.nodes or ("", "")
    for name, node in (("earth", build.mains.earth), ("live", live), ("neutral", neutral)):
        if node:
            yield End(f"mains.{name}", inlet, name, node, "cold", "tag", name)


def _transformers(build: Build) -> Iterator[End]:
    for id, transformer in build.transformer.items():
        yield from _primary(build, id, transformer)
        roles = {key: winding.role.partition(";")[0].strip() for key, winding in transformer.windings.items()}
        for key, winding in transformer.windings.items():
            alone = roles[key] not in ("", "primary") and list(roles.values()).count(roles[key]) == 1
            name = roles[key] if alone else f"{roles[key]} {key}".strip()  # no two leads by one name
            for number, node in enumerate(winding.nodes, 1):
                yield End(f"{key}.{number}", id, f"lead {number} of {name}", node, winding.stage, "lead", "winding")


def _primary(build: Build, id: str, transformer: MainsTransformer) -> Iterator[End]:
    place = place_of_stage(build)
    stage = min((w.stage for w in transformer.windings.values()), key=lambda s: place.get(s, 0), default="cold")
    for number, node in enumerate(transformer.primary.nodes or (), 1):
        yield End(f"{id}.primary.{number}", id, f"lead {number} of primary", node, stage, "lead", "primary")


def _output(id: str, part: OutputTransformer) -> Iterator[End]:
    for number, node in enumerate(part.anodes, 1):
        yield End(f"{id}.anode.{number}", id, f"anode lead {number}", node, part.stage, "lead", "anode lead")
    yield End(f"{id}.ht", id, "HT lead", part.ht, part.stage, "lead", "rail")
    for number, node in enumerate(part.screen_taps.nodes if part.screen_taps else (), 1):
        yield End(f"{id}.screen.{number}", id, f"screen tap {number}", node, part.stage, "lead", "screen lead")
    for name, node in zip(("hot", "cold"), part.secondary, strict=True):
        yield End(f"{id}.{name}", id, f"loudspeaker lead, {name}", node, part.stage, "lead", "secondary")


def _pins(build: Build, id: str, valve: Valve) -> Iterator[End]:
    """Pins of a socket; its heater is wired with the heaters, the rest with the valve."""
    found = known_type(valve.type)
    walked = [info.id for info in stages(build)]
    for pin, node in valve.pins.items():
        label = found.pins.get(pin, pin) if found else pin
        electrode = electrodes(label)[0] if electrodes(label) else label
        heated = electrode in HEATERS and "heaters" in walked
        says = f"pin {pin} ({label.replace('_', ' ')})" if label != pin else pin.replace("_", " ")
        yield End(f"{id}.{pin}", id, says, node, "heaters" if heated else valve.stage, "tag", electrode)
