"""Clearance holes and tap drills against published tables."""

from __future__ import annotations

import pytest

from benchtui.parts.errors import PartError
from benchtui.parts.screws import clearance_mm, tap_drill_mm, threads

# ISO 273, clearance holes for bolts and screws: fine, medium, coarse; read in a secondary text
ISO_273 = [
    ("M2.5", 2.7, 2.9, 3.1),
    ("M3", 3.2, 3.4, 3.6),
    ("M3.5", 3.7, 3.9, 4.2),
    ("M4", 4.3, 4.5, 4.8),
    ("M5", 5.3, 5.5, 5.8),
    ("M6", 6.4, 6.6, 7.0),
]

# Mechanical Engineer's Data Handbook, p. 299, tapping drills for coarse metric threads
TAPPING = [("M2.5", 2.05), ("M3", 2.5), ("M4", 3.3), ("M5", 4.2), ("M6", 5.0)]

# coarse pitch in mm: ISO 261; published rule for a tapping drill: diameter less pitch
PITCH = {"M2.5": 0.45, "M3": 0.5, "M4": 0.7, "M5": 0.8, "M6": 1.0}

# twist drills by number, in inches: No. 30 0.1285, No. 36 0.1065, No. 43 0.089; a chart in a handbook
NUMBERED = [("4-40", 0.1285, 0.089), ("6-32", 9 / 64, 0.1065)]


@pytest.mark.parametrize(("thread", "fine", "medium", "coarse"), ISO_273)
def test_clearance_holes_are_those_of_the_standard(thread: str, fine: float, medium: float, coarse: float) -> None:
    assert clearance_mm(thread, "fine") == fine
    assert clearance_mm(thread) == clearance_mm(thread, "medium") == medium
    assert clearance_mm(thread, "coarse") == coarse


@pytest.mark.parametrize(("thread", "drill"), TAPPING)
def test_tap_drills_are_those_of_the_table_and_of_the_rule(thread: str, drill: float) -> None:
    assert tap_drill_mm(thread) == drill
    assert drill == pytest.approx(float(thread[1:]) - PITCH[thread], abs=0.05)


@pytest.mark.parametrize(("thread", "free_in", "tap_in"), NUMBERED)
def test_inch_screws_have_the_drills_of_the_chart(thread: str, free_in: float, tap_in: float) -> None:
    assert clearance_mm(thread) == pytest.approx(25.4 * free_in, abs=0.002)
    assert tap_drill_mm(thread) == pytest.approx(25.4 * tap_in, abs=0.002)


def test_a_tap_drill_is_smaller_than_any_hole_that_lets_the_screw_through() -> None:
    for thread, _ in TAPPING:
        assert tap_drill_mm(thread) < clearance_mm(thread, "fine") < clearance_mm(thread, "coarse")


def test_an_unknown_thread_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(PartError, match=r"M7.*known are M2\.5.*6-32"):
        clearance_mm("M7")
    with pytest.raises(PartError, match=r"M3\.5"):
        tap_drill_mm("M3.5")
    assert "M3.5" in threads()
