"""Panels: what sits on them is of this build, and their edges fit each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import chain

from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build
from benchtui.buildfile.panels import Edge, Opening, Panel, edges
from benchtui.buildfile.problems import Finding, Path, shown, suggestion

#: Edges this near in length are taken for equal: nobody marks out finer.
_SAME_M = 0.05e-3
_KINDS = ("fold", "meets", "against", "lip")
_ANSWER = {"fold": "fold", "meets": "against", "against": "meets"}

#: Beyond these a chassis is hardly meant; a slip of the unit is likelier.
_USUAL_SHEET_M = (0.3e-3, 40e-3)
_USUAL_SIZE_M = (15e-3, 1.5)
_USUAL_PAINT_M = 0.5e-3

#: Own decisions: no chassis has so many openings or is so large, and a review of it takes a second.
MOST_OPENINGS = 400
_LARGEST_M = 5.0


def check(build: Build) -> Iterator[Finding]:
    """Findings about panels: references, edges, what is written twice, and what is beyond any chassis."""
    count = sum(len(panel.holes) + sum(row.count for row in panel.rows.values()) for panel in build.panel.values())
    if count > MOST_OPENINGS:
        yield Finding(("panel",), f"has {count} openings", f"{MOST_OPENINGS} are the most that are looked at")
    for key, panel in build.panel.items():
        yield from _too_large(("panel", key), panel.model_dump())
    yield from _parts_sit(build)
    for key, panel in build.panel.items():
        yield from _openings(("panel", key), panel)
        for side, edge in edges(panel.edges):
            yield from _edge(build, key, side, edge)


def figures(build: Build) -> Iterator[Finding]:
    """Sizes that are possible, but odd."""
    for key, panel in build.panel.items():
        low, high = _USUAL_SHEET_M
        if not low <= panel.thickness <= high:
            yield _odd(("panel", key, "thickness"), panel.thickness, low, high)
        for number, size in enumerate(panel.size):
            if not _USUAL_SIZE_M[0] <= size <= _USUAL_SIZE_M[1]:
                yield _odd(("panel", key, "size", number), size, *_USUAL_SIZE_M)
        if panel.paint is not None and panel.paint > _USUAL_PAINT_M:
            yield _odd(("panel", key, "paint"), panel.paint, 0.0, _USUAL_PAINT_M)


def _too_large(path: Path, value: object) -> Iterator[Finding]:
    """Lengths, all numbers but angles, that no chassis has."""
    if isinstance(value, float) and path[-1] != "turn" and abs(value) > _LARGEST_M:
        yield Finding(path, "is too large for a chassis", f"at most {_LARGEST_M:g} m is wanted", f"{value:g} m")
    for key, each in value.items() if isinstance(value, dict) else ():
        yield from _too_large((*path, key), each)
    for number, each in enumerate(value) if isinstance(value, tuple) else ():
        yield from _too_large((*path, number), each)


def length(panel: Panel, side: str) -> float:
    """Length of an edge in metres."""
    return panel.size[1] if side in ("left", "right") else panel.size[0]


def _odd(path: Path, value: float, low: float, high: float) -> Finding:
    right = f"{low * 1e3:g} mm to {high * 1e3:g} mm is usual"
    return Finding(path, "is an odd size for a panel", right, f"{value * 1e3:g} mm", odd=True)


def _parts_sit(build: Build) -> Iterator[Finding]:
    """What sits on a panel is a part of this build, at one place."""
    windings = {key for transformer in build.transformer.values() for key in transformer.windings}
    known = [*build.transformer, *(listed.id for listed in parts(build) if listed.id not in windings)]
    seen: dict[str, Path] = {}
    for path, name in _placed(build):
        if name not in known:
            yield Finding(path, "is no part of this build", suggestion(name, known), shown(name))
        elif name in seen:
            yield Finding(
                path, "sits at two places", "one place for each part is wanted", shown(name), other=seen[name]
            )
        seen.setdefault(name, path)


def _placed(build: Build) -> Iterator[tuple[Path, str]]:
    for key, panel in build.panel.items():
        for name, hole in panel.holes.items():
            if hole.part is not None:
                yield ("panel", key, "holes", name, "part"), hole.part
        for name, row in panel.rows.items():
            for number, part in enumerate(row.parts):
                yield ("panel", key, "rows", name, "parts", number), part


def _openings(path: Path, panel: Panel) -> Iterator[Finding]:
    opening: Opening
    for table, name, opening in chain(
        (("holes", *item) for item in panel.holes.items()), (("rows", *item) for item in panel.rows.items())
    ):
        if opening.diameter is not None and opening.size is not None:
            right = "a round hole has diameter, a cut-out has size"
            yield Finding((*path, table, name), "has both diameter and size", right)
    for name, row in panel.rows.items():
        if row.parts and len(row.parts) != row.count:
            wrong = f"names {len(row.parts)} parts for {row.count} openings"
            yield Finding((*path, "rows", name, "parts"), wrong, f"none, or {row.count} are wanted")
        if name in panel.holes:
            other = (*path, "holes", name)
            yield Finding((*path, "rows", name), "has the name of a hole", "a name of its own is wanted", other=other)


def _edge(build: Build, key: str, side: str, edge: Edge) -> Iterator[Finding]:
    path = ("panel", key, "edges", side)
    given = [kind for kind in _KINDS if getattr(edge, kind) is not None]
    if len(given) != 1:
        wrong = f"has {' and '.join(given)}" if given else "says nothing"
        yield Finding(path, wrong, "exactly one of fold, meets, against and lip is wanted")
        return
    yield from _fields(path, edge, given[0])
    if edge.neighbour is None:
        return
    if edge.neighbour not in build.panel:
        right = suggestion(edge.neighbour, build.panel)
        yield Finding((*path, given[0]), "is no panel of this build", right, shown(edge.neighbour))
    elif edge.neighbour == key:
        yield Finding((*path, given[0]), "is the panel itself", "another panel is wanted", shown(edge.neighbour))
    else:
        yield from _joint(build, (key, side), edge, given[0])


def _fields(path: Path, edge: Edge, kind: str) -> Iterator[Finding]:
    """Fields that belong to another kind of edge."""
    if edge.radius is not None and kind not in ("fold", "lip"):
        yield Finding((*path, "radius"), f"does not go with {kind}", "only a fold or a lip is bent")
    if edge.begins is not None and kind == "lip":
        yield Finding((*path, "begins"), "does not go with lip", "no other panel begins there")
    if edge.bare and kind not in ("meets", "against"):
        yield Finding((*path, "bare"), f"does not go with {kind}", "only where two panels meet")


def _joint(build: Build, at: tuple[str, str], edge: Edge, kind: str) -> Iterator[Finding]:
    """The neighbour names this panel back, once, in the right way, and with an edge of the same length."""
    key, side = at
    path, other = ("panel", key, "edges", side), build.panel[str(edge.neighbour)]
    back = [(s, e) for s, e in edges(other.edges) if e.neighbour == key]
    twice = Counter(e.neighbour for _, e in edges(build.panel[key].edges))[edge.neighbour] > 1
    if twice:
        yield Finding((*path, kind), "stands at two edges", "two panels share one edge at most", shown(edge.neighbour))
        return
    answer = _ANSWER[kind]
    if len(back) != 1 or getattr(back[0][1], answer) != key:
        where = ("panel", edge.neighbour, "edges", *(s for s, _ in back[:1]))
        wrong, right = "is not told there", f"one edge of {edge.neighbour} has {answer} = {shown(key)}"
        yield Finding((*path, kind), wrong, right, shown(edge.neighbour), other=where)
        return
    if (key, side) < (edge.neighbour, back[0][0]):  # the rest is told once for both
        yield from _lengths(build, at, edge, back[0])
        if kind == "fold":
            yield from _one_sheet(build, at, str(edge.neighbour))


def _lengths(build: Build, at: tuple[str, str], edge: Edge, back: tuple[str, Edge]) -> Iterator[Finding]:
    key, side = at
    mine, theirs = length(build.panel[key], side), length(build.panel[str(edge.neighbour)], back[0])
    path, other = ("panel", key, "edges", side), ("panel", edge.neighbour, "edges", back[0])
    if edge.begins is not None and back[1].begins is not None:
        yield Finding((*path, "begins"), "is told at both edges", "it is wanted at one of them", other=other)
    elif edge.begins is None and back[1].begins is None and abs(mine - theirs) > _SAME_M:
        wrong = f"is {mine * 1e3:g} mm long, the edge of {edge.neighbour} there {theirs * 1e3:g} mm"
        right = "make them equal, or add begins: how far inside the left or lower end of this edge the other one begins"
        yield Finding(path, wrong, right, other=other)


def _one_sheet(build: Build, at: tuple[str, str], neighbour: str) -> Iterator[Finding]:
    key, side = at
    panel, other = build.panel[key], build.panel[neighbour]
    for field in ("thickness", "material"):
        if getattr(panel, field) != getattr(other, field):
            right = f"a sheet that is bent has one {field}"
            path = ("panel", key, "edges", side, "fold")
            yield Finding(path, f"has another {field}", right, shown(neighbour), other=("panel", neighbour, field))
