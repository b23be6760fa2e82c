"""The steps of a stage: what is named to be fitted, and which of the standard steps a build has a use for."""

from __future__ import annotations

import pytest

from benchtui.buildfile.load import load
from benchtui.session.planning import plan
from tests.session.made_up import BUILDS


def texts(name: str, phase: str) -> list[str]:
    made = plan(load(BUILDS / f"{name}.toml").build, {})
    return [step.text for each in made.phases if each.id == phase for step in each.steps]


@pytest.mark.parametrize("name", ["pp-6v6", "pp-el34", "se-stereo"])
def test_a_fuse_that_stays_out_is_fitted_as_its_holder_alone(name: str) -> None:
    fits = " ".join(text for text in texts(name, "cold") if text.startswith("Fit "))
    assert "F2's empty holder" in fits and "F1" in fits and "F1's" not in fits


def test_a_grid_pin_is_asked_for_only_where_a_build_has_one_to_read() -> None:
    asked = [any("grid pin" in text for text in texts(name, "output, hands in")) for name in ("pp-el34", "pp-6v6")]
    assert asked == [True, False]
