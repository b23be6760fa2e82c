"""Probabilities: what the readings say, and what they cannot."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchtui.diagnosis.answer import ranked, stage_table
from benchtui.diagnosis.evidence import evidence_of
from benchtui.diagnosis.kinds import kinds
from benchtui.diagnosis.table import Table
from benchtui.diagnosis.weigh import NONE, UNKNOWN, Weighed, weigh
from benchtui.forecast.given import Given, StageReadings
from tests.reference import amplifiers

BUILD = amplifiers.build("a").build
NOMINAL = amplifiers.nominal("a")


def as_computed(stage: str) -> dict[str, float]:
    """What the nominal build reads in a stage, by ngspice."""
    return {name: each["meter_10M"] for name, each in NOMINAL[stage]["test_points"].items() if name in BUILD.point}


def weighed(given: Given) -> tuple[Table, Weighed]:
    table = stage_table(BUILD, given)
    return table, weigh(table, evidence_of(BUILD, given))


def likeliest(given: Given) -> list[tuple[str, str | None]]:
    table, found = weighed(given)
    return [(each.fault, each.part) for each in ranked(table, evidence_of(BUILD, given), found)]


@pytest.mark.parametrize("read", [{}, {"bp1": 300.0}, {"bp1": 0.0, "v2_cathode": 40.0}])
def test_all_probabilities_sum_to_one(read: dict[str, float]) -> None:
    _, found = weighed(Given("output", 230.0, read))
    assert found.faults.sum() + found.none + found.unknown == pytest.approx(1.0)
    assert found.cases.sum() + found.unknown == pytest.approx(1.0)


def test_without_a_reading_nothing_is_learned_but_that_no_fuse_has_blown() -> None:
    table, found = weighed(Given("output", None, {}))
    assert (found.none, found.unknown) == (pytest.approx(NONE, rel=0.05), pytest.approx(UNKNOWN, rel=0.05))
    shorted = [k for k, fault in enumerate(table.faults) if fault.kind == "capacitor-shorted" and fault.part == "C1"]
    drifted = [k for k, fault in enumerate(table.faults) if fault.kind == "resistor-drifted" and fault.part == "R11"]
    assert found.faults[shorted] < 0.1 * found.faults[drifted]


def test_readings_of_the_nominal_build_speak_for_it() -> None:
    assert likeliest(Given("output", 230.0, as_computed("output")))[0] == ("none", None)


def test_readings_that_no_fault_explains_are_of_an_unknown_one() -> None:
    read = as_computed("output") | {"bp1": 120.0, "bp3": 390.0, "v2_cathode": 3.0, "v3_plate": 50.0}
    assert likeliest(Given("output", 230.0, read))[0] == ("unknown", None)


def test_the_mains_is_taken_for_what_it_was_read() -> None:
    high = {name: 1.06 * value for name, value in as_computed("output").items()}
    _, at_high = weighed(Given("output", 1.06 * 230.0, high))
    _, at_rated = weighed(Given("output", 0.94 * 230.0, high))
    assert at_high.none > 0.9 > at_rated.none


def test_a_blown_fuse_speaks_for_what_blows_it() -> None:
    dead = dict.fromkeys(as_computed("output"), 0.0) | {"heater_rail": as_computed("output")["heater_rail"]}
    whole = weighed(Given("output", 230.0, dead))
    blown = weighed(Given("output", 230.0, dead, blown=frozenset({"F1"})))

    def share(found: tuple[Table, Weighed], *kinds: str) -> float:
        table, of = found
        return sum(p for fault, p in zip(table.faults, of.faults, strict=True) if fault.kind in kinds)

    assert share(blown, "capacitor-shorted") > 0.15 > 0.05 > share(whole, "capacitor-shorted")
    no_valve = ("valve-missing", "section-dead", "heater-open")
    assert share(whole, *no_valve) > 0.2 > 0.05 > share(blown, *no_valve)


@pytest.mark.parametrize(("part", "times"), [("R3", 3.0), ("V4", 3.0), ("R_HCT1", 1.0), ("W_HT1", 1.0)])
def test_what_the_stage_wires_is_more_often_open_than_what_worked_before(part: str, times: float) -> None:
    table = stage_table(BUILD, Given("supply", 230.0))
    opens = ("resistor-open", "winding-open", "valve-missing")
    number = next(k for k, fault in enumerate(table.faults) if fault.part == part and fault.kind in opens)
    assert table.weight[number] == pytest.approx(times * table.faults[number].weight)


def test_what_wears_gains_less_by_being_new_than_what_hands_do() -> None:
    new = {id: kind.just_wired for id, kind in kinds().items()}
    assert new["wire-open"] == new["capacitor-reversed"] == new["pin-loose"] > new["capacitor-leaky"] > 1.0
    assert new["meter-not-touching"] == 1.0


def test_where_nobody_has_looked_a_fuse_speaks_for_nothing() -> None:
    dead = dict.fromkeys(as_computed("output"), 0.0) | {"heater_rail": as_computed("output")["heater_rail"]}
    given = Given("output", 230.0, dead)
    table = stage_table(BUILD, given)
    found = weigh(table, replace(evidence_of(BUILD, given), blown=None))
    kinds = {fault.kind for fault, p in zip(table.faults, found.faults, strict=True) if p > 0.02}
    assert {"capacitor-shorted", "valve-missing"} <= kinds


def test_an_earlier_stage_tells_whether_a_fault_was_there_or_has_come_since() -> None:
    """Mains on the wrong tap, read in `output`: with a supply that read well before, and with one that did not."""
    here, before = (stage_table(BUILD, Given(stage, 230.0)) for stage in ("output", "supply"))

    def wrong(table: Table) -> dict[str, float]:
        number = next(k for k, fault in enumerate(table.faults) if fault.kind == "mains-wrong-tap")
        mean = table.spread.mean[int((table.of == number).argmax())]
        return {name: float(value) for (_, name), value in zip(table.points, mean, strict=True)}

    def found(supply: dict[str, float]) -> tuple[float, float]:
        table, of = weighed(Given("output", 230.0, wrong(here), {"supply": StageReadings(230.0, supply)}))
        number = next(k for k, fault in enumerate(table.faults) if fault.kind == "mains-wrong-tap")
        return float(of.faults[number]), float(table.share[of.case_of[number]])

    (since, share_since), (all_along, share_all_along) = found(as_computed("supply")), found(wrong(before))
    assert since > 0.5 and all_along > 0.5
    assert share_since < share_all_along
