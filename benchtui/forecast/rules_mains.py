"""Rules of the review for the mains side: earth bond, insulation, and what switch and fuse break."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from benchtui.buildfile.joints import Joints
from benchtui.buildfile.models import Build, Point
from benchtui.buildfile.stages import fitted, stages
from benchtui.circuit.elements import CHASSIS
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import Walk

_SERIES_OHM = 1e3
"""A resistor on the mains side below this is in series with a line; above it, it lies across the lines."""

_SOURCE = "common practice, no source"
_FIRST, _LAST = "before the first power", "again at sign-off"


def mains_side(walk: Walk) -> Iterator[Finding]:
    """Says so where the file describes no mains side that could be judged, or only a part of it."""
    build = walk.build
    if not walk.brought_up:
        text = (
            "no mains side is described (nodes and earth of [mains], nodes of the primary, fuse, switch, earth bond): "
            "none of it is judged, and no earth bond is asked for"
        )
        yield _finding("note", "", "mains-side-unknown", text)
    elif not _can_tell(build):
        text = (
            "what fuse and switch break can't be told: nodes are wanted in [mains] and at the primary, and parts "
            "that lead from live and neutral to it"
        )
        yield _finding("warn", "", "mains-side-unknown", text)


def earth_bond(walk: Walk) -> Iterator[Finding]:
    """An amplifier on the mains has an earth bond, read before the first power and again at sign-off."""
    if not walk.brought_up:
        return
    build, earth = walk.build, walk.build.mains.earth
    if earth is None:
        text = "no protective earth is named: earth in [mains] and the [link] that bonds it to the chassis are wanted"
        yield _finding("stop", "", "earth-bond", text)
        return
    before, after = _unpowered(build)
    if not any(_bonds(build, stage, earth) for stage in before):
        text = f"no [link] joins the earth node {earth} to the chassis before the first power; it comes first of all"
        yield _finding("stop", "", "earth-bond", text)
        return
    points = [p for p in build.point.values() if p.guards == "bond" and {p.red, p.black} == {earth, CHASSIS}]
    missing = _not_read(points, before, after)
    if missing:
        text = (
            f"the earth bond is not read {missing}: a point from node {earth} to the chassis with "
            'quantity = "resistance" and guards = "bond" is wanted in the stages cold and signoff'
        )
        yield _finding("stop", earth, "earth-bond-unread", text)


def insulation(walk: Walk) -> Iterator[Finding]:
    """The insulation of the mains side is read before the first power and again at sign-off."""
    build = walk.build
    if not walk.brought_up or build.mains.nodes is None:
        return
    before, after = _unpowered(build)
    lines = _joined(build, with_primary=True)
    live_side = {lines.root(node) for node in build.mains.nodes}
    earthed = {CHASSIS, build.mains.earth}
    points = [
        point
        for point in build.point.values()
        if point.guards == "insulation"
        for one, other in ((point.red, point.black), (point.black, point.red))
        if lines.root(one) in live_side and other in earthed
    ]
    missing = _not_read(points, before, after)
    if missing:
        text = (
            f"the insulation of the mains side is not read {missing}: a point from node {build.mains.nodes[0]} to the "
            'chassis with quantity = "resistance" and guards = "insulation" is wanted in the stages cold and signoff'
        )
        yield _finding("warn", "", "insulation-unread", text)


def mains_switch(walk: Walk) -> Iterator[Finding]:
    """The mains switch breaks both lines, with one lever; in the neutral alone it is a trap."""
    if not _can_tell(walk.build):
        return
    live, neutral = _cut_off(walk.build, "switch")
    in_live, in_neutral = _on_lines(walk.build, "switch")
    if neutral and not live:
        name = in_neutral[0]
        text = f"{name} breaks the neutral only: with it off, the whole primary stays live; live is broken first of all"
        yield _finding("stop", name, "mains-switch", text)
    elif live and not neutral:
        name = in_live[0]
        text = (
            f"{name} breaks the live line only: a plug that can be turned round, or a socket wired wrong, leaves the "
            "primary live with the switch off; two poles that open together break both lines"
        )
        yield _finding("warn", name, "mains-switch", text)
    elif not live:
        text = "no switch stands between mains and primary: one of two poles is wanted, reached without leaning over"
        yield _finding("warn", "", "mains-switch", text)
    elif all(walk.build.switch[name].poles < 2 for name in (*in_live, *in_neutral)):
        text = f"{in_live[0]} and {in_neutral[0]} have one pole each: one lever for both is wanted (poles = 2)"
        yield _finding("note", in_live[0], "mains-switch", text)


def mains_fuse(walk: Walk) -> Iterator[Finding]:
    """The mains fuse stands in the live line."""
    if not _can_tell(walk.build):
        return
    live, neutral = _cut_off(walk.build, "fuse")
    if neutral and not live:
        name = _on_lines(walk.build, "fuse")[1][0]
        text = f"{name} is in the neutral only: blown, it leaves the primary live; it belongs in the live line"
        yield _finding("stop", name, "mains-fuse", text)
    elif not live:
        text = "no fuse stands in the live line: one, time-lag, at 1.5 to 2 times the primary's full current is usual"
        yield _finding("warn", "", "mains-fuse", text)


def _finding(severity: str, part: str, rule: str, text: str) -> Finding:
    return Finding(severity, "", part, rule, text, None, None, _SOURCE)


def _unpowered(build: Build) -> tuple[list[str], list[str]]:
    """Stages of cold checks before the first power, and after the last."""
    walked = stages(build)
    powered = [number for number, info in enumerate(walked) if info.kind == "power" and not info.entry.soak]
    first, last = (powered[0], powered[-1]) if powered else (len(walked), -1)
    cold = [(number, info.id) for number, info in enumerate(walked) if info.kind == "cold" or info.entry.soak]
    return [id for number, id in cold if number < first], [id for number, id in cold if number > last]


def _not_read(points: Sequence[Point], before: list[str], after: list[str]) -> str:
    """When none of `points` is read, in words; empty if some are read both times."""
    read = {stage for point in points for stage in point.stages}
    times = ((_FIRST, before), (_LAST, after))
    return " and not ".join(when for when, there in times if read.isdisjoint(there))


def _bonds(build: Build, stage: str, earth: str) -> bool:
    """Whether links alone join earth and chassis: no switch, fuse or resistor stands in an earth."""
    there, joints = fitted(build, stage), Joints()
    for name, link in build.link.items():
        if name in there:
            joints.join(*link.nodes)
    return joints.root(earth) == joints.root(CHASSIS)


def _primary_nodes(build: Build) -> list[str]:
    return [node for transformer in build.transformer.values() for node in transformer.primary.nodes or ()]


def _can_tell(build: Build) -> bool:
    """Whether both lines are described as far as a primary."""
    return build.mains.nodes is not None and not any(_cut_off(build))


def _joined(build: Build, *, without: str = "", with_primary: bool = False) -> Joints:
    """Nodes that the parts in series with a line join, apart from those of the table `without`."""
    joints = Joints()
    tables = ("link", "fuse", "switch", "thermistor", "choke", "resistor")
    for table in (table for table in tables if table != without):
        for part in getattr(build, table).values():
            across = table == "resistor" and part.value > _SERIES_OHM
            if not across and CHASSIS not in part.nodes:
                joints.join(*part.nodes)
    if with_primary:
        for transformer in build.transformer.values():
            joints.join(*(transformer.primary.nodes or ("",)))
    return joints


def _cut_off(build: Build, table: str = "") -> tuple[bool, bool]:
    """Whether live, and whether neutral, do not reach a primary once the parts of `table` are open."""
    joints = _joined(build, without=table)
    ends = {joints.root(node) for node in _primary_nodes(build)}
    live, neutral = (joints.root(node) not in ends for node in build.mains.nodes or ())
    return live, neutral


def _on_lines(build: Build, table: str) -> tuple[list[str], list[str]]:
    """Parts of `table` that the live line meets first, and those that the neutral does."""
    joints = _joined(build, without=table)
    live, neutral = (
        [
            name
            for name, part in getattr(build, table).items()
            if joints.root(line) in {joints.root(node) for node in part.nodes}
        ]
        for line in build.mains.nodes or ()
    )
    return live, neutral
