"""What the ratings review found is in sight, and a finding that stops waits for a typed decision before power."""

from __future__ import annotations

from benchtui.forecast.results import Finding
from benchtui.record import Journal
from tests.session.made_up import Desk

STOP = Finding("stop", "output", "V3", "screen-v", "V3 screen volts: 426 V of 425 V", 426.0, 425.0, "made up")
WARN = Finding("warn", "supply", "C1", "capacitor", "C1 close to its volts", 440.0, 450.0, "made up")
NOTE = Finding("note", "supply", "R1", "watts", "R1 runs warm", 1.0, 2.0, "made up")


def kinds(desk: Desk) -> list[str]:
    with Journal.open(desk.record, write=False) as journal:
        return [event.kind for event in journal.events]


def test_grave_findings_are_counted_at_once_and_listed_with_the_stages(desk: Desk) -> None:
    desk.forecaster.findings = (STOP, WARN, NOTE)
    assert desk.session.view().findings == ()
    desk.compute()
    view = desk.session.view()
    assert view.banner is not None and view.banner.more[0].startswith("Ratings review: 1 stop, 1 warn;")
    assert view.findings == (
        "stop: V3 screen volts: 426 V of 425 V (made up)", "warn: C1 close to its volts (made up)"
    )  # fmt: skip


def test_a_review_that_only_notes_says_nothing_and_asks_nothing(desk: Desk) -> None:
    desk.forecaster.findings = (NOTE,)
    desk.compute()
    assert desk.session.view().findings == ()
    assert desk.session.view().banner.more == ()  # type: ignore[union-attr]
    assert desk.reach("First power")


def test_the_review_is_computed_after_all_that_the_present_prompt_waits_for(desk: Desk) -> None:
    desk.reach("Clip off")
    desk.drop()
    desk.forecaster.asked.clear()
    desk.open()
    desk.compute()
    assert desk.forecaster.asked[-1] == ("review",) and len(desk.forecaster.asked) > 1


def test_a_stop_waits_for_a_reason_before_each_first_power(desk: Desk) -> None:
    desk.forecaster.findings = (STOP,)
    view = desk.reach("The ratings review objects")
    assert view.danger.word == "CLOSING" and "V3 screen volts: 426 V of 425 V" in view.prompt.lines[0]
    assert any("made up" in line for line in view.why)
    for said in ("100 W", "go on", "go on: ", "yes"):
        assert desk.type(said).prompt.title == "The ratings review objects"
    assert desk.type("go on: half a volt, quoted from memory").prompt.title == "Mains now"
    view = desk.reach("First power")
    assert any("although V3 screen volts" in line.text and "half a volt" in line.text for line in desk.session.log())
    desk.once(view)
    assert desk.session.view().danger.word == "LIVE, LIMITED"
    desk.session.stop()
    first = desk.session.view().stage
    again = desk.till(lambda view: view.prompt.title in ("First power", "The ratings review objects"))
    assert (again.stage, again.prompt.title) == (first, "First power")
    desk.once(again)
    later = desk.till(lambda view: view.prompt.title in ("First power", "The ratings review objects"))
    assert later.stage != first and later.prompt.title == "The ratings review objects"


def test_power_waits_for_a_review_that_is_not_ready(desk: Desk) -> None:
    desk.reach("Cover, or one hand")
    desk.session._forecasts._found.pop(("review",))
    desk.session._replan(reviewed=False)
    assert desk.type("cover on").prompt.title == "Computing"
    desk.compute()
    assert desk.session.view().prompt.title == "Mains now"


def test_a_review_that_failed_is_said_and_counts_as_not_known(desk: Desk) -> None:
    desk.forecaster.fails.add("review")
    desk.compute()
    view = desk.session.view()
    assert view.banner is not None and "review failed" in view.banner.more[0]
    assert "made to fail" in view.findings[0]
    view = desk.reach("The ratings review objects")
    assert "nobody knows" in view.prompt.lines[0]
    assert desk.type("go on: checked by hand").prompt.title == "Mains now"


def test_a_decision_stands_after_a_restart_and_only_for_what_it_was_about(desk: Desk) -> None:
    desk.forecaster.findings = (STOP,)
    desk.reach("The ratings review objects")
    desk.type("go on: known")
    desk.drop()
    assert kinds(desk)[-1] == "overruled"
    desk.open()
    desk.compute()
    assert desk.reach("First power")
    desk.drop()
    desk.forecaster.findings = (STOP, Finding("stop", "mains", "F1", "fuse", "F1 too large", 9.0, 1.0, "made up"))
    desk.open()
    assert "F1 too large" in desk.reach("The ratings review objects").prompt.lines[0]
