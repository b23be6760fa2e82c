"""Zeners, transistors and gas regulators against their ratings, in the example's supply (about 250 V of HT)."""

from __future__ import annotations

import pytest

from benchtui.forecast.rules_semiconductors import (
    regulator_current,
    semiconductor_watts,
    transistor_amps,
    transistor_volts,
)
from tests.buildfile.damage import EXAMPLE, changed
from tests.forecast.rules import told_of_stages, walk


def with_parts(dropper: str, table: str = "", valve: str = "") -> str:
    """The example with something between a dropper from HT and chassis."""
    text = changed("[resistor]\n", f'[resistor]\nR90 = {{ nodes = ["ht", "reg"], {dropper}, stage = "supply" }}\n')
    text = changed("[valve]\n", f"[valve]\n{valve}", text)
    return text + table


def zener(watts: str) -> str:
    rating = f', watts = "{watts}"' if watts else ""
    return with_parts(
        'value = "22k", watts = "10 W"',
        '\n[zener]\nZ1 = { nodes = ["0", "reg"], value = "100 V", at = "10 mA", resistance = "150R"'
        f'{rating}, stage = "supply" }}\n',
    )


def source(watts: str, volts: str, amps: str) -> str:
    """A transistor whose base gets 0.24 mA from HT: near 17 mA, and 50 V across it behind the dropper."""
    base = 'R91 = { nodes = ["ht", "base"], value = "1M", watts = "2 W", stage = "supply" }\n'
    text = with_parts(
        'value = "10k", watts = "20 W"',
        f'\n[transistor]\nQ1 = {{ nodes = ["reg", "base", "0"], polarity = "npn", gain = 50, watts = "{watts}", '
        f'volts = "{volts}", amps = "{amps}", stage = "supply" }}\n',
    )
    return changed("[resistor]\n", "[resistor]\n" + base, text)


@pytest.mark.parametrize(
    ("watts", "wanted"),
    [
        ("5 W", set()),
        ("1.2 W", {("note", "Z1", "semiconductor-watts")}),
        ("0.5 W", {("stop", "Z1", "semiconductor-watts")}),
        ("", {("note", "Z1", "rating-missing")}),
    ],
)
def test_a_zener_carries_what_its_dropper_gives(watts: str, wanted: set[tuple[str, str, str]]) -> None:
    """About (247 V - 100 V) / 22 kohm = 6.7 mA at 100 V: 0.67 W, a little more at high mains."""
    assert told_of_stages(semiconductor_watts, walk(zener(watts), "supply")) == wanted


def test_a_transistor_within_its_ratings_gives_nothing() -> None:
    walked = walk(source("10 W", "400 V", "0.1 A"), "supply")
    for rule in (semiconductor_watts, transistor_volts, transistor_amps):
        assert told_of_stages(rule, walked) == set()


def test_a_transistor_past_its_ratings_is_stopped() -> None:
    walked = walk(source("0.3 W", "40 V", "5 mA"), "supply")
    assert told_of_stages(semiconductor_watts, walked) == {("stop", "Q1", "semiconductor-watts")}
    assert told_of_stages(transistor_volts, walked) == {("stop", "Q1", "transistor-volts")}
    assert told_of_stages(transistor_amps, walked) == {("stop", "Q1", "transistor-amps")}


@pytest.mark.parametrize(
    ("dropper", "wanted"),
    [
        ('value = "10k", watts = "10 W"', set()),
        ('value = "39k", watts = "10 W"', {("warn", "V9", "regulator-current")}),
        ('value = "1k", watts = "20 W"', {("warn", "V9", "regulator-current")}),
    ],
    ids=["5 to 30 mA", "too little to burn", "more than it stands"],
)
def test_a_gas_regulator_is_held_between_its_two_currents(dropper: str, wanted: set[tuple[str, str, str]]) -> None:
    text = with_parts(dropper, valve='V9 = { type = "0A2", stage = "supply", pins = { 1 = "reg", 2 = "0" } }\n')
    assert told_of_stages(regulator_current, walk(text, "supply")) == wanted


def test_the_example_has_none_of_them() -> None:
    assert told_of_stages(semiconductor_watts, walk(EXAMPLE, "supply")) == set()
