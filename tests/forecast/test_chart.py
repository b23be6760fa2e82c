"""The resistance chart: every pin against a solver of the tests' own, charging and polarity by hand."""

from __future__ import annotations

from math import isinf

import pytest

from benchtui.buildfile.stages import stages
from benchtui.circuit.elements import Capacitor, Circuit, Resistor
from benchtui.circuit.resistance import unpowered
from benchtui.forecast.charging import charging
from benchtui.forecast.chart import Row, chart
from tests.forecast.test_inspection import DEMOS, build
from tests.record.counts import count
from tests.walk.ohms import Ohms


@pytest.mark.parametrize("name", count(short=(*DEMOS[::2], "a"), full=(*DEMOS, "a", "c")))
def test_every_row_reads_as_the_tests_own_solver_says(name: str) -> None:
    made, compared = build(name), 0
    for info in stages(made):
        if info.kind == "bench":
            continue
        found = chart(made, info.id)
        clipped, bare = Ohms(made, info.id, found.clips), Ohms(made, info.id)
        for row in found.rows:
            ends, expected = (row.reading.red.node, row.reading.black.node), row.expectation
            ohm = clipped.between(*ends)
            assert ohm == pytest.approx(expected.nominal, rel=2e-3, abs=0.03), f"{info.id} {row.group} {row.name}"
            assert expected.low <= ohm <= expected.high
            if row.bare_ohm is not None:
                assert bare.between(*ends) == pytest.approx(row.bare_ohm, rel=2e-3, abs=0.03)
            compared += 1
    assert compared > 60


def row(name: str, stage: str, group: str, place: str) -> Row:
    return next(r for r in chart(build(name), stage).rows if (r.group, r.name) == (group, place))


def test_a_socket_is_charted_from_the_stage_that_wires_it_its_heater_before() -> None:
    pins = {stage: {r.name for r in chart(build("pp-6v6"), stage).rows if r.group == "V2 6V6GT"}
            for stage in ("cold", "heaters", "supply", "output")}  # fmt: skip
    assert pins["cold"] == set()
    assert pins["heaters"] == pins["supply"] == {"2 heater", "7 heater"}
    assert pins["output"] == {"2 heater", "7 heater", "3 anode", "4 screen", "5 grid", "8 cathode and beam plates"}


def test_by_hand_the_output_stage_of_the_small_demo_build() -> None:
    """470R in each cathode, 220k and 2k2 at each grid; the clip's 2k2 stands in for the HT at the anodes."""
    found = {place: row("pp-6v6", "output", "V2 6V6GT", place) for place in ("8 cathode and beam plates", "5 grid")}
    assert found["8 cathode and beam plates"].expectation.nominal == pytest.approx(470.0)
    assert found["5 grid"].expectation.nominal == pytest.approx(222.2e3)
    assert found["5 grid"].bare_ohm is None
    anode = row("pp-6v6", "output", "V2 6V6GT", "3 anode")
    assert anode.bare_ohm is not None and anode.bare_ohm > 20 * anode.expectation.nominal


def test_red_goes_to_the_chassis_where_the_electrolytics_of_a_negative_rail_have_their_plus() -> None:
    found = row("pp-el34", "bias", "rails to chassis", "C6")
    assert found.reading.red.node == "0" and found.charging.plus == "red"
    assert row("pp-6v6", "output", "rails to chassis", "C2").reading.black.node == "0"


def test_charging_takes_the_time_constant_of_one_resistor_and_one_capacitor() -> None:
    circuit = Circuit((Resistor("R1", "a", "0", 100e3), Capacitor("C1", "a", "0", 47e-6)))
    found = charging(circuit, unpowered(circuit), "a", "0", {"C1"})
    assert found.seconds == pytest.approx(4.7) and found.climbs and found.parts == ("C1",) and found.plus == "red"
    assert charging(circuit, unpowered(circuit), "0", "a", {"C1"}).plus == "black"
    assert charging(circuit, unpowered(circuit), "a", "0").plus == ""


def test_an_open_reading_climbs_while_it_charges_a_coupling_capacitor_through_the_meter() -> None:
    circuit = Circuit((Resistor("R1", "a", "b", 1e3), Capacitor("C1", "b", "c", 100e-9), Resistor("R2", "c", "0", 1e6)))
    found = charging(circuit, unpowered(circuit), "a", "0")
    assert isinf(unpowered(circuit).between("a", "0")[0])
    assert found.seconds == pytest.approx(1.0) and found.parts == ("C1",)


def test_a_capacitor_across_which_nothing_falls_does_not_count() -> None:
    circuit = Circuit((
        Resistor("R1", "a", "0", 1e3), Resistor("R2", "b", "0", 1e5), Capacitor("C1", "b", "0", 1e-3),
        Capacitor("C2", "d", "e", 1e-3), Resistor("R3", "d", "e", 1e3),
    ))  # fmt: skip
    assert charging(circuit, unpowered(circuit), "a", "0").parts == ()
