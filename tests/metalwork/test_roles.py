"""What parts are for, by the netlist: hot valves, input valves, what carries mains."""

from __future__ import annotations

import pytest

from benchtui.metalwork.roles import roles
from tests.metalwork.layouts import built
from tests.metalwork.sound import EL34, SOUND, STEREO, TWO


@pytest.mark.parametrize(
    ("name", "hot", "first"),
    [
        (TWO, {"V2", "V3", "V4"}, {"V1"}),  # V4 is the rectifier
        (EL34, {"V3", "V4"}, {"V1"}),
        (STEREO, {"V1L", "V1R"}, {"V1L", "V1R"}),  # a triode and a pentode in one bottle
        ("the beginner's example", {"V1"}, set()),  # an output valve alone
    ],
)
def test_hot_and_input_valves_are_known_by_the_netlist(name: str, hot: set[str], first: set[str]) -> None:
    found = roles(built(SOUND[name]))
    assert (set(found.hot), set(found.input_valves)) == (hot, first)


@pytest.mark.parametrize("name", [TWO, EL34, STEREO])
def test_the_mains_fuse_and_both_poles_of_its_switch_carry_mains_the_ht_fuse_does_not(name: str) -> None:
    assert set(roles(built(SOUND[name])).mains) == {"F1", "S1L", "S1N"}
