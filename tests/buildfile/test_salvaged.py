"""`[salvaged.X]` belongs to a part or transformer that is there, and its slip is asked for at the end."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.buildfile.load import load_text
from benchtui.buildfile.problems import BuildFileError
from benchtui.session.planning import plan

BUILD = (Path(__file__).parents[2] / "builds" / "pp-6v6.toml").read_text("utf-8")


def salvaged(reference: str) -> str:
    entry = 'found = "a receiver"\nmeasured = ["primary 1-4: 230 V"]\nwhen = "2026-11-28"'
    return f"{BUILD}\n[salvaged.{reference}]\n{entry}\n"


@pytest.mark.parametrize("reference", ["T1", "T2", "C3", "W_HT1"])
def test_a_part_a_transformer_or_a_winding_may_be_salvaged(reference: str) -> None:
    assert load_text(salvaged(reference), "build").build.salvaged[reference].measured == ("primary 1-4: 230 V",)


def test_a_reference_that_is_not_there_is_refused_with_its_line() -> None:
    with pytest.raises(BuildFileError) as refused:
        load_text(salvaged("T9"), "build")
    line = salvaged("T9").split("\n").index("[salvaged.T9]") + 1
    assert f"build:{line}: salvaged.T9 is no part of this build" in str(refused.value)


def test_an_unknown_key_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(BuildFileError, match="salvaged.T1.measurd is not known here, did you mean measured"):
        load_text(salvaged("T1").replace("measured =", "measurd ="), "build")


def test_the_last_stage_asks_that_the_slip_is_glued_inside_and_no_other_does() -> None:
    for text, asked in ((salvaged("T1"), [("signoff", "glued")]), (BUILD, [])):
        made = plan(load_text(text, "build").build, {})
        found = [
            (each.id, step.says) for each in made.phases for step in each.steps if "slip of each salvaged" in step.text
        ]
        assert [(phase.split(",")[0], says) for phase, says in found] == asked
