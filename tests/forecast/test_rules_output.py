"""Output valves have a load, and one that stays. Common practice, no source."""

from __future__ import annotations

import pytest

from benchtui.forecast.rules_output import loads
from tests.buildfile.damage import EXAMPLE, changed
from tests.forecast.rules import LOAD, told, walk, without_mains

GUARD = 'R8 = { nodes = ["out", "0"], value = "120R"'
NO_GUARD = "".join(line for line in EXAMPLE.splitlines(keepends=True) if not line.startswith("R8 ="))

#: The screen at HT through its stopper instead of at the anode.
PENTODE = 'R7 = { nodes = ["v1_g2", "ht"]', 'R7 = { nodes = ["v1_g2", "v1_a"]'


def as_pentode(text: str) -> str:
    return changed(PENTODE[1], PENTODE[0], text)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (EXAMPLE, set()),
        (as_pentode(EXAMPLE), set()),
        (NO_GUARD, {("note", "T2", "load-guard")}),
        (as_pentode(NO_GUARD), {("warn", "T2", "load-guard")}),
        (as_pentode(without_mains(NO_GUARD)), {("note", "T2", "load-guard")}),
        (as_pentode(changed('"120R", watts = "3 W"', '"1k", watts = "3 W"')), {("warn", "T2", "load-guard")}),
        (changed(LOAD, LOAD.replace('stage = "output"', 'stage = "signal"')), {("warn", "T2", "load-missing")}),
        (changed("[load]\n" + LOAD, ""), {("warn", "T2", "load-missing")}),
        (changed(LOAD, LOAD.replace('"out", "0"', '"in", "0"')), {("warn", "T2", "load-missing")}),
    ],
    ids=[
        "sound, triode", "sound, pentode", "triode without guard", "pentode without guard", "a circuit alone",
        "guard of 125 loads", "load too late", "no load", "load elsewhere",
    ],
)  # fmt: skip
def test_load_and_guard_are_wanted_when_the_output_valves_come_under_ht(
    text: str, wanted: set[tuple[str, str, str]]
) -> None:
    assert told(loads, walk(text, "output")) == wanted


def test_an_ultra_linear_screen_is_no_triode() -> None:
    text = changed('R7 = { nodes = ["v1_g2", "v1_a"]', 'R7 = { nodes = ["v1_g2", "v1_ul"]', NO_GUARD)
    taps = 'stage = "output"\nscreen_taps = { nodes = ["v1_ul"], share = "43 %" }\n\n[load]'
    text = changed('stage = "output"\n\n[load]', taps, text)
    assert told(loads, walk(text, "output")) == {("warn", "T2", "load-guard")}


def test_before_its_valves_a_transformer_needs_no_load() -> None:
    assert told(loads, walk(EXAMPLE, "supply")) == set()
