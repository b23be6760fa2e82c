"""The table of ratings with margins, on the demo builds: checked by Ohm's law and by planted weak parts."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.buildfile.load import load, load_text
from benchtui.buildfile.models import Build, Stage
from benchtui.buildfile.stages import stages
from benchtui.forecast.margins import Margin, margins
from benchtui.forecast.review_state import Walk, stage_states
from benchtui.forecast.rules_signal import full_power
from benchtui.forecast.rules_valves import dissipation

BUILDS = Path(__file__).parents[2] / "builds"


@pytest.fixture(scope="module")
def el34() -> Build:
    return load(BUILDS / "pp-el34.toml").build


def _of(found: tuple[Margin, ...], part: str, quantity: str) -> Margin:
    return next(each for each in found if (each.part, each.quantity) == (part, quantity))


def test_the_least_margin_comes_first_and_every_capacitor_valve_fuse_and_winding_is_in_the_table(el34: Build) -> None:
    found = margins(el34, 225.0)
    assert [each.share for each in found] == sorted(each.share for each in found)
    parts = {each.part for each in found}
    rated = {name for t in el34.transformer.values() for name, winding in t.windings.items() if winding.amps}
    assert {*el34.capacitor, *el34.fuse, *el34.valve, *rated} <= parts | {part[:-1] for part in parts}
    assert all(each.source for each in found)


def test_a_bleeders_watts_are_its_volts_squared_through_its_ohms_and_the_margin_is_that_of_the_worse_mains(
    el34: Build,
) -> None:
    found = margins(el34, 225.0)
    watts, volts, ohm = _of(found, "R20", "dissipation"), _of(found, "R20", "volts"), el34.resistor["R20"].value
    assert watts.here == pytest.approx(volts.here**2 / ohm, rel=1e-3)
    assert watts.high == pytest.approx(volts.high**2 / ohm, rel=1e-3) and watts.high > watts.here
    assert watts.share == pytest.approx(1.0 - watts.high / 10.0)


def test_heaters_count_at_measured_mains_by_what_is_left_of_ten_per_cent_either_way(el34: Build) -> None:
    low, full = (_of(margins(el34, mains_v), "V3", "heater volts") for mains_v in (210.0, 230.0))
    assert low.here < full.here and low.high == full.high
    assert low.share == pytest.approx(1.0 - abs(low.here / 6.3 - 1.0) / 0.10)


def test_a_design_centre_rating_has_a_tenth_more_at_the_highest_mains() -> None:
    found = _of(margins(load(BUILDS / "se-stereo.toml").build, 225.0), "V1pL", "anode dissipation")
    assert found.share == pytest.approx(min(1.0 - found.here / 7.0, 1.0 - found.high / 7.7))


def test_a_fuse_of_the_american_kind_carries_three_quarters_of_its_marking_for_good() -> None:
    text = (BUILDS / "pp-6v6.toml").read_text()
    european = _of(margins(load_text(text, "x").build, 230.0), "F2", "rms current")
    american = text.replace('amps = "250 mA", speed = "T", standard = "IEC 60127"',
                            'amps = "250 mA", speed = "T", standard = "UL 248-14"')  # fmt: skip
    assert european.limit == pytest.approx(0.25)
    assert _of(margins(load_text(american, "x").build, 230.0), "F2", "rms current").limit == pytest.approx(0.1875)


def test_a_part_beyond_its_rating_stands_first_with_a_margin_below_nothing() -> None:
    text = (BUILDS / "pp-el34.toml").read_text().replace('watts = "10 W"', 'watts = "2 W"')
    first = margins(load_text(text, "x").build, 230.0)[0]
    assert (first.part, first.quantity) == ("R20", "dissipation") and first.share < 0.0


def test_a_sine_at_full_power_heats_screens_and_takes_more_from_the_supply_than_rest(el34: Build) -> None:
    """Class AB: anodes give power away, screens take up to five times what they do at rest (textbook)."""
    found = margins(el34, 225.0)
    for valve in ("V3", "V4"):
        rest, full = (_of(found, valve, f"screen dissipation{at}") for at in ("", ", full power"))
        assert 2.0 * rest.here < full.here < full.limit == rest.limit
        assert _of(found, valve, "anode dissipation, full power").here < _of(found, valve, "anode dissipation").here
    rest, full = (_of(found, "W_HT", f"rms current{at}") for at in ("", ", full power"))
    assert 1.2 * rest.here < full.here < full.high


def test_of_two_channels_that_share_a_supply_it_is_left_out_since_each_is_driven_alone() -> None:
    full = [each for each in margins(load(BUILDS / "se-stereo.toml").build, 230.0) if "full power" in each.quantity]
    assert {each.part for each in full} == {"V1tL", "V1pL", "V1tR", "V1pR"}


def test_a_screen_too_small_for_full_power_is_a_warn_of_the_review_and_at_rest_nothing() -> None:
    limit = '\n[limits.EL34]\nsource = "made up"\nconfidence = "high"\nscreen_w = "2 W"\n'
    made = load_text((BUILDS / "pp-el34.toml").read_text() + limit, "x").build
    states = stage_states(made, "signal")
    assert states is not None and list(dissipation(states)) == []
    found = list(full_power(Walk(made, {"signal": states})))
    assert [(f.part, f.severity) for f in found] == [("V3", "warn"), ("V4", "warn")]
    assert "full power" in found[0].text and found[0].value > found[0].limit == 2.0


def test_a_build_without_power_has_no_table(el34: Build) -> None:
    skipped = {info.id: Stage(skip="left out") for info in stages(el34) if info.kind == "power"}
    assert margins(el34.model_copy(update={"stage": skipped}), 230.0) == ()


def test_a_rectifier_valves_mean_current_is_that_of_both_anodes_and_about_what_the_loads_take() -> None:
    found = margins(load(BUILDS / "pp-6v6.toml").build, 230.0)
    mean, choke = _of(found, "V4", "mean current"), _of(found, "L1", "current")
    assert choke.here < mean.here < 1.1 * choke.here, "the reservoir's own bleeder is all that L1 does not carry"
    assert mean.limit == pytest.approx(0.125), "5Y3GT: 125 mA of both plates, RCA RC-30, from memory"


def test_a_margin_is_told_in_a_word_by_the_tenth_that_builds_differ(el34: Build) -> None:
    close = {each.standing: each.share for each in margins(el34, 230.0)}
    assert set(close) == {"within"}
    high = el34.model_copy(update={"capacitor": {**el34.capacitor, "C1": el34.capacitor["C1"].model_copy(
        update={"volts": 450.0})}})  # fmt: skip
    first = margins(high, 230.0)[0]
    assert (first.part, first.standing) == ("C1", "close") and 0.0 < first.share < 0.1
