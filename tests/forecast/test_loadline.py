"""Load lines against what a designer reckons by hand from the parts, and points that lie where they must."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from benchtui.assemble.checked import load_checked
from benchtui.buildfile.models import Build
from benchtui.forecast.loadline import load_lines, measured_point, stage_of

BUILDS = Path(__file__).parents[2] / "builds"


@pytest.fixture(scope="module")
def builds() -> dict[str, Build]:
    return {name: load_checked(str(BUILDS / f"{name}.toml")).build for name in ("pp-6v6", "pp-el34", "se-stereo")}


@pytest.mark.parametrize(
    ("name", "section", "ohms"),
    [
        ("pp-6v6", "V2", 8e3 / 2),  # 8k anode to anode, both halves working: half of it each (textbook)
        ("pp-el34", "V3", 6600.0 / 2),
        ("se-stereo", "V1pL", 5000.0),
        ("pp-6v6", "V1a", 92e3),  # R22 beside R26, and R24
    ],
)
def test_signals_see_about_what_the_parts_say(name: str, section: str, ohms: float, builds: dict[str, Build]) -> None:
    """Within 12 %: winding resistance, core loss, leakage and the following grid are not in this sum."""
    lines = load_lines(builds[name], stage_of(builds[name], section) or "", section)
    assert lines.signal_ohm == pytest.approx(ohms, rel=0.12)


def test_direct_current_sees_the_anode_resistor_and_what_feeds_it(builds: dict[str, Build]) -> None:
    """R22 100k, R23 1k5, R24 100R, and R6 10k beside R5 220k: 111.2k, the supply behind them little."""
    lines = load_lines(builds["pp-6v6"], "driver", "V1a")
    assert lines.steady_ohm == pytest.approx(100e3 + 1.6e3 + 1 / (1 / 10e3 + 1 / 220e3), rel=0.01)


@pytest.mark.parametrize(("name", "section"), [("pp-6v6", "V2"), ("pp-el34", "V3"), ("pp-6v6", "V1a")])
def test_the_operating_point_lies_between_the_curves_on_either_side_of_its_bias(
    name: str, section: str, builds: dict[str, Build]
) -> None:
    lines = load_lines(builds[name], "driver", section)
    at = {curve.grid_v: np.interp(lines.point.volts, curve.volts, curve.amps) for curve in lines.curves}
    above = min(grid for grid in at if grid >= lines.grid_v)
    below = max(grid for grid in at if grid < lines.grid_v)
    assert at[below] < lines.point.amps < at[above]


@pytest.mark.parametrize(("section", "share"), [("V3", 0.43), ("V4", 0.43)])
def test_an_ultra_linear_screen_follows_by_its_tap(section: str, share: float, builds: dict[str, Build]) -> None:
    assert load_lines(builds["pp-el34"], "driver", section).screen_share == pytest.approx(share, abs=0.01)


def test_a_measured_point_is_the_drop_over_the_resistor(builds: dict[str, Build]) -> None:
    lines = load_lines(builds["pp-6v6"], "driver", "V1a")
    found = measured_point(builds["pp-6v6"], lines, {"v1a_a": 155.0, "ht_small": 235.0, "v1a_k": 1.3})
    assert found is not None and found[1] == "R22"
    assert found[0].amps == pytest.approx(80.0 / 100e3)
    assert found[0].volts == pytest.approx(153.7)


def test_what_was_not_read_gives_no_measured_point(builds: dict[str, Build]) -> None:
    lines = load_lines(builds["pp-6v6"], "driver", "V1a")
    assert measured_point(builds["pp-6v6"], lines, {"v1a_a": 155.0, "ht_small": 235.0}) is None
