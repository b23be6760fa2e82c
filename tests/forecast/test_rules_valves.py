"""Heaters that nothing holds at a known voltage. Common practice, no source."""

from __future__ import annotations

from benchtui.forecast.rules_valves import floating_heaters
from tests.buildfile.damage import EXAMPLE, changed
from tests.forecast.rules import told_of_stages, walk

FLOATS = {("warn", "W_H", "heater-floats")}
R3, R4 = 'R3 = { nodes = ["h_a", "0"]', 'R4 = { nodes = ["h_b", "0"]'
UNREFERENCED = "".join(line for line in EXAMPLE.splitlines(keepends=True) if not line.startswith(("R3 =", "R4 =")))


def test_heaters_with_two_resistors_to_chassis_are_right() -> None:
    assert told_of_stages(floating_heaters, walk(EXAMPLE, "heaters", "output")) == set()


def test_a_heater_winding_without_any_path_floats_as_soon_as_a_cathode_is_wired() -> None:
    assert told_of_stages(floating_heaters, walk(UNREFERENCED, "heaters")) == set()
    assert told_of_stages(floating_heaters, walk(UNREFERENCED, "output")) == FLOATS


def test_a_capacitor_is_no_path() -> None:
    held = 'C9 = { nodes = ["h_a", "0"], value = "1u", volts = "100 V", make = "film", stage = "heaters" }\n'
    text = changed("[capacitor]\n", "[capacitor]\n" + held, UNREFERENCED)
    assert told_of_stages(floating_heaters, walk(text, "output")) == FLOATS


def test_an_elevating_divider_is_a_path() -> None:
    divider = (
        "[resistor]\n"
        'R20 = { nodes = ["ht", "h_ref"], value = "220k", watts = "2 W", stage = "supply" }\n'
        'R21 = { nodes = ["h_ref", "0"], value = "27k", watts = "1 W", stage = "heaters" }\n'
    )
    text = changed(R4, R4.replace('"0"', '"h_ref"'), changed(R3, R3.replace('"0"', '"h_ref"')))
    text = changed("[resistor]\n", divider, text)
    assert told_of_stages(floating_heaters, walk(text, "output")) == set()


def test_a_reference_that_is_fitted_too_late_is_told() -> None:
    text = EXAMPLE.replace('watts = "0.5 W", stage = "heaters"', 'watts = "0.5 W", stage = "signal"')
    assert told_of_stages(floating_heaters, walk(text, "output")) == FLOATS
