"""The two reference amplifiers are circuits without mains side, and sound: rules on a bring-up note, and no more."""

from __future__ import annotations

import pytest

from benchtui.forecast.review import WALK_RULES
from benchtui.forecast.review_state import StageStates, Walk, stage_states
from benchtui.forecast.rules_valves import floating_heaters
from tests.forecast.rules import told, told_of_stages
from tests.reference.amplifiers import NAMES, build


def states(name: str, stage: str) -> StageStates:
    found = stage_states(build(name).build, stage)
    assert found is not None
    return found


@pytest.mark.parametrize("name", NAMES)
def test_a_reference_amplifier_gets_notes_from_the_rules_of_the_whole_walk(name: str) -> None:
    walked = Walk(build(name).build, {stage: states(name, stage) for stage in ("supply", "output")})
    found = {finding for rule in WALK_RULES for finding in told(rule, walked)}
    assert {severity for severity, _, _ in found} == {"note"}
    bias = {("note", valve, "grid-bias-unread") for valve in ("V3", "V4")} if name == "c" else set()
    always = {("note", "", "mains-side-unknown"), ("note", "F1", "rating-missing"), ("note", "T2", "load-guard"),
              ("note", "", "gate-links")}  # fmt: skip
    assert found == always | bias
    assert told_of_stages(floating_heaters, walked) == set()
