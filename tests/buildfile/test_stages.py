"""Stages: which a build has, in which order, and what is fitted at each."""

from __future__ import annotations

import pytest

from benchtui.buildfile.load import load_text
from benchtui.buildfile.stages import fitted, order, stages, standard
from tests.buildfile.damage import EXAMPLE, changed


def walked(text: str = EXAMPLE) -> list[str]:
    return [stage.id for stage in stages(load_text(text, "amp.toml").build)]


def own(name: str, after: str, kind: str = "cold") -> str:
    return f'[stage.{name}]\ntitle = "Own"\nkind = "{kind}"\nafter = "{after}"\n'


def test_the_standard_stages_are_those_of_the_design_in_their_order() -> None:
    assert [stage.id for stage in standard()] == [
        "parts", "metal", "cold", "mains", "heaters", "bias", "supply", "output", "driver", "feedback", "signal",
        "signoff",
    ]  # fmt: skip
    assert {stage.id for stage in standard() if stage.kind == "bench"} == {"parts", "metal"}
    assert {stage.id for stage in standard() if stage.kind == "cold"} == {"cold", "signoff"}


def test_a_build_has_the_stages_that_it_names() -> None:
    assert walked() == ["parts", "metal", "cold", "mains", "heaters", "supply", "output", "signoff"]


def test_a_skipped_stage_is_left_out() -> None:
    assert "metal" not in walked(
        changed('stage = "metal"', 'stage = "cold"') + '[stage.metal]\nskip = "an old chassis is used"\n'
    )


def test_own_stages_stand_behind_the_one_they_come_after() -> None:
    text = EXAMPLE + own("one", "supply") + own("two", "supply") + own("three", "one")
    assert walked(text)[4:9] == ["heaters", "supply", "one", "three", "two"]


def test_an_own_stage_may_come_after_one_that_the_build_leaves_out() -> None:
    assert walked(EXAMPLE + own("one", "bias"))[4:7] == ["heaters", "one", "supply"]


def test_titles_are_the_standard_ones_unless_the_build_has_its_own() -> None:
    build = load_text(EXAMPLE + '[stage.supply]\ntitle = "The big one"\n', "amp.toml").build
    titles = {stage.id: stage.title for stage in stages(build)}
    assert titles["supply"] == "The big one"
    assert titles["heaters"] == "Heaters"


def test_the_entry_of_a_stage_comes_with_it() -> None:
    build = load_text(EXAMPLE, "amp.toml").build
    entries = {stage.id: stage.entry for stage in stages(build)}
    assert entries["output"].watch == "v1_cathode"
    assert entries["supply"].steps == ()


@pytest.mark.parametrize(
    ("stage", "parts"),
    [
        ("parts", set()),
        ("metal", {"BOND"}),
        ("mains", {"BOND", "F1", "S1", "S1b", "W_HT", "W_H"}),
        ("heaters", {"BOND", "F1", "S1", "S1b", "W_HT", "W_H", "R3", "R4"}),
    ],
)
def test_parts_are_fitted_from_their_stage_on(stage: str, parts: set[str]) -> None:
    assert fitted(load_text(EXAMPLE, "amp.toml").build, stage) == parts


def test_what_is_fitted_stays_fitted() -> None:
    build = load_text(EXAMPLE, "amp.toml").build
    steps = [fitted(build, stage) for stage in order(build)]
    assert all(before <= after for before, after in zip(steps, steps[1:], strict=False))
    assert {"V1", "T2", "RL", "J1"} <= steps[-1]


def test_an_unknown_stage_is_an_error() -> None:
    with pytest.raises(KeyError):
        fitted(load_text(EXAMPLE, "amp.toml").build, "nowhere")
