"""A finished amplifier that stopped working, at the bench: what is asked, understood, read again and kept."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from benchtui.buildfile.load import load
from benchtui.diagnosis.symptoms import symptoms
from benchtui.procedure import events as e
from benchtui.procedure.state import Mode
from benchtui.session.planning import plan
from benchtui.session.repairs import choices, everything, named, retested, told
from benchtui.session.suspects import Evidence
from benchtui.session.tables import table
from benchtui.session.view import View
from tests.session.made_up import BUILDS, Desk

BUILD = load(BUILDS / "pp-6v6.toml").build
STEREO = load(BUILDS / "se-stereo.toml").build


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the record of a finished build."""
    desk = Desk(BUILDS / "pp-6v6.toml", tmp_path_factory.mktemp("finished"))
    desk.till(lambda view: False)
    desk.drop()
    return desk.folder


@pytest.fixture
def finished(kept: Path, tmp_path: Path) -> Iterator[Desk]:
    shutil.copytree(kept, tmp_path, dirs_exist_ok=True)
    made = Desk(BUILDS / "pp-6v6.toml", tmp_path)
    yield made
    made.drop()


def types(desk: Desk, *texts: str) -> View:
    for text in texts:
        desk.compute()
        desk.type(text)
    desk.compute()
    return desk.session.view()


def log(desk: Desk, most: int = 12) -> list[str]:
    return [line.text for line in desk.session.log(most)]


STORY = ("F1, f2", "black", "burnt at V2", "a new loudspeaker", "2, hum")


def test_a_finished_build_asks_whether_it_has_stopped_working(finished: Desk) -> None:
    view = finished.session.view()
    assert view.prompt.title == "Finished" and view.prompt.words == ("stopped", "checkup")
    assert view.danger.word == "ASSUME LIVE"
    view = types(finished, "stopped")
    assert view.prompt.title == "Pull the plug" and view.stage == "Signal, repair 1"
    assert view.banner is not None and "Never a larger fuse" in view.banner.text


def test_what_happened_is_asked_with_the_plug_out_one_question_at_a_time_and_kept(finished: Desk) -> None:
    view = types(finished, "stopped", "out")
    assert view.prompt.title == "Which fuse blew?" and "F1, mains fuse, in the inlet" in view.prompt.lines[1]
    assert types(finished, *STORY).prompt.title == "Prove the meter on DC"
    assert log(finished, 5) == [
        "fuse blown: F1, f2", "how it looks: black", "smell, smoke, heat: burnt at V2",
        "just before: a new loudspeaker", "what it does: 2, hum",
    ]  # fmt: skip


def test_each_question_may_be_skipped_and_without_a_blown_fuse_nobody_asks_how_it_looks(finished: Desk) -> None:
    view = types(finished, "stopped", "out", "none")
    assert view.prompt.title == "Smell, smoke, heat?"
    assert types(finished, "skip", "skip", "skip").prompt.title == "Prove the meter on DC"
    assert log(finished, 1) == ["what it does: skipped"]


@pytest.mark.parametrize("text", ["F9", "F1 F9", "both", "yes"])
def test_a_fuse_that_is_none_is_asked_again(finished: Desk, text: str) -> None:
    view = types(finished, "stopped", "out", text)
    assert view.prompt.title == "Which fuse blew?" and view.banner is not None
    assert view.banner.text.startswith("Type the name of a fuse")


def test_a_restart_in_the_middle_keeps_what_was_told(finished: Desk) -> None:
    types(finished, "stopped", "out", *STORY[:3])
    finished.drop()
    finished.open()
    assert types(finished, "out").prompt.title == "What happened just before?"
    assert finished.session.view().stage == "Signal, repair 1"


def test_what_was_told_is_evidence_before_anything_is_read(finished: Desk) -> None:
    types(finished, "stopped", "out", *STORY)
    asked = [what[1] for what in finished.forecaster.asked if what[0] == "suspects"]
    found = asked[-1]
    assert isinstance(found, Evidence) and found.repair and found.stage == "signal"
    assert (found.blown, found.symptoms) == (("F1", "F2"), ("fuse-black", "hum"))
    assert finished.session.view().suspects.likely


def test_fuses_that_nobody_has_looked_at_are_no_evidence(finished: Desk) -> None:
    types(finished, "stopped", "out", "skip", "skip", "skip", "4")
    asked = [what[1] for what in finished.forecaster.asked if what[0] == "suspects"]
    assert asked[-1].blown is None and asked[-1].symptoms == ("crackles",)  # type: ignore[attr-defined]


def checked(desk: Desk) -> View:
    """As far as the question about the cause."""
    types(desk, "stopped", "out", "none", "skip", "skip", "skip")
    return desk.reach("What was it?")


def test_with_hands_in_it_is_looked_over_and_read_in_ohms_at_every_point_that_is_left(finished: Desk) -> None:
    titles = []
    types(finished, "stopped", "out", "none", "skip", "skip", "skip")
    for view in finished.go(lambda view: view.prompt.title == "What was it?"):
        titles += [view.prompt.title] if view.danger.word == "DEAD AS MEASURED" else []
    assert titles.count("Earth pin to chassis") == 1 and titles[0].startswith("Step 1")
    assert {"Primary, through fuse and switch", "Choke", "Grid of V2 to chassis", "HT winding, first half"} <= {*titles}


