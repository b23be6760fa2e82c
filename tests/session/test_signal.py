"""What a typed signal reading amounts to, in words."""

from __future__ import annotations

import pytest

from benchtui.buildfile.load import load
from benchtui.forecast.signal_points import point_id, signal_points
from benchtui.session.signal import amounts
from tests.session.made_up import BUILDS


@pytest.mark.parametrize(
    "volts, said", [(0.8, "1.9 dB less gain"), (1.1, "0.8 dB more gain"), (1.0, "0.0 dB less gain")]
)
def test_feedback_that_raises_the_output_is_told_as_more_gain(volts: float, said: str) -> None:
    """20 lg of the ratio to 1 V without the lead."""
    build = load(BUILDS / "pp-6v6.toml").build
    of = next(of for id in build.stage for of in signal_points(build, id) if of.what == "tried")
    told = amounts(build, of, volts, 0.027, {point_id("open", of.path): 1.0}, 1.0)
    assert told.endswith(f"{said} than without the lead")
