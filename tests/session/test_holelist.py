"""Steps at openings are known by what they leave: an opening that is changed has other steps, all else the same."""

from __future__ import annotations

import pytest

from benchtui.buildfile.load import load_text
from benchtui.session.holelist import hole_list
from tests.session.made_up import BUILDS

TEXT = (BUILDS / "pp-6v6.toml").read_text("utf-8")
INLET = 'inlet = { kind = "mains inlet with fuse", part = "F1", at = ["50 mm", "30 mm"], size = ["27.5 mm", "31 mm"]'


def steps(text: str) -> dict[str, str]:
    """Id of each step at an opening = its opening."""
    return {work.id: work.step.hole for work in hole_list(load_text(text, "amp.toml").build) if work.id}


@pytest.mark.parametrize(
    "changed",
    [INLET.replace("50 mm", "52 mm"), INLET.replace("31 mm", "33 mm"), f"{INLET}, turn = 90"],
    ids=["moved", "made larger", "turned"],
)
def test_every_step_of_a_cut_out_that_is_changed_is_another_and_no_other_step_is(changed: str) -> None:
    assert INLET in TEXT
    before, after = steps(TEXT), steps(TEXT.replace(INLET, changed))
    others = {id for id, hole in before.items() if not hole.startswith("inlet")}
    assert others == {id for id, hole in after.items() if not hole.startswith("inlet")}
    assert not {id for id, hole in before.items() if hole == "inlet"} & set(after)


def test_no_two_steps_are_taken_for_each_other() -> None:
    works = [work for work in hole_list(load_text(TEXT, "amp.toml").build) if work.id]
    assert len(steps(TEXT)) == len(works)