def test_a_part_that_is_named_asks_for_what_it_can_move_and_leaves_the_others(finished: Desk) -> None:
    checked(finished)
    view = types(finished, "c6 leaked, replaced")
    assert view.prompt.title == "What is read again"
    assert view.prompt.lines[0] == "Replaced: C6. 11 of 48 readings are made again; the others can't be moved by C6."
    view = types(finished, "listed")
    assert view.banner is not None and "11 of 48" in view.banner.text
    read = []
    for view in finished.go():
        here = view.step == "read" and view.prompt.entry == "number" and view.stage == "Signal, repair 1"
        read += [view.prompt.title] if here else []
        if view.prompt.title == "The end":
            assert "Repair 1: c6 leaked, replaced; 11 of 48 readings made again." in view.prompt.lines
    assert read[:3] == ["Heater leg a to chassis", "HT", "Cathode of V2"]
    assert read[3:] and all(title.startswith(("Load volts", "AC at", "Input volts")) for title in read[3:])  # signals
    assert finished.session.view().prompt.title == "Finished"
    assert types(finished, "stopped").stage == "Signal, repair 2"


def test_more_than_the_list_may_be_read_and_all_where_no_part_is_named(finished: Desk) -> None:
    checked(finished)
    view = types(finished, "a solder whisker")
    assert view.banner is not None and view.banner.text.startswith("No part of the build is named")
    assert view.prompt.title.startswith("Step ")  # all checks without power once more: they came before the mending
    assert finished.reach("Hands out").prompt.title == "Hands out"
    assert not finished.session._ledger.state.spared


def test_all_is_read_where_the_list_could_not_be_computed(finished: Desk) -> None:
    finished.forecaster.fails.add("retest")
    checked(finished)
    view = types(finished, "C6")
    assert view.prompt.words == ("all",) and "could not be computed" in view.prompt.lines[0]
    assert types(finished, "listed").prompt.title == "What is read again"
    types(finished, "all")
    assert not finished.session._ledger.state.spared


def test_a_cause_that_is_not_found_lets_power_in_through_a_limiter_alone(finished: Desk) -> None:
    checked(finished)
    view = types(finished, "not found yet")
    assert view.banner is not None and "limiter only" in view.banner.text
    assert finished.reach("First power").prompt.title == "First power"
    view = types(finished, "without: it is known good")
    assert view.banner is not None and view.banner.kind == "refused" and "limiter only" in view.banner.text
    view = types(finished, "40 W lamp")
    assert finished.session._ledger.state.mode is Mode.POWERED
    finished.till(lambda view: view.step == "read")
    types(finished, "off")
    assert finished.reach("What was it?").stage == "Signal, repair 1"
    assert "the cause is not found yet: power through a limiter only" in log(finished, 200)


# --- what a line means ---


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("C6 leaked", ("C6",)), ("c6, and r13.", ("R13", "C6")), ("V1a was dead", ("V1",)), ("W_HT1 open", ("T1",)),
        ("T1", ("T1",)), ("the load was off", ()), ("LOAD", ("LOAD",)), ("a dry joint", ()), ("C66", ()),
    ],
)  # fmt: skip
def test_parts_are_named_by_their_references(text: str, parts: tuple[str, ...]) -> None:
    assert set(named(BUILD, text)) == set(parts)


@pytest.mark.parametrize(
    ("text", "ids"),
    [
        ("2", ("hum",)), ("1, 3", ("no-sound", "weak")), ("hum and crackles", ("hum", "crackles")),
        ("7 2", ("fuse-again", "hum")),
        ("9", None), ("it is broken", None), ("h", None), ("", None), ("skip", ()),
    ],
)  # fmt: skip
def test_symptoms_are_chosen_by_number_or_by_how_they_begin(text: str, ids: tuple[str, ...] | None) -> None:
    found = told(BUILD, "symptoms", text)
    assert (found.ids if found else None) == ids


def test_only_a_stereo_build_is_asked_about_a_channel() -> None:
    assert "one-channel" in choices(STEREO, "symptoms") and "one-channel" not in choices(BUILD, "symptoms")


def test_what_may_be_answered_is_what_the_diagnosis_knows() -> None:
    asked = {id: question for question in ("look", "symptoms") for id in table("repair")[question]}
    assert asked == {each.id: each.asked for each in symptoms().values()}


def test_grid_bias_the_limiter_s_points_and_ht_are_never_left_out() -> None:
    fixed = plan(load(BUILDS / "pp-el34.toml").build, {})
    every = tuple(point.id for point in fixed.whole.power.points)  # type: ignore[union-attr]
    left_out = set(retested(fixed, ("R43",), (), every).spared)
    assert left_out and not left_out & {"v3_grid", "v4_grid", "v3_cathode", "v4_cathode", "ht", "bias_rail"}
    assert everything(fixed, ("R43",)).spared == ()


def test_a_long_answer_is_cut() -> None:
    assert isinstance(told(BUILD, "smell", "x" * 900), e.Told)
    assert len(told(BUILD, "smell", "x" * 900).text) <= 400  # type: ignore[union-attr]
