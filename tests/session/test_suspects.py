"""What may be wrong, as the bench tells it: asked when a reading is off, and gone once all is as it should be."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.session.apart import Apart
from benchtui.session.suspects import Evidence, diagnosed
from benchtui.session.view import Further, Suspects, View
from benchtui.verdicts.beside import Beside
from tests.record.counts import count
from tests.reference import amplifiers
from tests.session.made_up import Desk

#: The first points of the stage `mains`.
FIRST, SECOND, LATER = "heaters_off_load", "rectifier_off_load", "ht_half1"


def read_first(desk: Desk) -> View:
    """The first reading of a power stage, settled."""
    return desk.till(lambda view: view.step == "read" and view.danger.word == "LIVE")


def asked(desk: Desk) -> list[Evidence]:
    """What was asked about readings; the tables that are worked out before are not."""
    found = [what[1] for what in desk.forecaster.asked if what[0] == "suspects"]
    return [each for each in found if each.readings]  # type: ignore[attr-defined]


def test_while_all_reads_well_nothing_is_suspected(desk: Desk) -> None:
    read_first(desk)
    desk.type("100")
    assert desk.session.pending_diagnosis() is None
    assert desk.session.view().suspects == Suspects()


def test_with_the_power_on_its_table_is_worked_out_before_anything_is_off(desk: Desk) -> None:
    read_first(desk)
    first = [what[1] for what in desk.forecaster.asked if what[0] == "suspects"]
    assert first[-1].readings == () and first[-1].stage == "mains"  # type: ignore[attr-defined]
    assert desk.session.view().suspects == Suspects()


def test_a_warn_is_told_with_what_may_be_wrong_as_soon_as_that_is_known(desk: Desk) -> None:
    read_first(desk)
    view = desk.type("88")
    assert view.banner is not None and view.banner.kind == "warn"
    assert "being worked out" in " ".join(view.banner.more) and "being worked out" in view.suspects.trouble
    number = view.prompt.number
    desk.compute()
    view = desk.session.view()
    assert view.banner is not None and view.prompt.number == number
    assert "70 %: R11 is open" in view.banner.more and view.banner.more[-1] == "Next: Without power, ohms across R11."
    assert [each.says for each in view.suspects.likely] == ["R11 is open", "V2 is weak"]


def test_of_a_bond_that_warns_nobody_is_told_that_most_likely_nothing_is_wrong(desk: Desk) -> None:
    """No circuit has it, so a diagnosis would know its prior shares alone."""
    desk.reach("Earth pin to chassis")
    view = desk.type("120")
    assert view.banner is not None and view.banner.kind == "warn"
    assert desk.session.pending_diagnosis() is None and desk.session.view().suspects == Suspects()
    view = desk.type("a known joint")
    assert view.banner is not None and view.banner.text.startswith("A warn here is never accepted")


def test_each_further_reading_asks_anew_with_all_that_was_read(desk: Desk) -> None:
    point = read_first(desk).prompt.title
    desk.type("88")
    desk.compute()
    desk.type("as the part was measured")
    desk.compute()
    desk.type("100")
    desk.compute()
    first, *_, last = asked(desk)
    assert len(first.readings) < len(last.readings) and set(first.readings) <= set(last.readings)
    assert last.mains_v == 230.0 and point


def test_what_was_read_well_again_is_no_evidence_any_more(desk: Desk) -> None:
    read_first(desk)
    desk.type("88")
    desk.compute()
    assert desk.type("100").suspects == Suspects()


def test_after_a_stop_the_suspects_stay_until_what_it_was_is_told(desk: Desk) -> None:
    read_first(desk)
    desk.type("400")
    desk.compute()
    view = desk.session.view()
    assert view.power_off and view.suspects.likely
    desk.reach("What was it?")
    assert desk.session.view().suspects.likely
    desk.type("a whisker of solder")
    assert desk.session.view().suspects == Suspects()


def test_where_it_cannot_be_computed_that_is_said_and_not_tried_again(desk: Desk) -> None:
    read_first(desk)
    desk.type("88")
    assert desk.session.pending_diagnosis() is not None
    desk.session.take_diagnosis(None)
    assert "could not be computed" in desk.session.view().suspects.trouble
    assert desk.session.pending_diagnosis() is None


def test_a_doubted_reading_is_no_evidence(desk: Desk) -> None:
    read_first(desk)
    view = desk.type("1")
    assert view.banner is not None and view.banner.kind == "question"
    assert desk.session.pending_diagnosis() is None


def test_the_next_reading_without_power_is_typed_with_hands_in_and_asks_anew(desk: Desk) -> None:
    read_first(desk)
    desk.type("400")
    desk.compute()
    view = desk.reach("What was it?")
    said = " ".join(view.prompt.lines)
    assert "Type 'read' and the ohms" in said and "ohms across R11" in said
    view = desk.type("read 4k7")
    assert view.prompt.title == "What was it?" and "being worked out" in view.suspects.trouble
    desk.compute()
    assert asked(desk)[-1].ohms == (("R11", 4700.0),)
    assert any("without power: R11 4k7 as typed" in line.text for line in desk.session.log())
    assert desk.type("read much").banner.kind == "question"
    desk.type("R11 was open")
    view = desk.type("read 470")
    assert view.banner is not None and view.banner.kind == "refused" and "No reading without power" in view.banner.text


def test_the_next_reading_with_power_is_made_before_the_one_that_is_off(desk: Desk) -> None:
    desk.forecaster.further = Further("live", "mains", LATER, "Read that", "here", "chassis")
    first = read_first(desk)
    desk.type("88")
    desk.compute()
    view = desk.session.view()
    assert "type 'next' to read that first" in " ".join(view.prompt.lines) and "or type why" in view.prompt.lines[0]
    view = desk.type("next")
    assert view.prompt.title != first.prompt.title and view.prompt.entry == "number"
    view = desk.type("100")
    assert view.prompt.title == first.prompt.title and "or type why" in view.prompt.lines[0]


def test_a_reading_that_is_made_again_and_is_the_same_counts_as_such(desk: Desk) -> None:
    desk.forecaster.further = Further("again", "mains", FIRST, "Read it once more", "here", "chassis")
    read_first(desk)
    desk.type("88")
    desk.compute()
    assert "a probe may not have touched" in " ".join(desk.session.view().prompt.lines)
    desk.type("88.5")
    desk.compute()
    assert asked(desk)[-1].twice == (FIRST,)
    desk.type("85")
    desk.compute()
    assert asked(desk)[-1].twice == ()


def test_a_channel_that_is_off_beside_the_other_is_warned_though_in_its_own_window(desk: Desk) -> None:
    desk.forecaster.beside = (Beside(SECOND, FIRST, -3.0, 3.0), Beside(FIRST, SECOND, -3.0, 3.0))
    read_first(desk)
    view = desk.type("100")
    assert "97.0 V to 103 V" in " ".join(view.why) and view.prompt.scale is not None
    assert (view.prompt.scale.low, view.prompt.scale.high) == (97.0, 103.0)
    view = desk.type("105")
    assert view.banner is not None and view.banner.kind == "warn" and desk.session.pending_diagnosis() is not None
    assert desk.type("101").banner.kind == "pass"


@pytest.mark.parametrize("apart", count(short=[True], full=[False, True]))
def test_the_real_diagnosis_in_words(apart: bool, tmp_path: Path) -> None:
    record = next(r for r in amplifiers.faults("a") if r["case"] == 76)  # a bleeder of ten times its value, in supply
    build = amplifiers.build("a").build
    of = Evidence("supply", record["mains_v"], tuple(record["readings"].items()), ())
    other = Apart()
    try:
        found = other.suspects(build, of) if apart else diagnosed(build, of)
    finally:
        other._ended()
    assert any("R1 " in each.says for each in found.likely[:3]) and found.likely[0].evidence
    shares = [each.share for each in found.likely]
    assert shares == sorted(shares, reverse=True) and sum(shares) <= 1.0


def test_what_is_exchanged_is_read_by_itself_and_put_back_before_the_stage_goes_on(desk: Desk) -> None:
    words = "Without power exchange V2 and V3, then read that"
    desk.forecaster.further = Further("exchange", "mains: V2 and V3 exchanged", SECOND, words, "here", "chassis")
    first = read_first(desk).prompt.title
    desk.type("88")
    desk.compute()
    desk.type("off")
    view = desk.reach("Hands out")
    assert "Type 'exchanged' once that is done" in " ".join(view.prompt.lines)
    view = desk.type("exchanged")
    assert "type 'put back'" in " ".join(view.prompt.lines) and "to be put back: V2 and V3 exchanged" in view.loose
    view = desk.till(lambda view: "With V2 and V3 exchanged" in " ".join(view.prompt.lines))
    assert view.prompt.title != first and view.prompt.scale is None and view.danger.word == "LIVE"
    view = desk.type("70")
    assert view.banner is not None and view.banner.kind == "info" and view.prompt.title == "Switch off"
    desk.compute()
    last = asked(desk)[-1]
    assert last.exchanged == (("V2 and V3 exchanged", SECOND, 70.0),) and dict(last.readings) == {FIRST: 88.0}
    desk.drop()
    desk.open()
    assert "to be put back: V2 and V3 exchanged" in desk.reach("Hands out").loose
    view = desk.type("put back")
    assert not any("put back" in each for each in view.loose)
    assert view.prompt.title != "Hands out"  # every check without power once more
    assert read_first(desk).prompt.title == first


def test_what_was_it_is_no_reading_and_no_shrug(desk: Desk) -> None:
    read_first(desk)
    desk.type("400")
    desk.compute()
    desk.reach("What was it?")
    for text in ("4k7", "not found", "don't know", "Nothing.", "?"):
        view = desk.type(text)
        assert view.prompt.title == "What was it?" and "'not found yet'" in view.banner.text, text
    assert desk.type("not found yet").prompt.title == "Hands out"
