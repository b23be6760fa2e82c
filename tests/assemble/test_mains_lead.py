"""Inrush thermistors: in the mains lead, in the HT lead, cold and warm, and to an ohmmeter."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchtui.assemble.mains_lead import lead_parts
from benchtui.assemble.netlist import assemble, resistances
from benchtui.assemble.state import stage_state
from benchtui.buildfile.load import load_text
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import MainsTransformer
from benchtui.circuit.operate import operate
from benchtui.circuit.resistance import resistance
from tests.buildfile.damage import EXAMPLE

MAINS_LEAD = EXAMPLE.replace('nodes = ["pri_1", "pri_2"]', 'nodes = ["pri_0", "pri_2"]') + (
    '[thermistor]\nTH1 = { nodes = ["pri_1", "pri_0"], value = "2R", cold = "47R", stage = "mains" }\n'
)
HT_LEAD = EXAMPLE.replace('nodes = ["ht_ac", "0"], emf', 'nodes = ["ht_start", "0"], emf') + (
    '[thermistor]\nTH1 = { nodes = ["ht_start", "ht_ac"], value = "5R", cold = "120R", stage = "mains" }\n'
)
ACROSS = 'RX = { nodes = ["pri_1", "neutral"], value = "470k", watts = "0.5 W", stage = "mains" }\n'


def build(text: str) -> Build:
    return load_text(text, "amp.toml").build


def primary_ohm(made: Build, warm: float) -> float:
    state = replace(stage_state(made, "heaters"), thermistors_warm=warm)
    (core,) = (e for e in assemble(made, state).elements if isinstance(e, MainsTransformer))
    return core.primary_ohm


def test_a_thermistor_before_the_primary_adds_to_it_cold_or_warm() -> None:
    """48 ohm of primary; halfway between cold and warm stands the geometric mean."""
    made = build(MAINS_LEAD.replace("[resistor]\n", "[resistor]\n" + ACROSS))
    assert lead_parts(made, "T1") == (("thermistor", "TH1"),)
    assert [primary_ohm(made, warm) for warm in (0.0, 0.5, 1.0)] == pytest.approx([95.0, 48.0 + 94.0**0.5, 50.0])


def test_a_resistor_before_the_primary_counts_and_one_across_the_lines_does_not() -> None:
    before = 'RP = { nodes = ["pri_1", "pri_0"], value = "10R", watts = "5 W", stage = "mains" }\n'
    text = EXAMPLE.replace('nodes = ["pri_1", "pri_2"]', 'nodes = ["pri_0", "pri_2"]')
    made = build(text.replace("[resistor]\n", "[resistor]\n" + before + ACROSS))
    assert lead_parts(made, "T1") == (("resistor", "RP"),)
    assert primary_ohm(made, 1.0) == pytest.approx(58.0)


def test_without_a_thermistor_or_a_mains_side_there_is_nothing_before_the_primary() -> None:
    assert lead_parts(build(EXAMPLE), "T1") == ()
    assert primary_ohm(build(EXAMPLE), 1.0) == pytest.approx(48.0)


def test_the_heaters_give_way_to_it_as_a_divider_does() -> None:
    """Winding and primary (48 ohm, thermistor) in series with 0.45 A at 6.3 V and the two resistors across it."""
    made = build(MAINS_LEAD)
    state = stage_state(made, "heaters")
    heaters_s = 0.45 / 6.3 + 1.0 / 200.0
    ratio = 6.3 * 1.06 / 230.0
    for warm, thermistor_ohm in ((0.0, 47.0), (1.0, 2.0)):
        found = operate(assemble(made, replace(state, thermistors_warm=warm)))
        series_ohm = 0.35 + ratio**2 * (48.0 + thermistor_ohm)
        assert found.ac_rms("h_a", "h_b")[0] == pytest.approx(6.3 * 1.06 / (1.0 + series_ohm * heaters_s), rel=1e-5)


def test_one_in_the_ht_lead_is_a_part_of_the_circuit_and_an_ohmmeter_meets_it_cold() -> None:
    made = build(HT_LEAD)
    state = stage_state(made, "supply")
    ohms = [e.ohm for e in assemble(made, state).elements if e.name == "TH1"]
    assert ohms == pytest.approx([5.0])
    assert lead_parts(made, "T1") == ()
    assert resistance(resistances(made, state), "ht_ac", "0")[0] == pytest.approx(160.0 + 120.0, rel=1e-4)
