"""Which fault is planted: one that shows, drawn by weight, the same for the same seed."""

from __future__ import annotations

import pytest

from benchtui.assemble.checked import load_checked
from benchtui.buildfile.stages import stages
from benchtui.rehearsal.answering import answer
from benchtui.rehearsal.asked import Amplifier, Plant, Planted
from benchtui.rehearsal.planting import lets_in, shows
from tests.record.counts import count
from tests.rehearsal.bench import BUILDS

BUILD = load_checked(BUILDS / "pp-6v6.toml").build
POWERED = [info.id for info in stages(BUILD) if info.kind == "power"]


@pytest.mark.parametrize("seed", range(count(short=1, full=30)))
def test_what_is_planted_shows_in_a_stage_and_the_sound_amplifier_in_none(seed: int) -> None:
    planted = answer(BUILD, Plant(seed))
    assert isinstance(planted, Planted)
    assert any(shows(BUILD, Amplifier(seed, planted), stage) for stage in POWERED)
    assert not any(shows(BUILD, Amplifier(seed), stage) for stage in POWERED)
    assert answer(BUILD, Plant(seed)) == planted


def test_a_short_that_hides_the_bleed_clip_may_be_planted() -> None:
    """The gate lets hands in by the clip's own ohms then."""
    shorted = Planted("capacitor-shorted", "C2", "C2 is shorted")
    assert shows(BUILD, Amplifier(1, shorted), "supply")
    assert lets_in(BUILD, Amplifier(1, shorted), "supply")
    assert lets_in(BUILD, Amplifier(1), "supply")


@pytest.mark.skipif(not count(short=False, full=True), reason="minutes: BENCHTUI_LONG=1")
def test_seeds_plant_different_faults() -> None:
    assert len({answer(BUILD, Plant(seed)) for seed in range(40)}) > 20
