"""Ohms read with hands in: the bleed clip, on from the first power on, is a resistor of the circuit."""

from __future__ import annotations

import pytest

from benchtui.buildfile.models import Build, Gate, Point
from benchtui.forecast.clip import clip_ends, clips_on
from benchtui.forecast.ohms import expect_ohms
from benchtui.verdicts.expectation import Expectation
from tests.reference.amplifiers import build

# A's rail at C2 has 100k to chassis, and 260 ohm of choke and 220k beside it; the clip of 2k2 sits across C2.
BLEEDERS_OHM = 1 / (1 / 100e3 + 1 / 220.26e3)
CLIP_OHM = 2200.0


def held_down(ohm: float) -> float:
    """The same with a resistor across C2, C1 with its 220k behind the choke, and C3 behind 10k."""
    return 1 / (1 / ohm + 1 / 100e3 + 1 / (260.0 + 1 / (1 / 220e3 + 1 / ohm)) + 1 / (10e3 + ohm))


def read_ohms(node: str, stage: str, **gate: object) -> Expectation:
    made = build("a").build
    point = Point(name="rail", red=node, quantity="resistance", stages=(stage,))
    read: Build = made.model_copy(update={"point": {"rail": point}, "gate": Gate(**gate)})
    (found,) = expect_ohms(read, stage, samples=40)
    return found


def test_the_clip_is_in_what_a_rail_reads_with_hands_in() -> None:
    """Before `supply` only heaters had power: HT+ is where it will be, and nothing is charged that takes a link."""
    found = read_ohms("bp2", "supply")
    assert found.nominal == pytest.approx(1 / (1 / BLEEDERS_OHM + 1 / CLIP_OHM), rel=1e-3)  # 2132 ohm
    assert found.low < found.nominal < found.high < 2500.0
    assert "bleed clip" in found.why[0] and "68.8 kΩ" in found.why[0]


@pytest.mark.parametrize("at", ["bp1", "bp2", "bp3"])
def test_with_hands_in_clip_and_links_are_across_each_capacitor_wherever_the_clip_is(at: str) -> None:
    found = read_ohms("bp2", "output", clip_between=(at, "0"))
    assert found.nominal == pytest.approx(held_down(CLIP_OHM), rel=1e-3)  # 1045 ohm
    assert f"2k2 each from {at} to 0; " in found.why[0] and "68.8 kΩ" in found.why[0]


def test_after_power_in_the_stage_itself_its_own_charge_takes_the_links() -> None:
    """Hands in after an alarm: clip and links are those of the gate after that power, not of the one before it."""
    made = build("a").build
    assert list(clips_on(made, "supply", linked=False)) == [("bp2", "0")]
    after = clips_on(made, "supply", linked=False, after="supply")
    assert after[0] == ("bp2", "0") and sorted(after) == [("bp1", "0"), ("bp2", "0"), ("bp3", "0")]


def test_a_rail_is_shorted_where_it_would_read_under_1_kohm_without_the_clip() -> None:
    short = read_ohms("bp2", "output", clip="470R").stop_low
    with_clip, without = held_down(470.0), BLEEDERS_OHM
    assert short is not None and short.value == pytest.approx(1 / (1 / 1000.0 + 1 / with_clip - 1 / without), rel=1e-3)
    assert short.value < read_ohms("bp2", "output", clip="470R").low


def test_the_clip_counts_where_the_build_file_puts_it() -> None:
    # from C1 the clip at C2 is seen through the choke's 260 ohm, the 220k at C1 beside it
    at_c1 = 1 / (1 / 220e3 + 1 / (260.0 + 1 / (1 / 100e3 + 1 / CLIP_OHM)))
    assert read_ohms("bp1", "supply", clip_between=("bp2", "0")).nominal == pytest.approx(at_c1, rel=1e-3)
    across_c1 = 1 / (1 / CLIP_OHM + 1 / 220e3 + 1 / 100.26e3)
    assert read_ohms("bp1", "supply", clip_between=("bp1", "0")).nominal == pytest.approx(across_c1, rel=1e-3)


def test_a_point_away_from_the_clip_reads_as_without_it() -> None:
    found = read_ohms("v2_k", "output")
    assert found.nominal == pytest.approx(560.0) and not any("clip" in text for text in found.why)


def test_before_the_first_power_there_is_no_clip() -> None:
    # heaters are the first power, so only `supply` finds the clip, here put from a heater leg to chassis
    unclipped, clipped = (read_ohms("h6a", stage, clip_between=("h6a", "0")) for stage in ("heaters", "supply"))
    assert not any("clip" in text for text in unclipped.why)
    assert 1 / clipped.nominal == pytest.approx(1 / unclipped.nominal + 1 / CLIP_OHM, rel=1e-6)
    assert unclipped.nominal == read_ohms("h6a", "heaters").nominal


def test_after_heaters_alone_the_clip_is_where_the_first_reservoir_will_be() -> None:
    made = build("a").build
    assert clip_ends(made, "heaters") == clip_ends(made, "supply") == clip_ends(made, None)


def test_a_chassis_that_never_met_mains_has_a_link_across_each_capacitor_fitted() -> None:
    made = build("a").build
    assert clips_on(made, "heaters", linked=True) == ()
    ends = [made.capacitor[id].nodes for id in ("C1", "C2", "C3")]
    assert sorted(clips_on(made, "supply", linked=True)) == sorted(ends)
    point = Point(name="rail", red="bp2", quantity="resistance", stages=("supply",))
    read = made.model_copy(update={"point": {"rail": point}})
    (found,) = expect_ohms(read, "supply", clips=clips_on(made, "supply", linked=True), samples=40)
    assert found.nominal == pytest.approx(held_down(CLIP_OHM), rel=1e-3)
    assert "2k2 each from bp1 to 0; bp2 to 0; bp3 to 0" in found.why[0]
