"""What the mains side of an amplifier must have. Common practice, no source, where nothing else is said."""

from __future__ import annotations

import pytest

from benchtui.forecast import rules_mains
from tests.buildfile.damage import EXAMPLE, changed
from tests.forecast.rules import told, walk, without_mains

RULES = (
    rules_mains.mains_side,
    rules_mains.earth_bond,
    rules_mains.insulation,
    rules_mains.mains_switch,
    rules_mains.mains_fuse,
)
BOND = 'BOND = { nodes = ["earth", "chassis"], stage = "metal"'
FUSE = 'F1 = { nodes = ["live", "fused"]'
SWITCH = 'S1 = { nodes = ["fused", "pri_1"]'
OTHER_POLE = 'S1b = { nodes = ["neutral", "pri_2"], stage = "mains", role = "mains switch, neutral" }\n'
BOND_STAGES = 'stages = ["cold", "signoff"]\nguards = "bond"'
INSULATION_STAGES = 'stages = ["cold", "signoff"]\nguards = "insulation"'

ONE_POLE_LIVE = changed(OTHER_POLE, "", EXAMPLE).replace('"pri_2"', '"neutral"')
ONE_POLE_NEUTRAL = changed(SWITCH, 'S1 = { nodes = ["neutral", "pri_2"]', changed(OTHER_POLE, "")).replace(
    '"pri_1"', '"fused"'
)


def all_told(text: str) -> set[tuple[str, str, str]]:
    walked = walk(text)
    return {finding for rule in RULES for finding in told(rule, walked)}


def test_the_example_has_all_that_is_wanted() -> None:
    assert all_told(EXAMPLE) == set()


def test_a_circuit_without_mains_side_is_told_once_that_nothing_of_it_is_judged() -> None:
    assert all_told(without_mains(EXAMPLE)) == {("note", "", "mains-side-unknown")}


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (changed(BOND_STAGES, BOND_STAGES.replace('"cold", ', "")), ("stop", "earth", "earth-bond-unread")),
        (changed(BOND_STAGES, BOND_STAGES.replace(', "signoff"', "")), ("stop", "earth", "earth-bond-unread")),
        (changed('guards = "bond"\n', ""), ("stop", "earth", "earth-bond-unread")),
        (changed('red = "earth"', 'red = "live"'), ("stop", "earth", "earth-bond-unread")),
        (changed(BOND, BOND.replace("metal", "output")), ("stop", "", "earth-bond")),
        (changed(BOND, BOND.replace("chassis", "ht_res")), ("stop", "", "earth-bond")),
        (
            changed('earth = "earth"\n', "").replace('"earth"', '"pe"').replace('"pe", "chassis"', '"pri_1", "chassis"')
            .replace('red = "pe"', 'red = "pri_1"'),
            ("stop", "", "earth-bond"),
        ),
        (changed(INSULATION_STAGES, INSULATION_STAGES.replace('"cold", ', "")), ("warn", "", "insulation-unread")),
        (changed(INSULATION_STAGES, INSULATION_STAGES.replace(', "signoff"', "")), ("warn", "", "insulation-unread")),
        (changed('guards = "insulation"\n', ""), ("warn", "", "insulation-unread")),
        (changed('red = "live"', 'red = "ht_ac"'), ("warn", "", "insulation-unread")),
        (ONE_POLE_LIVE, ("warn", "S1", "mains-switch")),
        (ONE_POLE_NEUTRAL, ("stop", "S1", "mains-switch")),
        (changed("poles = 2, ", ""), ("note", "S1", "mains-switch")),
        (changed(FUSE, 'F1 = { nodes = ["fused", "neutral_in"]').replace('["neutral", "pri_2"]', '["x", "pri_2"]')
         .replace('"fused", "neutral_in"', '"neutral", "x"').replace(SWITCH, 'S1 = { nodes = ["live", "pri_1"]'),
         ("stop", "F1", "mains-fuse")),
    ],
)  # fmt: skip
def test_what_is_wrong_on_the_mains_side_is_told(text: str, wanted: tuple[str, str, str]) -> None:
    assert all_told(text) == {wanted}


def test_no_switch_and_no_fuse_are_told() -> None:
    gone = ("F1", "holder =", "S1", "[fuse]", "[switch]")
    bare = "".join(line for line in EXAMPLE.splitlines(keepends=True) if not line.startswith(gone))
    bare = changed('primary = { nodes = ["pri_1", "pri_2"]', 'primary = { nodes = ["live", "neutral"]', bare)
    assert all_told(bare) == {("warn", "", "mains-switch"), ("warn", "", "mains-fuse")}


def test_a_resistor_across_the_lines_joins_nothing() -> None:
    across = 'RX = { nodes = ["live", "neutral"], value = "1M", watts = "0.5 W", stage = "mains" }\n'
    assert all_told(changed("[resistor]\n", "[resistor]\n" + across, ONE_POLE_NEUTRAL)) == all_told(ONE_POLE_NEUTRAL)


def test_insulation_may_be_read_anywhere_on_the_mains_side() -> None:
    assert all_told(changed('red = "live"', 'red = "pri_2"')) == set()


def test_nodes_of_the_primary_are_wanted_to_tell_what_a_switch_breaks() -> None:
    text = changed('nodes = ["pri_1", "pri_2"], ', "")
    text = text.replace('"pri_1"', '"pri"').replace('"pri_2"', '"pri"')
    assert ("warn", "", "mains-side-unknown") in all_told(text)


def test_a_line_that_leads_nowhere_is_no_line_that_a_switch_breaks() -> None:
    text = changed(OTHER_POLE, "").replace('"pri_2"', '"elsewhere"')
    assert all_told(text) == {("warn", "", "mains-side-unknown")}
