"""Sections of valves: electrodes that belong together, their model and their limits."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchtui.parts.errors import PartError
from benchtui.parts.sections import recommended, section_capacitance, section_limits, sections
from benchtui.parts.valves import ValveType, find, names, pins_of


@pytest.fixture(params=names())
def valve(request: pytest.FixtureRequest) -> ValveType:
    return find(request.param)


def test_every_electrode_of_a_section_is_on_a_pin(valve: ValveType) -> None:
    for section in sections(valve):
        present = (section.anode, section.cathode, section.grid, section.screen, section.suppressor)
        for electrode in filter(None, present):
            assert pins_of(valve, electrode), electrode
        assert (section.grid is None) == (section.kind in ("diode", "regulator"))
        assert (section.screen is not None) == (section.kind == "pentode")


def test_every_section_has_a_model_that_fits_its_kind(valve: ValveType) -> None:
    forms = {
        "triode": {"triode_offset"},
        "pentode": {"pentode_power_screen"},
        "diode": {"vacuum_perveance", "silicon"},
        "regulator": {"gas_regulator"},
    }
    for section in sections(valve):
        assert recommended(valve, section).form in forms[section.kind]


def test_the_first_section_of_a_dual_triode_is_pins_6_7_8_of_a_noval() -> None:
    """American numbering (common practice)."""
    first, second = sections(find("12AX7"))
    assert (first.suffix, second.suffix) == ("a", "b")
    valve = find("12AX7")
    assert [pins_of(valve, e) for e in (first.anode, first.grid, first.cathode)] == [("6",), ("7",), ("8",)]


def test_a_triode_pentode_has_its_triode_first() -> None:
    triode, pentode = sections(find("ECL82"))
    assert (triode.kind, pentode.kind) == ("triode", "pentode")
    assert pentode.cathode == "pentode_cathode" and pentode.suppressor == "pentode_suppressor"
    assert pins_of(find("ECL82"), pentode.cathode) == pins_of(find("ECL82"), pentode.suppressor) == ("2",)


def test_a_directly_heated_valve_has_its_filament_as_cathode() -> None:
    assert [section.cathode for section in sections(find("300B"))] == ["filament"]
    assert [section.cathode for section in sections(find("5Y3GT"))] == ["filament", "filament"]
    assert [section.cathode for section in sections(find("GZ34"))] == ["cathode", "cathode"]


def test_limits_of_a_triode_pentode_go_to_their_section() -> None:
    """ECL82: 1 W for the triode, 7 W for the pentode (from memory); heater-cathode for both."""
    valve = find("ECL82")
    triode, pentode = (section_limits(valve, section) for section in sections(valve))
    assert triode["anode_w"].value == 1 and pentode["anode_w"].value == 7
    assert "screen_w" not in triode and pentode["screen_w"].value == 1.8
    assert triode["heater_cathode_v"] == pentode["heater_cathode_v"]
    assert not any(name.startswith("triode_") for name in (*triode, *pentode))


def test_a_section_without_a_model_is_refused() -> None:
    triode, _ = sections(find("ECL82"))
    with pytest.raises(PartError, match="has no model of its triode"):
        recommended(replace(find("ECL82"), models=()), triode)


def test_a_triode_pentode_has_the_capacitance_of_each_section_apart() -> None:
    """ECL82, from memory: 4.2 pF and at most 0.3 pF from anode to grid."""
    triode, pentode = (section_capacitance(find("ECL82"), section) for section in sections(find("ECL82")))
    assert triode["anode_grid_f"].value == pytest.approx(4.2e-12)
    assert pentode["anode_grid_f"].value == pytest.approx(0.3e-12)


def test_capacitance_is_picofarads_and_a_screen_keeps_anode_and_grid_apart(valve: ValveType) -> None:
    for section in sections(valve):
        known = {name: each.value for name, each in section_capacitance(valve, section).items()}
        assert known.keys() <= {"anode_grid_f", "grid_cathode_f", "anode_cathode_f"}
        assert section.grid is not None or not known
        assert all(1e-15 < farad < 20e-12 for farad in known.values())
        if section.kind == "pentode" and known:
            assert known["anode_grid_f"] < 0.15 * known["grid_cathode_f"]


def test_one_type_alone_has_no_known_capacitance() -> None:
    amplifying = [find(name) for name in names() if any(section.grid for section in sections(find(name)))]
    assert [each.type for each in amplifying if not each.capacitance] == ["EL91"]
