"""The hole schedule: every step at a panel in the order in which it is worked."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import pi
from typing import Any

from benchtui.buildfile.panels import edges
from benchtui.metalwork.layout import Cut, Mounted, Plate
from benchtui.metalwork.making import BY_DRILL_TO_MM, PILOT_MM, THIN_MM, Pass, corner_hole_mm, is_sawn, passes

#: The order of work. Within one kind small tools come first, so that a tool is changed once.
ORDER = (
    "mark", "pilot", "drill", "step_drill", "punch", "hole_saw", "round_out", "cut_out", "file", "machined",
    "deburr", "swarf", "paint", "touch_up", "bare",
)  # fmt: skip

_FASTEST_RPM = 3000
"""What a drill press for the home turns at most. Common practice, no source."""


@dataclass(frozen=True)
class Step:
    """One step at one opening, or at the whole panel where `hole` is empty. Millimetres from the datum corner.

    `kind` is one of ORDER; `tool_mm` is the size that the tool leaves, None where none says it; `turns_per_min` is a
    guide for drills of high-speed steel; `what` is the opening's purpose, `note` what is to be minded.
    """

    kind: str
    hole: str
    what: str
    x_mm: float | None
    y_mm: float | None
    diameter_mm: float | None
    size_mm: tuple[float, float] | None
    turn_deg: float
    tool_mm: float | None
    turns_per_min: int | None
    note: str


def schedule(plate: Plate) -> tuple[Step, ...]:
    """Every step at `plate`, in order: all marks, then tool by tool, cut-outs, and what is done to the whole panel.

    None where nothing goes through it.
    """
    if not plate.cuts:
        return ()
    steps = [*_at_openings(plate), *_at_panel(plate), *_at_earths(plate)]
    return tuple(sorted(steps, key=_place_in_order))


def heading(step: Step, material: str) -> str:
    """What is done at a step, in words."""
    size = "" if step.diameter_mm is None else f"{step.diameter_mm:.4g}"
    tool = "" if step.tool_mm is None else f"{step.tool_mm:.4g}"
    return words()["steps"][step.kind].format(size=size, tool=tool, edge=cutting(material).get("edge", ""))


def cautions() -> tuple[str, ...]:
    """What holds at every panel, the dangers first."""
    return (*words()["care"]["words"], *words()["order"]["words"])


def remarks(plate: Plate) -> tuple[str, ...]:
    """What is particular about a panel."""
    folded = any(edge.bent for _, edge in edges(plate.panel.edges))
    material = cutting(plate.panel.material)
    about = f"{plate.panel.material.capitalize()}: {material['wet']}; {material['mind']}."
    return (*([words()["panel"]["folded"]] if folded else []), about)


def _place_in_order(step: Step) -> tuple[int, float, float, float, float]:
    """By kind and tool; then cut-outs from small to large, all else along the sheet."""
    area = 0.0 if step.size_mm is None or step.kind != "cut_out" else step.size_mm[0] * step.size_mm[1]
    tool = (step.tool_mm or step.diameter_mm or 0.0) if step.kind != "mark" else 0.0
    return ORDER.index(step.kind), tool, area, step.x_mm or 0.0, step.y_mm or 0.0


def _at_openings(plate: Plate) -> Iterator[Step]:
    for mounted in plate.mounted:
        for cut in mounted.cuts:
            fixing = mounted.is_fixing(cut)
            what = f"fixing of {mounted.name}" if fixing else _what(mounted)
            yield _step("mark", cut, what, None, plate, guide := _guide_note(cut, fixing=fixing))
            if cut.diameter_mm is not None:
                yield from _round(cut, cut.diameter_mm, what, plate, guide)
            elif cut.size_mm is not None:
                yield from _cut_out(cut, cut.size_mm, what, plate, guide)


def _guide_note(cut: Cut, *, fixing: bool) -> str:
    if not cut.guide:
        return ""
    return str(words()["notes"]["guide_fixing" if fixing else "guide"])


def _cut_out(cut: Cut, size_mm: tuple[float, float], what: str, plate: Plate, guide: str) -> Iterator[Step]:
    if not is_sawn(plate.panel.material, plate.thickness_mm):
        yield _step("machined", cut, what, None, plate, guide)
        return
    notes, corner_mm = words()["notes"], corner_hole_mm(size_mm)
    if corner_mm > PILOT_MM:
        yield _step("pilot", cut, what, PILOT_MM, plate, notes["corner"])
    yield _step("drill", cut, what, corner_mm, plate, notes["corner"])
    yield _step("cut_out", cut, what, None, plate, guide)


def _round(cut: Cut, diameter_mm: float, what: str, plate: Plate, guide: str) -> Iterator[Step]:
    every = passes(diameter_mm, plate.panel.material, plate.thickness_mm)
    for each, following in zip(every, (*every[1:], None), strict=True):
        note = _note(each, following, plate.thickness_mm)
        if following is None:
            note = "; ".join(filter(None, (guide, note)))
        yield _step(each.kind, cut, what, each.tool_mm, plate, note)


def _note(each: Pass, following: Pass | None, thickness_mm: float) -> str:
    notes = words()["notes"]
    if following is not None and following.kind == "punch":
        return notes["bolt"]
    if each.kind == "drill" and each.tool_mm is not None and each.tool_mm > BY_DRILL_TO_MM and thickness_mm < THIN_MM:
        return notes["thin"]
    return notes["unsold"] if each.kind == "round_out" else ""


def _step(kind: str, cut: Cut, what: str, tool_mm: float | None, plate: Plate, note: str) -> Step:
    return Step(
        kind, cut.name, what, cut.x_mm, cut.y_mm, cut.diameter_mm, cut.size_mm, cut.turn_deg, tool_mm,
        turns_per_min(kind, tool_mm, plate.panel.material), note,
    )  # fmt: skip


def turns_per_min(kind: str, tool_mm: float | None, material: str) -> int | None:
    """Turns a minute, 1000 v / (pi d), of what turns; large and step drills and hole saws at half. To two digits."""
    if tool_mm is None or kind not in ("pilot", "drill", "step_drill", "hole_saw"):
        return None
    easy = kind in ("pilot", "drill") and tool_mm <= BY_DRILL_TO_MM
    speed = cutting(material)["speed_m_per_min"] / (1 if easy else 2)
    turns = min(1000 * speed / (pi * tool_mm), _FASTEST_RPM)
    return int(float(f"{turns:.2g}"))


def _at_panel(plate: Plate) -> Iterator[Step]:
    kinds = ["deburr", "swarf"]
    if plate.panel.paint is not None:
        kinds.append("paint")
    elif "edge" in cutting(plate.panel.material):
        kinds.append("touch_up")
    for kind in kinds:
        yield Step(kind, "", plate.panel.name, None, None, None, None, 0.0, None, None, "")


def _at_earths(plate: Plate) -> Iterator[Step]:
    for mounted in plate.mounted:
        if mounted.written.bare or mounted.mounting.group == "earth":
            for cut in mounted.cuts:
                if not mounted.is_fixing(cut):
                    yield _step("bare", cut, _what(mounted), None, plate, "")


def _what(mounted: Mounted) -> str:
    """What an opening is for: the part and its kind, or the builder's words."""
    kind = mounted.mounting.name
    words = [mounted.written.role] if mounted.written.role else [] if kind == "hole" else [kind]
    return ", ".join([*([mounted.part] if mounted.part else []), *words]) or "hole"


def cutting(material: str) -> dict[str, Any]:
    """How a material is drilled."""
    return _data("cutting.toml")[material]


def words() -> dict[str, Any]:
    """What the schedule says."""
    return _data("schedule.toml")


@cache
def _data(name: str) -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath(name).read_text("utf-8"))
