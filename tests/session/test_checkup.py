"""A finished amplifier that works, back at the bench: what is read in it, beside what it was, and what it comes to."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest

from benchtui.buildfile.models import Build
from benchtui.procedure.state import Mode
from benchtui.session.session import Session
from benchtui.session.view import Banner, View
from benchtui.verdicts.expectation import Expectation
from tests.session.made_up import BUILDS, Desk, MadeUp

PATH = BUILDS / "pp-6v6.toml"


class Wide(MadeUp):
    """The same with wide windows, as valves have."""

    def _of_file(self, build: Build, stage: str) -> dict[str, Expectation]:
        return {id: replace(each, low=40.0, high=149.0) for id, each in super()._of_file(build, stage).items()}


@dataclass
class Aged(Desk):
    """A desk at which some points read something else, by the titles of their prompts."""

    reads: dict[str, str] = field(default_factory=dict)
    told: list[tuple[str, Banner]] = field(default_factory=list)

    def _answer(self, view: View) -> str:
        return self.reads.get(view.prompt.title) or super()._answer(view)

    def once(self, view: View) -> View:
        after = super().once(view)
        if after.banner is not None:
            self.told.append((view.prompt.title, after.banner))
        return after

    def checked(self, **reads: str) -> View:
        """A whole check-up, in which points read so: `Cathode_of_V2="75"`."""
        self.reads, self.told = {title.replace("_", " "): text for title, text in reads.items()}, []
        self.compute()
        self.type("checkup")
        return self.till(lambda view: False)

    def banner(self, title: str) -> Banner:
        """What was said last after that prompt."""
        return [banner for told, banner in self.told if told == title][-1]


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the record of a finished build."""
    desk = Desk(PATH, tmp_path_factory.mktemp("finished"), forecaster=Wide())
    desk.till(lambda view: False)
    desk.drop()
    return desk.folder


@pytest.fixture
def desk(kept: Path, tmp_path: Path) -> Iterator[Aged]:
    shutil.copytree(kept, tmp_path, dirs_exist_ok=True)
    made = Aged(PATH, tmp_path, forecaster=Wide())
    made.clock.pass_(400 * 86400.0)
    made.drop()
    made.open()
    yield made
    made.drop()


def again(desk: Aged) -> Session:
    """The program is killed and started again."""
    desk.drop()
    desk.open()
    desk.compute()
    return desk.session


def test_a_finished_build_says_that_it_can_be_read_again_and_begins_at_the_gate(desk: Aged) -> None:
    view = desk.session.view()
    assert view.prompt.words == ("stopped", "checkup") and "'checkup': it works" in view.prompt.lines[-1]
    assert view.banner is not None and any("Type 'checkup'" in line for line in view.banner.more)
    desk.compute()
    view = desk.type("Check-up")
    assert (view.danger.word, view.prompt.title, view.stage) == ("ASSUME LIVE", "Pull the plug", "Signal, check-up 1")
    assert view.banner is not None and view.banner.text.startswith("Plug out first")


@pytest.mark.parametrize("text", ["check", "yes", "finished", "power on"])
def test_another_word_begins_nothing(desk: Aged, text: str) -> None:
    view = desk.type(text)
    assert view.prompt.title == "Finished" and view.banner is not None
    assert view.banner.text == "Type 'stopped' or 'checkup', as it is."


def test_a_finished_amplifier_that_comes_back_by_stop_is_looked_over_too(desk: Aged) -> None:
    view = desk.session.stop()
    assert view.power_off and view.prompt.title == "Pull the plug"
    assert desk.session._ledger.state.unwatched
    desk.till(lambda view: view.prompt.title == "Hands out" or view.prompt.title.startswith("Step "))
    assert "nothing loose, bent, wet" in " ".join(desk.session.view().prompt.lines)


def test_a_finished_amplifier_that_comes_back_by_another_build_file_is_looked_over_too(
    kept: Path, tmp_path: Path
) -> None:
    shutil.copytree(kept, tmp_path, dirs_exist_ok=True)
    (tmp_path / PATH.name).write_text(PATH.read_text("utf-8") + "# a remark\n", "utf-8")
    desk = Aged(tmp_path / PATH.name, tmp_path, forecaster=Wide())
    assert desk.type("keep").prompt.title == "Pull the plug"
    assert desk.session._ledger.state.unwatched
    desk.drop()


