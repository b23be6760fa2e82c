"""What is read from outside may be touched: no high voltage is led there."""

from __future__ import annotations

import pytest

from benchtui.forecast.rules_bench import outside_volts
from tests.buildfile.damage import EXAMPLE
from tests.forecast.rules import told_of_stages, walk

POINT = '\n[point.jack]\nname = "Jack"\nred = "{}"\nquantity = "dc"\nstages = ["output"]\n{}'


@pytest.mark.parametrize(("text", "wanted"), [
    (POINT.format("v1_k", "outside = true\n"), set()),
    (POINT.format("ht", "outside = true\n"), {("stop", "jack", "outside-volts")}),
    (POINT.format("ht", ""), set()),
])  # fmt: skip
def test_a_jack_on_a_cathode_is_let_outside_and_one_on_ht_is_not(text: str, wanted: set[tuple[str, str, str]]) -> None:
    assert told_of_stages(outside_volts, walk(EXAMPLE + text, "output")) == wanted
