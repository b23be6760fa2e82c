"""Time away: what is loose, the tag on the plug, and the look over of a chassis that nobody watched."""

from __future__ import annotations

import pytest

from benchtui.parts.guide import value
from benchtui.session.away import unwatched
from benchtui.session.view import View
from tests.session.made_up import Desk

DAY_S = 86400.0
LOOK_OVER = ("Step 1", "Step 2")


def back_after(desk: Desk, seconds: float) -> View:
    """Come back to the bench after so long by the wall clock."""
    desk.drop()
    desk.clock.pass_(seconds)
    return desk.open()


def powered(desk: Desk) -> View:
    return desk.till(lambda view: view.stage == "HT off load" and view.danger.word == "LIVE")


def titles(desk: Desk, until: str) -> list[str]:
    """The prompts on the way to the danger word `until`, steps by their text."""
    seen = desk.go(lambda view: view.danger.word == until)
    return [f"{view.prompt.title}: {view.prompt.lines[0]}" for view in seen if view.danger.word == "DEAD AS MEASURED"]


@pytest.mark.parametrize(
    ("seconds", "says"),
    [(0.0, ""), (13.9 * DAY_S, ""), (14.0 * DAY_S, "14 days"), (400.0 * DAY_S, "400 days"), (-59.0, ""),
     (-3600.0, "gone back"), (-50.0 * 365.0 * DAY_S, "gone back")],
)  # fmt: skip
def test_a_fortnight_or_a_clock_that_has_gone_back_is_too_long(seconds: float, says: str) -> None:
    assert value("away.longest") == 14.0 * DAY_S
    why = unwatched(1_700_000_000.0, 1_700_000_000.0 + seconds)
    assert says in why and bool(why) == bool(says)


def test_after_a_fortnight_wiring_fuses_and_bond_are_looked_over_before_power_and_the_old_passes_stand(
    desk: Desk,
) -> None:
    powered(desk)
    view = back_after(desk, 15.0 * DAY_S)
    assert view.stage == "HT off load" and view.danger.word == "ASSUME LIVE"
    assert view.banner is not None and "15 days" in view.banner.more[0]
    seen = titles(desk, "CLOSING")
    assert any("Look the chassis over" in each for each in seen)
    assert any("Every fuse" in each for each in seen)
    assert any(each.startswith("Earth pin") for each in seen), seen
    view = desk.till(lambda view: view.danger.word.startswith("LIVE"))
    assert view.danger.word == "LIVE, LIMITED"
    assert [mark.state for mark in view.stages][:3] == ["passed", "passed", "not all measured"]
    desk.till(lambda view: view.stage == "Output valves, no signal" and view.danger.word == "LIVE")


def test_a_week_asks_for_the_gate_alone(desk: Desk) -> None:
    powered(desk)
    back_after(desk, 7.0 * DAY_S)
    assert not any("Look the chassis over" in each for each in titles(desk, "CLOSING"))


def test_a_chassis_that_was_moved_is_looked_over_and_cannot_go_back_to_power(desk: Desk) -> None:
    powered(desk)
    desk.session.stop()
    desk.type("out")
    view = desk.type("moved")
    assert view.prompt.title == "Pull the plug"
    desk.type("out")
    view = desk.type("back to power")
    assert view.banner is not None and view.banner.kind == "refused"
    assert any("Look the chassis over" in each for each in titles(desk, "CLOSING"))


def test_a_chassis_that_never_had_power_has_nothing_to_look_over(desk: Desk) -> None:
    desk.reach("Pull the plug")
    view = desk.type("moved")
    assert view.banner is not None and "nothing to look over" in view.banner.text
    view = back_after(desk, 100.0 * DAY_S)
    assert view.banner is not None and not any("Before the next power" in line for line in view.banner.more)


def test_a_look_over_that_was_cut_short_is_due_again(desk: Desk) -> None:
    powered(desk)
    back_after(desk, 20.0 * DAY_S)
    desk.till(lambda view: view.prompt.title.startswith("Earth pin"))
    back_after(desk, 60.0)
    assert any("Look the chassis over" in each for each in titles(desk, "CLOSING"))


def test_what_is_loose_is_said_on_the_tag_and_at_the_next_start_until_hands_are_out(desk: Desk) -> None:
    powered(desk)
    desk.session.leaving("  the black lead of C3 \x1b[31m")
    parting = desk.session.leave().splitlines()
    assert len(parting) == 2 and parting[1].startswith("Power may be on")
    tag = "Tag for the plug: DO NOT PLUG IN. Push-pull 6V6GT, at 'HT off load'; loose: the black lead of C3"
    assert parting[0].startswith(tag)
    assert "\x1b" not in parting[0]
    view = desk.open()
    assert view.banner is not None and any("left loose: the black lead of C3" in line for line in view.banner.more)
    assert "loose: the black" in view.tag
    assert "loose" not in desk.till(lambda view: view.danger.word == "CLOSING").tag


def test_no_tag_hangs_on_a_bare_or_a_finished_chassis(desk: Desk) -> None:
    desk.reach("Step 1")
    assert desk.session.view().danger.word == "BARE" and desk.session.view().tag == ""
    assert desk.till(lambda view: False).tag == ""
    assert desk.session.leave().startswith("Finished")
