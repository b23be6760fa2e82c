"""The keys of a soak: where they may stand, and what a soak leaves no way to do."""

from __future__ import annotations

import pytest

from benchtui.buildfile.load import load_text
from benchtui.buildfile.stages import stages, trimmed_as
from tests.buildfile.damage import EXAMPLE, changed, refusals

SOAK = '\n[stage.signoff]\nsoak = "2 h"\nwatch = "jack"\n'
JACK = '\n[point.jack]\nname = "Cathode"\nred = "v1_k"\nquantity = "dc"\nstages = ["signoff"]\noutside = true\n'
SOAKED = EXAMPLE + SOAK + JACK
POT = '\n[pot]\nP1 = { nodes = ["v1_k", "v1_k", "0"], value = "10k", stage = "output" }\n'
ADJUST = '\n[adjust.A1]\npot = "P1"\npoint = "v1_cathode"\ntarget = "15 V"\nstages = ["output"]\nreach = "outside"\n'
AFTER = '\n[stage.party]\ntitle = "Party"\nkind = "bench"\nafter = "signoff"\n'


def test_a_soak_gives_its_stage_power_and_nothing_is_refused() -> None:
    assert not refusals(SOAKED)
    last = stages(load_text(SOAKED, "soaked").build)[-1]
    assert (last.id, last.kind, last.entry.soak) == ("signoff", "power", 7200.0)


@pytest.mark.parametrize(
    ("text", "marker", "words"),
    [
        (changed("[stage.signoff]", "[stage.supply]", SOAKED), 'soak = "2 h"', "is the sign-off's alone"),
        (changed('"2 h"', '"9 min"', SOAKED), 'soak = "9 min"', "no length for a soak"),
        (changed('"2 h"', '"25 h"', SOAKED), 'soak = "25 h"', "no length for a soak"),
        (changed("outside = true\n", "", SOAKED), "[point.jack]", "is read in a soak and not from outside"),
        (changed('watch = "jack"', 'watch = "jack"\nvalves_out = ["V1"]', SOAKED),
         'valves_out = ["V1"]\n\n[point.jack]', "out in a soak"),
        (changed('["output"]\nreach', '["output", "signoff"]\nreach', SOAKED + POT + ADJUST), "adjust.A1",
         "is trimmed in a soak"),
        (SOAKED + AFTER + 'steps = ["dance"]\n', 'soak = "2 h"', "is not the last of all"),
    ],
)  # fmt: skip
def test_what_no_soak_allows_is_refused_with_its_line(text: str, marker: str, words: str) -> None:
    line = text[: text.index(marker)].count("\n") + 1
    assert [p for p in refusals(text) if words in str(p) and 0 <= p.line - line <= 6], [str(p) for p in refusals(text)]


def test_pots_stand_in_a_soak_as_the_last_stage_with_power_left_them() -> None:
    build = load_text(SOAKED, "soaked").build
    before = [info.id for info in stages(build) if info.kind == "power"][-2]
    assert trimmed_as(build, "signoff") == before != "signoff"
    assert trimmed_as(build, "feedback") == "signal"
    assert trimmed_as(load_text(EXAMPLE, "plain").build, "signoff") == "signoff"
