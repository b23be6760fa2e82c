"""Clearance holes against published tables."""

from __future__ import annotations

import pytest

from benchtui.parts.errors import PartError
from benchtui.parts.screws import clearance_mm, threads

# ISO 273, clearance holes for bolts and screws, medium series; read in a secondary text
ISO_273 = [("M2.5", 2.9), ("M3", 3.4), ("M3.5", 3.9), ("M4", 4.5), ("M5", 5.5), ("M6", 6.6)]

# twist drills for a free fit, in inches: No. 30 0.1285 and 9/64; a chart in a handbook
INCH = [("4-40", 0.1285), ("6-32", 9 / 64)]


@pytest.mark.parametrize(("thread", "hole_mm"), ISO_273)
def test_clearance_holes_are_those_of_the_standard(thread: str, hole_mm: float) -> None:
    assert clearance_mm(thread) == hole_mm


@pytest.mark.parametrize(("thread", "free_in"), INCH)
def test_inch_screws_have_the_drills_of_the_chart(thread: str, free_in: float) -> None:
    assert clearance_mm(thread) == pytest.approx(25.4 * free_in, abs=0.002)


def test_every_thread_is_held_against_a_table() -> None:
    assert set(threads()) == {thread for thread, _ in (*ISO_273, *INCH)}


def test_an_unknown_thread_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(PartError, match=r"M7.*known are M2\.5.*6-32"):
        clearance_mm("M7")
