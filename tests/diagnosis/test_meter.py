"""The meter's own faults: what each would read, and that they are neither overlooked nor seen everywhere."""

from __future__ import annotations

import pytest

from benchtui.diagnosis.answer import ranked, stage_table
from benchtui.diagnosis.evidence import evidence_of
from benchtui.diagnosis.meter import METER
from benchtui.diagnosis.weigh import weigh
from benchtui.forecast.given import Given
from tests.reference import amplifiers

BUILD = amplifiers.build("a").build
STAGE = "supply"
NOMINAL = {
    name: each["meter_10M"]
    for name, each in amplifiers.nominal("a")[STAGE]["test_points"].items()
    if name in BUILD.point
}
DC = [name for name in NOMINAL if BUILD.point[name].quantity == "dc"]


def first(read: dict[str, float]) -> tuple[str, str | None]:
    """The likeliest of all, `none` included."""
    given = Given(STAGE, 230.0, read)
    table, evidence = stage_table(BUILD, given), evidence_of(BUILD, given)
    found = ranked(table, evidence, weigh(table, evidence))[0]
    return found.fault, found.part


@pytest.mark.parametrize("name", ["bp1", "bp2"])
def test_one_place_that_reads_nothing_among_sound_ones_was_not_touched(name: str) -> None:
    assert first(NOMINAL | {name: 0.001}) == ("meter-not-touching", METER)


@pytest.mark.parametrize(
    ("name", "wanted"), [("heater_rail", ("winding-open", "W_H6")), ("bp3", ("resistor-open", "R2"))]
)
def test_where_a_fault_explains_a_reading_of_nothing_it_is_not_the_meter(name: str, wanted: tuple[str, str]) -> None:
    assert first(NOMINAL | {name: 0.001}) == wanted


def test_ac_read_for_dc_at_one_place_is_known_by_its_form_factor() -> None:
    assert first(NOMINAL | {"bp1": 2.22 * NOMINAL["bp1"]}) == ("meter-wrong-kind", METER)


@pytest.mark.parametrize("times", [1.12, 1.2])
def test_all_dc_too_high_and_the_heaters_as_they_should_is_a_flat_battery(times: float) -> None:
    assert first(NOMINAL | {name: times * NOMINAL[name] for name in DC}) == ("meter-battery-flat", METER)


def test_all_too_high_alike_is_not_the_meter() -> None:
    assert first({name: 1.09 * value for name, value in NOMINAL.items()})[0] == "mains-wrong-tap"


def test_a_dead_supply_is_not_the_meter() -> None:
    assert first(NOMINAL | dict.fromkeys(DC, 0.0))[1] != METER
