"""Which points need an instrument of their own, and what a bench without it says of their readings."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.buildfile.load import load
from benchtui.buildfile.models import Build
from benchtui.forecast.guarded import guarded_expectation
from benchtui.forecast.instruments import lacking, proving

STEREO = load(Path(__file__).parents[2] / "builds" / "se-stereo.toml").build
POINTS = {guards: id for id, p in reversed(STEREO.point.items()) for guards in [p.guards] if guards}


def owning(**instruments: object) -> Build:
    return STEREO.model_copy(update={"bench": STEREO.bench.model_copy(update=instruments)})


@pytest.mark.parametrize(
    ("guards", "owned", "lacks"),
    [
        ("bond", {}, "bond tester"),
        ("bond", {"insulation_tester": 500.0}, "bond tester"),
        ("bond", {"bond_tester": True}, ""),
        ("insulation", {}, "500 V insulation tester"),
        ("insulation", {"bond_tester": True}, "500 V insulation tester"),
        ("insulation", {"insulation_tester": 500.0}, ""),
        ("insulation", {"insulation_tester": 1000.0}, ""),
        # tested at 500 V DC: IEE Wiring Matters, Autumn 2005, page 16; a tester of fewer volts does not do that
        ("insulation", {"insulation_tester": 250.0}, "500 V insulation tester"),
    ],
)
def test_a_point_lacks_its_instrument_unless_it_is_owned(guards: str, owned: dict[str, object], lacks: str) -> None:
    build = owning(**owned)
    point = build.point[POINTS[guards]]
    assert lacking(build, point) == lacks
    why = " ".join(guarded_expectation(build, POINTS[guards], point, 0.02).why)
    assert ("never a pass" in why) == bool(lacks)


def test_a_meter_will_do_for_all_else() -> None:
    grid = STEREO.point[POINTS["bond"]].model_copy(update={"guards": "grid bias", "quantity": "dc"})
    others = [point for point in STEREO.point.values() if point.guards is None]
    assert others and not any(proving(point) or lacking(STEREO, point) for point in (grid, *others))
