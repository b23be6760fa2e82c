"""Fuses: large enough to last, small enough to protect, and rated for the volts that they break.

By hand: the example's windings, 75 mA at 200 V and 1 A at 6.7 V of 230 V, ask for 94 mA of the primary at full load.
"""

from __future__ import annotations

import pytest

from benchtui.forecast.rules_fuses import fuse_too_large, fuse_volts, fuses
from tests.buildfile.damage import EXAMPLE, changed
from tests.forecast.rules import told, told_of_stages, walk

#: Ahead of the rectifier (ht_ac is parted in two), in its direct current, and in the lead of the winding to chassis.
AC_FUSE = 'F2 = { nodes = ["ht_w", "ht_ac"], '
DC_FUSE = 'F2 = { nodes = ["ht_k", "ht_raw"], '
TAP_FUSE = 'F2 = { nodes = ["ht_w0", "0"], '
REST = 'amps = "%s", standard = "IEC 60127", speed = "T", value = "5R", volts = "%s", stage = "mains" }\n'


def with_ht_fuse(place: str, amps: str, volts: str) -> str:
    text = changed("[fuse]\n", f"[fuse]\n{place}{REST % (amps, volts)}")
    if place is AC_FUSE:
        text = changed('nodes = ["ht_ac", "0"]', 'nodes = ["ht_w", "0"]', text)
    elif place is TAP_FUSE:
        text = changed('nodes = ["ht_ac", "0"]', 'nodes = ["ht_ac", "ht_w0"]', text)
    else:
        text = changed('nodes = ["ht_ac", "ht_raw"]', 'nodes = ["ht_ac", "ht_k"]', text)
    return text


@pytest.mark.parametrize(
    ("amps", "wanted"),
    [
        ("63 mA", {("warn", "F1", "fuse-current")}),
        ("160 mA", set()),
        ("180 mA", set()),
        ("250 mA", {("note", "F1", "fuse-too-large")}),
        ("315 mA", {("warn", "F1", "fuse-too-large")}),
        ("5 A", {("warn", "F1", "fuse-too-large")}),
    ],
)
def test_a_mains_fuse_carries_the_load_and_is_at_most_three_times_the_full_current(
    amps: str, wanted: set[tuple[str, str, str]]
) -> None:
    """Common practice: 1.5 to 2 times the current at full load, next standard value."""
    walked = walk(changed('amps = "160 mA"', f'amps = "{amps}"'), "heaters", "output")
    assert told(fuse_too_large, walked) | told_of_stages(fuses, walked) == wanted


@pytest.mark.parametrize("place", [AC_FUSE, TAP_FUSE], ids=["winding lead", "chassis lead"])
@pytest.mark.parametrize(("amps", "severity"), [("150 mA", None), ("200 mA", "note"), ("250 mA", "warn")])
def test_an_ht_fuse_is_measured_by_its_winding(place: str, amps: str, severity: str | None) -> None:
    """Twice 75 mA is 150 mA, three times 225 mA; three times the computed current of some 60 mA lies between."""
    found = told(fuse_too_large, walk(with_ht_fuse(place, amps, "250 V"), "output"))
    assert found == ({(severity, "F2", "fuse-too-large")} if severity else set())


def test_a_fuse_of_unknown_windings_is_measured_by_its_current_alone() -> None:
    text = changed('amps = "75 mA", ', "", with_ht_fuse(AC_FUSE, "200 mA", "250 V"))
    assert ("warn", "F2", "fuse-too-large") in told(fuse_too_large, walk(text, "output"))


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (EXAMPLE, set()),
        (changed('value = "3R3", volts = "250 V"', 'value = "3R3", volts = "125 V"'), {("stop", "F1", "fuse-volts")}),
        (changed('value = "3R3", volts = "250 V"', 'value = "3R3"'), {("note", "F1", "rating-missing")}),
        (with_ht_fuse(AC_FUSE, "100 mA", "250 V"), set()),
        (with_ht_fuse(AC_FUSE, "100 mA", "150 V"), {("warn", "F2", "fuse-volts")}),
        (with_ht_fuse(TAP_FUSE, "100 mA", "150 V"), {("warn", "F2", "fuse-volts")}),
        (with_ht_fuse(DC_FUSE, "100 mA", "250 V"), {("warn", "F2", "fuse-volts")}),
        (with_ht_fuse(DC_FUSE, "100 mA", "500 V"), {("note", "F2", "fuse-volts")}),
    ],
)
def test_a_fuse_is_rated_for_the_volts_that_it_breaks(text: str, wanted: set[tuple[str, str, str]]) -> None:
    """Winding: 200 V off load. Behind the rectifier: up to 1.414 x 200 V x 1.1 = 311 V, 250 V is too little."""
    assert told(fuse_volts, walk(text, "output")) == wanted
