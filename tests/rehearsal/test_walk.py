"""A whole rehearsal: someone who types what the meter shows gets to the end, or finds the fault and mends it."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.rehearsal.asked import Planted
from benchtui.session.view import View
from tests.record.counts import count
from tests.rehearsal.bench import BUILDS, STOP, Planting, Rehearsal, typed
from tests.walk.forecasts import Remembering

HEATER = Planted("resistor-shorted", "R2", "R2 is bridged or shorted")


class Mender:
    """Someone who knows what is planted: at the first reading that is off the power goes off, and `part` is renewed."""

    def __init__(self, part: str, needless: str = "") -> None:
        self.part, self.searching = part, False
        self.parts = [each for each in (needless, part) if each]

    def __call__(self, view: View) -> str:
        if self.parts and view.banner is not None and view.banner.kind in ("warn", "stop"):
            self.searching = True
        if view.prompt.title == "What was it?":
            self.parts = []
            return f"It was {self.part}."
        if self.searching and self.parts:
            if view.danger.word == "DEAD AS MEASURED":
                return f"mend {self.parts.pop(0)}"
            if view.danger.word == "CLOSING":
                return STOP
            if view.danger.word.startswith("LIVE") and not view.power_off:
                return "off"
        return typed(view)


def test_a_fault_is_found_by_its_ohms_and_mended(tmp_path: Path, forecasts: Remembering) -> None:
    rehearsal = Rehearsal(BUILDS / "pp-6v6.toml", tmp_path, forecasts, Planting(HEATER))
    rehearsal.go(lambda view: view.stage == "HT off load", Mender("R2", needless="R1"))
    assert any(line.startswith("Heater leg") for line in rehearsal.banners("warn"))
    renewed = [text for _, text, _ in rehearsal.trail if text.startswith("mend")]
    assert renewed == ["mend R1", "mend R2"]
    told = rehearsal.type("show fault").banner
    assert told is not None and told.text == "Rehearsal: planted was R2: R2 is bridged or shorted."
    assert "the first that was off included" in told.more[0] and told.more[1] == "Renewed for nothing: R1."


def test_a_sound_amplifier_passes_all_that_is_read(tmp_path: Path, forecasts: Remembering) -> None:
    last = count(short="Output valves, no signal", full="")
    name = "se-stereo"
    rehearsal = Rehearsal(BUILDS / f"{name}.toml", tmp_path, forecasts, Planting(), fault="none")
    view = rehearsal.go(lambda view: view.stage == last)
    assert rehearsal.banners("warn", "stop", "refused", "question") == []
    assert len(rehearsal.banners("pass")) > 20
    assert all(before.rehearsal and after.rehearsal for before, _, after in rehearsal.trail)
    if not last:
        assert view.prompt.title == "Finished"
        assert view.banner is not None and view.banner.text == "Rehearsal: nothing was planted. The amplifier is sound."


@pytest.mark.skipif(not count(short=False, full=True), reason="half a minute each: BENCHTUI_LONG=1")
@pytest.mark.parametrize("name", ["pp-6v6", "pp-el34", "se-stereo"])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_whole_rehearsals(name: str, seed: int, tmp_path: Path, forecasts: Remembering) -> None:
    """What the seed plants, found where it first shows, named and mended: then every stage completes."""
    from benchtui.rehearsal.answering import answer
    from benchtui.rehearsal.asked import Plant

    rehearsal = Rehearsal(BUILDS / f"{name}.toml", tmp_path, forecasts, Planting(), seed=seed, fault="none")
    planted = answer(rehearsal.session._build, Plant(seed))
    rehearsal.drop()
    rehearsal = Rehearsal(BUILDS / f"{name}.toml", tmp_path, forecasts, Planting(planted), seed=seed, new=True)
    view = rehearsal.go(act=Mender(planted.part))
    assert view.prompt.title == "Finished"
    assert view.banner is not None and planted.says in view.banner.text
    assert view.banner.more[0].startswith("Named and renewed")


@pytest.mark.skipif(not count(short=False, full=True), reason="a minute: BENCHTUI_LONG=1")
def test_a_loop_the_wrong_way_round_is_stopped_where_it_is_tried_and_cured_by_exchanged_leads(
    tmp_path: Path, forecasts: Remembering
) -> None:
    wrong = Planted("leads-exchanged", "T2", "T2's leads at spk and spk_cold are exchanged")
    rehearsal = Rehearsal(BUILDS / "pp-6v6.toml", tmp_path, forecasts, Planting(wrong))

    def cured(view: View) -> str:
        return "exchanged the anode leads of T2" if view.prompt.title == "What was it?" else typed(view)

    view = rehearsal.go(act=cured)
    assert [line.partition(":")[0] for line in rehearsal.banners("stop", "warn")] == [
        "Load volts, feedback lead touched in"
    ]
    assert view.prompt.title == "Finished"
    assert view.banner is not None and view.banner.text == f"Rehearsal: planted was T2: {wrong.says}."
    assert (
        view.banner.more[0].startswith("Named and renewed")
        and view.banner.more[1] == "No part was renewed for nothing."
    )
