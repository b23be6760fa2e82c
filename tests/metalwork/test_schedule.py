"""The hole schedule: worked by hand, and what holds of every one."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtui.buildfile.panels import Hole, Panel
from benchtui.metalwork.layout import Cut, Mounted, Plate
from benchtui.metalwork.making import passes
from benchtui.metalwork.schedule import ORDER, Step, cautions, cutting, heading, remarks, schedule, turns_per_min
from benchtui.parts.mountings import mounting
from benchtui.parts.tools import tools
from tests.metalwork import panels

MATERIALS = ("aluminium", "steel", "stainless steel", "brass", "copper", "wood", "plastic")


def plate_of(cuts: list[Cut], material: str, thickness_mm: float, paint: str | None = None) -> Plate:
    size = ("300 mm", "200 mm")
    panel = Panel(name="P", size=size, thickness=f"{thickness_mm} mm", material=material, paint=paint)  # type: ignore[arg-type]
    hole = Hole(kind="hole", at=("1 mm", "1 mm"))  # type: ignore[arg-type]
    mounted = tuple(
        Mounted(cut.name, ("panel", "p"), None, mounting("hole"), hole, cut.x_mm, cut.y_mm, (cut,), None, None)
        for cut in cuts
    )
    return Plate("p", panel, 300.0, 200.0, thickness_mm, mounted)


def round_cut(diameter: float, name: str = "H", x: float = 50.0) -> Cut:
    return Cut(name, x, 50.0, diameter, None, 0.0, False)


def worked(diameter: float, material: str, thickness_mm: float) -> list[tuple[str, float | None]]:
    return [(each.kind, each.tool_mm) for each in passes(diameter, material, thickness_mm)]


@pytest.mark.parametrize(
    ("diameter", "material", "thickness", "expected"),
    [
        # an M3 screw's hole in sheet: a pilot and its drill
        (3.4, "aluminium", 1.5, [("pilot", 2.5), ("drill", 3.4)]),
        # a hole that is not larger than a pilot is one
        (2.5, "steel", 1.0, [("drill", 2.5)]),
        # an octal socket: pilot, hole for the punch's bolt, punch
        (28.6, "aluminium", 1.5, [("pilot", 3.0), ("step_drill", 10.0), ("punch", 28.6)]),
        # the same in sheet too thick for punch and step drill: no hole saw has 28.6, so 27 and a file
        (28.6, "steel", 4.0, [("pilot", 3.0), ("hole_saw", 27.0), ("file", None)]),
        # a phono socket of 9.5 mm: no step drill stops there; the drill does
        (9.5, "steel", 1.0, [("pilot", 3.0), ("drill", 9.5)]),
        # 10.2 mm: nothing sold between 10.2 and 10.4, so 10 and a file
        (10.2, "aluminium", 1.5, [("pilot", 3.0), ("step_drill", 10.0), ("file", None)]),
        # 6-32 free fit, 9/64 in
        (3.572, "brass", 1.0, [("pilot", 2.5), ("drill", 3.6)]),
        # a meter of 70 mm: nothing turns it, it is sawn
        (70.0, "aluminium", 2.0, [("pilot", 3.0), ("round_out", None)]),
        # stainless steel breaks these punches
        (20.0, "stainless steel", 1.0, [("pilot", 3.0), ("step_drill", 20.0)]),
    ],
)  # fmt: skip
def test_a_hole_is_made_as_it_would_be_by_hand(
    diameter: float, material: str, thickness: float, expected: list[tuple[str, float | None]]
) -> None:
    assert worked(diameter, material, thickness) == expected


def test_the_order_of_a_panel_is_the_one_worked_out_by_hand() -> None:
    told = [(step.kind, step.tool_mm, step.hole) for step in schedule(panels.plate("rear"))]
    assert told == [
        ("mark", None, "inlet screw 1"), ("mark", None, "inlet"), ("mark", None, "inlet screw 2"), ("mark", None, "PE"),
        ("pilot", 2.5, "inlet screw 1"), ("pilot", 2.5, "inlet screw 2"), ("pilot", 3.0, "inlet"), ("pilot", 3.0, "PE"),
        ("drill", 3.4, "inlet screw 1"), ("drill", 3.4, "inlet screw 2"), ("drill", 5.5, "PE"), ("drill", 6.0, "inlet"),
        ("cut_out", None, "inlet"), ("deburr", None, ""), ("swarf", None, ""), ("bare", None, "PE"),
    ]  # fmt: skip


HUNDREDTHS = st.integers(100, 8000).map(lambda number: number / 100)
CUTS = st.one_of(
    st.builds(lambda d: (d, None), HUNDREDTHS),
    st.builds(lambda w, h: (None, (w + 2.0, h + 2.0)), HUNDREDTHS, HUNDREDTHS),
)


@settings(max_examples=80)
@given(
    st.lists(st.tuples(CUTS, st.floats(0, 300), st.floats(0, 200), st.booleans()), min_size=1, max_size=8),
    st.sampled_from(MATERIALS), st.floats(0.5, 12.0), st.booleans(),
)  # fmt: skip
def test_of_every_schedule(
    drawn: list[tuple[tuple[float | None, tuple[float, float] | None], float, float, bool]],
    material: str,
    thickness: float,
    painted: bool,
) -> None:
    cuts = [Cut(f"H{n}", x, y, *sizes, 0.0, guide) for n, (sizes, x, y, guide) in enumerate(drawn)]
    steps = schedule(plate_of(cuts, material, thickness, "0.1 mm" if painted else None))
    each_marked_once(steps, cuts)
    in_order(steps)
    for cut in cuts:
        larger_and_larger([step for step in steps if step.hole == cut.name], cut)
    for step in steps:
        sold_and_made_for_it(step, material, thickness)
        assert heading(step, material).strip() and "{" not in heading(step, material)
    whole = [step.kind for step in steps if not step.hole]
    last = ["paint"] if painted else ["touch_up"] if material == "steel" else []
    assert whole == ["deburr", "swarf", *last]


def each_marked_once(steps: tuple[Step, ...], cuts: list[Cut]) -> None:
    marks = Counter(step.hole for step in steps if step.kind == "mark")
    assert marks == {cut.name: 1 for cut in cuts}
    guides = {step.hole for step in steps if step.kind == "mark" and "measure the part" in step.note}
    assert guides == {cut.name for cut in cuts if cut.guide}


def in_order(steps: tuple[Step, ...]) -> None:
    """Kinds one after the other, and within drilling no tool is taken up twice."""
    places = [ORDER.index(step.kind) for step in steps]
    assert places == sorted(places)
    for kind in ("pilot", "drill", "step_drill", "punch", "hole_saw"):
        sizes = [step.tool_mm for step in steps if step.kind == kind]
        assert sizes == sorted(sizes, key=lambda size: size or 0.0)


def larger_and_larger(steps: list[Step], cut: Cut) -> None:
    """Every tool of one opening leaves more than the last, none 0.2 mm too much, and the last one all of it."""
    sizes = [step.tool_mm for step in steps if step.tool_mm is not None]
    assert all(a < b for a, b in zip(sizes, sizes[1:], strict=False))
    if cut.diameter_mm is not None:
        assert all(size <= cut.diameter_mm + 0.2 + 1e-6 for size in sizes)
        full = sizes and sizes[-1] >= cut.diameter_mm - 1e-6
        assert full or steps[-1].kind in ("file", "round_out", "machined")
        assert cut.diameter_mm <= 3.0 or steps[1].kind in ("pilot", "machined")
    else:
        assert steps[-1].kind in ("cut_out", "machined") and all(size < min(cut.size_mm or ()) for size in sizes)


def sold_and_made_for_it(step: Step, material: str, thickness: float) -> None:
    if step.tool_mm is None:
        assert step.kind not in ("pilot", "drill", "step_drill", "punch", "hole_saw")
        return
    tool = tools()["drill" if step.kind == "pilot" else step.kind]
    assert step.tool_mm in tool.sizes_mm
    assert tool.bears(material, thickness)


@pytest.mark.parametrize(
    ("kind", "tool", "material", "turns"),
    [
        ("drill", 5.0, "steel", 1300),  # 1000 x 20 / (3.14 x 5) = 1273
        ("drill", 10.0, "steel", 320),  # half of 1000 x 20 / (3.14 x 10) = 637
        ("drill", 6.5, "aluminium", 2900),  # 1000 x 60 / (3.14 x 6.5) = 2938
        ("step_drill", 20.0, "stainless steel", 72),  # half of 1000 x 9 / (3.14 x 20) = 143
        ("pilot", 2.5, "brass", 3000),  # 5093, more than a drill press at home has
        ("punch", 28.6, "steel", None),
    ],
)
def test_turns_are_worked_out_by_hand(kind: str, tool: float, material: str, turns: int | None) -> None:
    assert turns_per_min(kind, tool, material) == turns


@pytest.mark.parametrize("material", MATERIALS)
def test_every_material_says_how_it_is_drilled_and_every_panel_what_hurts(material: str) -> None:
    said = " ".join(remarks(plate_of([round_cut(3.0)], material, 1.5)))
    assert cutting(material)["wet"] in said and cutting(material)["mind"] in said
    cared = " ".join(cautions())
    for danger in ("Goggles", "Clamp", "No gloves", "Swarf", "wrong hole", "Local codes"):
        assert danger in cared


def test_places_on_a_bent_sheet_are_told_to_be_those_after_bending() -> None:
    assert "after bending" in remarks(panels.plate("rear"))[0]
    assert not any("bending" in each for each in remarks(panels.plate("side")))
