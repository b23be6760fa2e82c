"""The second opinion itself: our decks read what the reference amplifiers do, and the kept records are fresh."""

from __future__ import annotations

import os

import pytest

from tests.builds import ngspice, recorded, spice
from tests.reference import amplifiers

LONG = os.environ.get("BENCHTUI_LONG", "0") not in ("", "0")

pytestmark = pytest.mark.skipif(ngspice.PROGRAM is None, reason="ngspice is not installed")

REFERENCE = [("a", "heaters"), ("a", "supply"), ("c", "supply")]
RERUN = [("pp-6v6", "heaters"), ("pp-6v6", "supply"), ("pp-el34", "grids"), ("se-stereo", "output")]
if LONG:
    REFERENCE = [(name, stage) for name in amplifiers.NAMES for stage in spice.powered(amplifiers.build(name).build)]
    RERUN = [(name, stage) for name in recorded.NAMES for stage in spice.powered(recorded.build(name).build)]


def near(quantity: str, value: float, share: float) -> float:
    """How far apart two runs of the simulator may be: `share` of a reading or half a millivolt, more on ripple."""
    return max(share * abs(value), 5e-4) if quantity != "ripple" else max(0.01 * value, 1e-4)


@pytest.mark.parametrize(("name", "stage"), REFERENCE)
def test_our_deck_reads_what_the_reference_amplifiers_publish(name, stage):
    """Source: the reference amplifiers' own readings by ngspice 39, from decks of their own.

    Half a percent, because the trimmed stages of the reference stop short of their target by 0.5 %.
    """
    build, published = amplifiers.build(name).build, amplifiers.nominal(name)[stage]["test_points"]
    _, shown = spice.measure(build, stage)
    for point, reading in published.items():
        if not reading.get("noise"):
            allowed = near(build.point[point].quantity, reading["meter_10M"], 0.005)
            assert shown[point] == pytest.approx(reading["meter_10M"], abs=allowed), point


@pytest.mark.parametrize(("name", "stage"), RERUN)
def test_the_kept_record_is_what_ngspice_gives_now(name, stage):
    build = recorded.build(name).build
    _, shown = spice.measure(build, stage)
    kept = recorded.readings(name)[stage]
    assert shown.keys() == kept.keys()
    for point, value in kept.items():
        assert shown[point] == pytest.approx(value, abs=near(build.point[point].quantity, value, 0.001)), point


@pytest.mark.parametrize("name", recorded.NAMES)
def test_the_cold_ohms_are_what_ngspice_gives_now(name):
    build = recorded.build(name).build
    assert spice.ohms(build, recorded.moment(build, "cold")) == pytest.approx(recorded.readings(name)["cold"], rel=1e-3)