def test_what_was_finished_a_moment_ago_is_not_looked_over_again(kept: Path, tmp_path: Path) -> None:
    shutil.copytree(kept, tmp_path, dirs_exist_ok=True)
    desk = Aged(PATH, tmp_path, forecaster=Wide())
    desk.session._ledger.notebook.reopened = False
    desk.session.stop()
    assert not desk.session._ledger.state.unwatched
    desk.drop()


def test_two_check_ups_tell_what_has_moved_what_means_something_and_what_wears_slowly(desk: Aged) -> None:
    view = desk.checked(Cathode_of_V2="92", Anode_of_V2="112", HT="102")
    assert {banner.kind for _, banner in desk.told} <= {"pass", "not measured", "info"}, "no move of these is an alarm"
    assert desk.banner("HT").more[0].endswith("100.0 V; as before.")
    assert desk.banner("Cathode of V2").more[0].endswith("100.0 V; 8 % down.")
    assert "Moved: Cathode of V2 8 % down; Anode of V2 12 % up." in " ".join(view.prompt.lines)
    assert "HT: 102.0 V, pass; 100.0 V on" in desk.session.explain("signal")[0]

    view = desk.checked(Cathode_of_V2="85", Cathode_of_V3="75", Anode_of_V2="112")
    worn, slow = desk.banner("Cathode of V3"), desk.banner("Cathode of V2")
    assert worn.kind == slow.kind == "warn" and "100.0 V; 25 % down." in worn.more[0] and "valve wears" in worn.more[1]
    assert "inside its window, but 25 % down" in worn.text
    assert "92.00 V; 15 % down since the first, 2023-11-14: 100.0 V." in slow.more[0]
    assert desk.banner("Anode of V2").kind == "pass" and desk.banner("Anode of V2").more[0].endswith("as before.")
    said = " ".join(view.prompt.lines)
    assert view.prompt.title == "Finished", "what passes its window holds nothing up"
    assert "Check-up 2: " in said and "something: Cathode of V2 15 % down; Cathode of V3 25 % down." in said
    live = desk.session._ledger.notebook.signed
    reopened = again(desk)
    assert reopened._ledger.notebook.signed == live and " ".join(reopened.view().prompt.lines) == said


def test_what_an_interrupted_check_up_read_is_no_sign_off(desk: Aged) -> None:
    desk.type("checkup")
    desk.reads = {"Cathode of V2": "75"}
    desk.till(lambda view: view.prompt.title == "Cathode of V3")
    session = again(desk)
    assert session.view().stage == "Signal, check-up 1" and session._ledger.state.mode is Mode.OFF_GATE
    desk.reads, desk.told = {"Cathode of V2": "76"}, []
    desk.till(lambda view: view.prompt.title == "Cathode of V3")
    assert "100.0 V; 24 % down." in desk.banner("Cathode of V2").more[0]


def test_what_is_from_before_says_so_until_it_is_read_again(desk: Aged) -> None:
    desk.type("checkup")
    desk.till(lambda view: view.prompt.title == "Cathode of V3")
    listed = {line.partition(":")[0]: line for line in desk.session.explain("signal")}
    assert listed["Cathode of V2"].endswith("as before") and listed["AC across the load"].endswith(
        "(not read again yet)"
    )


def test_the_why_key_tells_what_it_read_and_on_which_mains(desk: Aged) -> None:
    desk.type("checkup")
    view = desk.till(lambda view: view.prompt.title == "Cathode of V2")
    assert "it read 100.0 V on a mains of 230 V." in view.why[-1]


def test_nothing_narrows_its_windows_and_no_signal_is_held_against_one_from_before(desk: Aged) -> None:
    desk.type("checkup")
    desk.till(lambda view: view.prompt.title == "Load volts, feedback closed")
    asked = [what for what in desk.forecaster.asked if what[0] == "stage"]
    assert asked and all(what[3] == () for what in asked)
    assert "signal open" not in desk.session._ledger.notebook.values


def test_a_repair_tells_it_beside_its_readings_as_well(desk: Aged) -> None:
    desk.type("stopped")
    desk.reads = {"Cathode of V2": "75"}
    desk.till(lambda view: view.prompt.title == "Cathode of V3")
    assert "25 % down" in desk.banner("Cathode of V2").text
