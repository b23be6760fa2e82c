"""An output valve with fixed bias comes under HT only once its grid was read, and keeps its bias without the wiper.

Common practice, no source; the demo builds and the reference amplifiers are looked at in tests/builds and test_review.
"""

from __future__ import annotations

import pytest

from benchtui.circuit.elements import CHASSIS
from benchtui.forecast.rules_bias import grid_bias_read, has_fixed_bias, lifted_wipers, powered_output
from tests.buildfile.damage import EXAMPLE, changed
from tests.forecast.rules import SAFETY, fixed_bias, told, walk, without_mains

UNREAD = {("stop", "V1", "grid-bias-unread")}
STAGES = 'stages = ["bias", "output"]'


def test_fixed_bias_is_told_from_cathode_bias() -> None:
    for text, fixed in ((EXAMPLE, False), (fixed_bias(), True)):
        (powered,) = powered_output(walk(text, "output"))
        assert (powered.section.id, powered.states.stage) == ("V1", "output")
        assert has_fixed_bias(powered.states, powered.section) is fixed


def test_cathode_bias_needs_no_reading_before() -> None:
    assert told(grid_bias_read, walk(EXAMPLE, "output")) == set()


def test_a_grid_that_is_read_with_its_bias_before_the_ht_is_right() -> None:
    assert told(grid_bias_read, walk(fixed_bias(), "bias", "output")) == set()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (STAGES, 'stages = ["output"]'),
        ('guards = "grid bias"\n', ""),
        ('red = "v1_g"', 'red = "bn"'),
        ('red = "v1_g"', 'red = "wiper"'),
    ],
    ids=["only under HT", "not guarded", "the rail alone", "behind the leak"],
)
def test_a_grid_that_is_not_read_before_is_a_stop(old: str, new: str) -> None:
    assert told(grid_bias_read, walk(changed(old, new, fixed_bias()), "bias", "output")) == UNREAD


def test_a_grid_without_bias_when_it_is_read_proves_nothing() -> None:
    text = changed('R5 = { nodes = ["v1_g", "wiper"]', 'R5 = { nodes = ["v1_g", "0"]', fixed_bias())
    assert told(grid_bias_read, walk(text, "bias", "output")) == UNREAD


def test_a_circuit_without_mains_side_is_a_note_if_its_bias_supply_is_read_before() -> None:
    circuit = without_mains(fixed_bias())
    behind = changed('red = "v1_g"', 'red = "wiper"', circuit)
    assert told(grid_bias_read, walk(behind, "bias", "output")) == {("note", "V1", "grid-bias-unread")}
    nothing = changed(STAGES, 'stages = ["output"]', circuit)
    assert told(grid_bias_read, walk(nothing, "bias", "output")) == UNREAD


def test_a_wiper_with_a_safety_resistor_may_lift() -> None:
    assert told(lifted_wipers, walk(fixed_bias(), "bias", "output")) == set()


def test_a_wiper_without_one_leaves_the_grid_floating() -> None:
    text = "".join(line for line in fixed_bias().splitlines(keepends=True) if not line.startswith("R11"))
    (finding,) = lifted_wipers(walk(text, "bias", "output"))
    assert (finding.severity, finding.part, finding.rule) == ("stop", "P1", "lifted-wiper")
    assert "float" in finding.text and finding.value is None


def test_a_pot_wired_as_a_resistor_in_series_is_its_own_fault() -> None:
    """Its wiper is tied to the far end: lifted, the whole track is in series and the grid rises, but does not float."""
    text = changed('nodes = ["bn", "wiper", "foot"]', 'nodes = ["bn", "wiper", "wiper"]', fixed_bias())
    text = changed('R10 = { nodes = ["foot", "0"]', 'R10 = { nodes = ["wiper", "0"]', text)
    (finding,) = lifted_wipers(walk(text, "bias", "output"))
    assert (finding.severity, finding.part) == ("stop", "P1")
    assert finding.limit < finding.value < -1.0


def test_a_resistor_that_pulls_the_grid_to_chassis_is_none() -> None:
    """By hand: bn is about 1.414 x 40 V x 1.1 below chassis with cold valves; 220k alone takes the grid to 0 V."""
    text = changed(SAFETY, 'R11 = { nodes = ["wiper", "0"]', fixed_bias())
    (finding,) = lifted_wipers(walk(text, "bias", "output"))
    assert (finding.severity, finding.part) == ("stop", "P1")
    assert finding.value == pytest.approx(0.0, abs=0.1)
    states = walk(text, "bias", "output").states["output"]
    assert finding.limit == pytest.approx(float(states.cold.dc("v1_g", CHASSIS)[0]), rel=1e-3)
    assert finding.limit < -20.0
