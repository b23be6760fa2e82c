"""What can be bought: sizes in order, and sheets that a tool is not made for."""

from __future__ import annotations

import pytest

from benchtui.parts.tools import tools


@pytest.mark.parametrize("name", tools())
def test_sizes_rise_and_the_sheet_has_a_limit(name: str) -> None:
    tool = tools()[name]
    assert list(tool.sizes_mm) == sorted(set(tool.sizes_mm))
    assert tool.most_sheet_mm and all(most > 0 for most in tool.most_sheet_mm.values())


def test_every_punch_has_a_hole_for_its_bolt_that_a_drill_or_step_drill_makes() -> None:
    punch, makers = tools()["punch"], (tools()["drill"], tools()["step_drill"])
    for size in punch.sizes_mm:
        hole = punch.bolt_hole_mm(size)
        assert hole is not None and hole < size
        assert any(hole in each.sizes_mm for each in makers)


def test_a_sheet_too_thick_or_of_another_material_is_not_for_the_punch() -> None:
    punch = tools()["punch"]
    assert punch.bears("steel", 1.6) and not punch.bears("steel", 1.7)
    assert not punch.bears("wood", 1.0)


def test_the_nearest_size_is_never_below_what_is_wanted() -> None:
    drill = tools()["drill"]
    assert drill.nearest(3.4, 0.2) == 3.4  # ISO 273 medium, M3
    assert drill.nearest(3.572, 0.2) == 3.6  # 9/64 in for 6-32
    assert drill.nearest(10.1, 0.2) is None
    assert (drill.below(10.1), drill.below(0.5)) == (10.0, None)
