"""Sections, heaters and ratings of a build's valves."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State
from benchtui.assemble.valves import Rating, doubled_pins, heater_ends, heaters, sections
from benchtui.buildfile.models import Build, Model, Valve
from tests.reference.amplifiers import build


def valve(**fields: object) -> Build:
    """A build with one valve V1; no checks but the models'."""
    base = build("a").build
    return base.model_copy(update={"valve": {"V1": Valve(stage="driver", **fields)}, "heater": {}})


def test_pins_by_number_are_read_by_the_librarys_base() -> None:
    made = valve(type="12AX7", pins={"6": "a", "7": "g", "8": "k", "1": "a2", "2": "g2", "3": "k2"})
    first, second = sections(made)
    assert (first.id, dict(first.nodes)) == ("V1a", {"anode": "a", "grid": "g", "cathode": "k"})
    assert (second.id, dict(second.nodes)) == ("V1b", {"anode": "a2", "grid": "g2", "cathode": "k2"})


def test_an_unused_half_is_no_section() -> None:
    made = valve(type="12AX7", pins={"6": "a", "7": "g", "8": "k"})
    assert [section.id for section in sections(made)] == ["V1a"]


def test_a_combined_pin_is_the_cathode() -> None:
    made = valve(type="6V6GT", pins={"3": "a", "4": "s", "5": "g", "8": "k", "2": "h1", "7": "h2"})
    (section,) = sections(made)
    assert section.kind == "pentode"
    assert dict(section.nodes) == {"anode": "a", "screen": "s", "grid": "g", "cathode": "k"}


def test_a_filament_has_its_cathode_in_the_middle() -> None:
    made = valve(type="5Y3GT", pins={"2": "f1", "8": "f2", "4": "a2", "6": "a1"})
    assert {section.nodes["cathode"] for section in sections(made)} == {"V1.filament"}
    halves = heaters(made)
    assert [(half.a, half.b) for half in halves] == [("f1", "V1.filament"), ("V1.filament", "f2")]
    # 5Y3GT: 5 V, 2 A
    assert sum(half.ohm for half in halves) == pytest.approx(2.5)
    (whole,) = heater_ends(made)
    assert (whole.a, whole.b, whole.rated_v) == ("f1", "f2", 5.0)


def test_a_tapped_heater_is_two_halves_wired_either_way() -> None:
    # 12AX7: 6.3 V, 0.15 A each half, pins 4 and 5 against 9
    made = valve(type="12AX7", pins={"4": "h", "5": "h", "9": "j", "6": "a", "7": "g", "8": "k"})
    assert [(half.a, half.b, half.ohm) for half in heaters(made)] == [("h", "j", 42.0), ("h", "j", 42.0)]


def test_a_series_heater_leaves_the_tap_alone() -> None:
    made = valve(type="12AX7", pins={"4": "h", "5": "j", "6": "a", "7": "g", "8": "k"})
    assert [(heater.a, heater.b, heater.ohm) for heater in heaters(made)] == [("h", "j", 84.0)]


def test_grid_current_may_begin_below_the_cathode() -> None:
    made = valve(type="12AX7", pins={"6": "a", "7": "g", "8": "k"}, grid_start="0.6 V")
    (section,) = sections(made)
    assert section.law.constants["start_v"] == 0.6
    drawn = section.drawn_law(Draw(200)).constants["start_v"]
    assert drawn.min() == pytest.approx(0.42, rel=0.02) and drawn.max() == pytest.approx(0.78, rel=0.02)
    assert "start_v" not in sections(valve(type="12AX7", pins={"6": "a", "7": "g", "8": "k"}))[0].law.constants


def test_a_gas_regulator_has_an_anode_and_a_cathode() -> None:
    (section,) = sections(valve(type="0D3", pins={"5": "s", "2": "0"}))
    assert (section.id, section.kind, dict(section.nodes)) == ("V1", "regulator", {"anode": "s", "cathode": "0"})
    assert section.ratings["least_a"].value == 5e-3


def test_an_unknown_type_with_a_regulators_law_is_one() -> None:
    constants = {"burning_v": 90.0, "at_a": 0.02, "slope_ohm": 150.0, "knee_v": 0.25, "strike_v": 120.0}
    own = {"own": Model(form="gas_regulator", constants=constants, source="invented for this test")}
    made = valve(type="STV-X", pins={"anode": "s", "cathode": "0"}, model="own").model_copy(update={"model": own})
    assert [section.kind for section in sections(made)] == ["regulator"]


def test_a_regulators_volts_vary_as_printed() -> None:
    (section,) = sections(valve(type="0A2", pins={"1": "s", "2": "0"}))
    drawn = section.drawn_law(Draw(100)).constants
    assert 143 < drawn["burning_v"].min() < 145 and 162 < drawn["burning_v"].max() < 164
    assert 183 < drawn["strike_v"].max() < 186


def test_a_jumper_joins_its_pins_while_the_valve_is_in() -> None:
    """0D3: pins 3 and 7, through which the supply is led so that it is cut when the valve is pulled."""
    made = valve(type="0D3", pins={"5": "s", "2": "0", "3": "in", "7": "out"})
    assert list(doubled_pins(made)) == [("V1", "V1.jumper_2", "in", "out")]
    state = State(fitted=frozenset({"V1"}), mains_v=230.0)
    joints = [e for e in assemble(made, state).elements if e.name == "V1.jumper_2"]
    assert [(e.a, e.b) for e in joints] == [("in", "out")]
    pulled = assemble(made, replace(state, valves_out=frozenset({"V1"})))
    assert not [e for e in pulled.elements if e.name.startswith("V1")]


def test_own_limits_replace_the_librarys() -> None:
    reference = build("a").build
    rating = next(s for s in sections(reference) if s.id == "V2").ratings["anode_w"]
    assert rating.value == 12.0
    assert "reference" in rating.source.lower()


@pytest.mark.parametrize(("system", "ceiling"), [("design-centre", 11.0), ("design-maximum", 10.0), (None, 10.0)])
def test_only_a_design_centre_rating_allows_a_tenth(system: str | None, ceiling: float) -> None:
    assert Rating(10.0, "high", "a sheet", system).ceiling == pytest.approx(ceiling)


def test_a_section_has_the_librarys_capacitance_with_socket_and_wires() -> None:
    """12AX7 from memory: 1.7 and 1.6 pF; 0.5 and 3 pF more by guide. A type that is not known has the guide's alone."""
    pins = {"6": "a", "7": "g", "8": "k"}
    (known,) = sections(valve(type="12AX7", pins=pins))
    assert known.farads["anode_grid_farad"] == pytest.approx(2.2e-12)
    assert known.farads["grid_cathode_farad"] == pytest.approx(4.6e-12)
    named = {"anode": "a", "grid": "g", "cathode": "k"}
    own = valve(type="X1", model="M", pins=named)
    own = own.model_copy(update={"model": {"M": next(iter(build("a").build.model.values()))}})
    (unknown,) = sections(own)
    assert unknown.farads["anode_grid_farad"] == pytest.approx(0.5e-12)


def test_a_rectifier_has_no_capacitance() -> None:
    made = valve(type="5Y3GT", pins={"2": "f1", "8": "f2", "4": "a2", "6": "a1"})
    assert all(not section.farads for section in sections(made))
