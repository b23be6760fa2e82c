"""The wait between the two rounds: the fall that is shown, and what a reading typed in it does."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log
from pathlib import Path

import pytest

from benchtui.buildfile.models import Build
from benchtui.session.forecaster import GateFacts
from tests.session.made_up import BUILDS, Desk, MadeUp


class OneBleeder(MadeUp):
    """One reservoir of 400 V that its bleeder takes under the threshold within `slowest_s` seconds."""

    slowest_s = 40.0

    def gate(self, build: Build, stage: str) -> GateFacts:
        facts = super().gate(build, stage)
        held = tuple(
            replace(one, highest_v=400.0, slowest_s=self.slowest_s, bled=self.slowest_s < float("inf"))
            for one in facts.gate.reservoirs
        )
        return replace(facts, gate=replace(facts.gate, reservoirs=held))


def waiting(tmp_path: Path, round_1: str, slowest_s: float = 40.0) -> Desk:
    """At the beginning of the wait, each reservoir read as `round_1`."""
    forecaster = OneBleeder()
    forecaster.slowest_s = slowest_s
    desk = Desk(BUILDS / "pp-6v6.toml", tmp_path, forecaster=forecaster)
    desk.till(lambda view: view.stage == "HT off load" and view.danger.word == "LIVE")
    desk.session.stop()
    while (view := desk.session.view()).prompt.title != "Wait":
        desk.compute()
        if view.prompt.title.startswith("Round 1"):
            desk.wait(5.0)
            desk.type(round_1)
        else:
            desk.once(desk.session.view())
    return desk


def test_the_fall_by_the_bleeder_is_shown_from_the_reading_of_round_1(tmp_path: Path) -> None:
    desk = waiting(tmp_path, "8.2")
    course = desk.session.view().prompt.course
    assert course is not None and course.values[0] == pytest.approx(8.2) and course.times_s[-1] == 60.0
    tau_s = 40.0 / log(400.0 / 10.0)  # the law of discharge through a resistor, from memory
    assert course.values[10] == pytest.approx(8.2 * exp(-course.times_s[10] / tau_s))
    later = desk.wait(20.0).prompt.course
    assert later is not None and later.now_s == pytest.approx(course.now_s + 20.0)


@pytest.mark.parametrize(("round_1", "slowest_s"), [("0.02", 40.0), ("8.2", float("inf"))])
def test_no_fall_is_shown_where_a_meter_would_show_none(tmp_path: Path, round_1: str, slowest_s: float) -> None:
    assert waiting(tmp_path, round_1, slowest_s).session.view().prompt.course is None


def test_a_reading_in_the_wait_is_noted_and_neither_ends_nor_counts(tmp_path: Path) -> None:
    desk = waiting(tmp_path, "8.2")
    desk.wait(20.0)
    left_s, saved = desk.session.view().prompt.wait_s, desk.session.view().saved
    view = desk.type("4.0")
    assert view.prompt.title == "Wait" and view.prompt.wait_s == left_s and view.saved == saved + 1
    assert view.banner is not None and "4.00 V, noted" in view.banner.text
    assert isinstance(desk.session._ledger.notebook.round_1["C1"], float)
    course = view.prompt.course
    assert course is not None and course.values[0] == pytest.approx(8.2), "the curve stays that of round 1"
    while desk.session.view().prompt.title == "Wait":
        desk.wait(5.0)
    assert desk.session.view().prompt.title.startswith("Round 2")


def test_a_charge_that_creeps_back_is_said(tmp_path: Path) -> None:
    desk = waiting(tmp_path, "2.0")
    desk.wait(20.0)
    view = desk.type("-3.5")
    assert view.banner is not None and "it rises" in view.banner.text and "bleeder" in view.banner.more[0]


def test_over_the_threshold_in_the_wait_both_rounds_start_over(tmp_path: Path) -> None:
    desk = waiting(tmp_path, "8.2")
    desk.wait(20.0)
    view = desk.type("12")
    assert view.banner is not None and view.banner.kind == "stop" and view.prompt.title.startswith("Bleed")
    assert not desk.session._ledger.state.gate.first
    assert desk.session._journal.events[-1].kind == "reservoir high"


def test_a_number_typed_as_the_wait_ends_is_no_second_round(tmp_path: Path) -> None:
    desk = waiting(tmp_path, "0.3")
    number = desk.session.view().prompt.number
    while desk.session.view().prompt.title == "Wait":
        desk.wait(5.0)
    desk.session.answer(number, "0.3")
    assert desk.session._journal.events[-1].kind == "refused"
    assert not desk.session._ledger.state.gate.second
