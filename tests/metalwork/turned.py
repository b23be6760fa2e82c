"""The same chassis described otherwise: a panel whose sides are called by the next ones, and the whole in a mirror."""

from __future__ import annotations

from benchtui.buildfile.models import Build
from benchtui.buildfile.panels import Edges, Hole, KeepOut, Panel, Row

_NEXT = {"bottom": "right", "right": "top", "top": "left", "left": "bottom"}


def turned(build: Build, name: str) -> Build:
    """The build with one panel described a quarter against the clock; none of its edges may have `begins`."""
    panel = build.panel[name]
    width, height = panel.size

    def place(at: tuple[float, float]) -> tuple[float, float]:
        return height - at[1], at[0]

    def hole(each: Hole) -> Hole:
        return each.model_copy(update={"at": place(each.at), "turn": each.turn + 90.0})

    def area(each: KeepOut) -> KeepOut:
        corner = place((each.at[0], each.at[1] + each.size[1]))
        return each.model_copy(update={"at": corner, "size": each.size[::-1]})

    edges = Edges(**{_NEXT[side]: getattr(panel.edges, side) for side in _NEXT})
    new = panel.model_copy(
        update={
            "size": (height, width),
            "edges": edges,
            "holes": {key: hole(each) for key, each in {**panel.holes, **_singly(panel)}.items()},
            "rows": {},
            "keep_out": {key: area(each) for key, each in panel.keep_out.items()},
        }
    )
    return build.model_copy(update={"panel": {**build.panel, name: new}})


def mirrored(build: Build) -> Build:
    """The build with left and right exchanged in every panel; none of its upper and lower edges may have `begins`."""
    return build.model_copy(update={"panel": {name: _mirror(panel) for name, panel in build.panel.items()}})


def _mirror(panel: Panel) -> Panel:
    width = panel.size[0]

    def hole(each: Hole) -> Hole:
        screws = None if each.screws is None else tuple((-x, y) for x, y in each.screws)
        return each.model_copy(update={"at": (width - each.at[0], each.at[1]), "turn": -each.turn, "screws": screws})

    def area(each: KeepOut) -> KeepOut:
        return each.model_copy(update={"at": (width - each.at[0] - each.size[0], each.at[1])})

    edges = panel.edges
    return panel.model_copy(
        update={
            "edges": Edges(left=edges.right, right=edges.left, top=edges.top, bottom=edges.bottom),
            "holes": {key: hole(each) for key, each in {**panel.holes, **_singly(panel)}.items()},
            "rows": {},
            "keep_out": {key: area(each) for key, each in panel.keep_out.items()},
        }
    )


def _singly(panel: Panel) -> dict[str, Hole]:
    """The openings of rows as holes of their own."""
    found = {}
    for name, row in panel.rows.items():
        fields = {key: value for key, value in row if key not in set(Row.model_fields) - set(Hole.model_fields)}
        for number in range(row.count):
            x, y = row.first
            step = row.spacing * number
            at = (x + step, y) if row.along == "right" else (x, y + step)
            part = row.parts[number] if row.parts else None
            found[f"{name} {number + 1}"] = Hole.model_construct(**fields, at=at, part=part)
    return found
