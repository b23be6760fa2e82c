"""What a test point tells of an amplifier's age, by its place in the circuit, and what a move there means."""

from __future__ import annotations

from functools import lru_cache

from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Build
from benchtui.forecast.grids import grid_nodes
from benchtui.parts.guide import value as guide
from benchtui.procedure.plan import WINDING, Point
from benchtui.session.places import CHASSIS
from benchtui.session.tables import table

#: What a signal test is about; every other is told apart by nothing.
_TESTS = {
    "open": "gain", "tried": "gain", "closed": "gain", "at": "gain", "hum": "hum", "clip": "power",
    "distortion": "distortion",
}  # fmt: skip


def kind_of(build: Build, point: Point, level: float) -> str:
    """What a point tells of, by its place in the circuit: a key of compared.toml, "other" where nothing is known.

    `level` is what it should read, or reads.
    """
    if point.test:
        return _TESTS.get(point.test, "other")
    if point.id == WINDING:
        return "winding"
    if point.guards is not None:
        return {"grid bias": "bias"}.get(point.guards, point.guards)
    entry = build.point.get(point.id)
    if entry is None or entry.quantity == "resistance":
        return "other"
    if entry.quantity == "ripple":
        return "ripple"
    if entry.quantity == "ac":
        loads = {node for load in build.load.values() for node in load.nodes}
        return "hum" if {entry.red, entry.black} <= loads | {CHASSIS} else "other"
    return _of_volts(build, point.id, level)


def _of_volts(build: Build, id: str, level: float) -> str:
    """Direct volts: a current by the cathode's bias or the grid's, HT, a grid that should have none, or others."""
    cathodes, grids, supplies = _nodes(build)
    red = build.point[id].red
    if id in {adjust.point for adjust in build.adjust.values()}:
        return "current"
    if red in cathodes:  # its volts are its bias, or next to nothing beside that
        return "cathode" if abs(level) >= guide("moved.grid_level") else "current"
    if red in supplies and level > 0.0:
        return "ht"
    return "grid" if red in grids and abs(level) < guide("moved.grid_level") else "volts"


@lru_cache(maxsize=8)
def _nodes(build: Build) -> tuple[frozenset[str], frozenset[str], frozenset[str]]:
    """Nodes of cathodes, of grids, and of the HT: where an output transformer is fed, or a reservoir's plus end is."""
    found = sections(build)
    cathodes = {node for each in found if "grid" in each.nodes and (node := each.nodes.get("cathode"))} - {CHASSIS}
    grids = {node for each in found for node in grid_nodes(build, each)}
    volts = guide("moved.ht_rating")
    held = {n for part in build.capacitor.values() if CHASSIS in part.nodes and part.volts >= volts for n in part.nodes}
    fed = {part.ht for part in build.output_transformer.values()}
    supplies = held - grids - cathodes | fed
    return frozenset(cathodes), frozenset(grids), frozenset(supplies - {CHASSIS})


def means(kind: str, by: float) -> str:
    """What a move by so much means, where it is as far as guide.toml says; "" otherwise."""
    way = "up" if by > 0.0 else "down"
    told = str(table("compared")["means"].get(kind, {}).get(way, ""))
    return told if told and abs(by) >= guide(f"moved.{kind}_{way}") else ""
