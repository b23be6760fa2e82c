"""A soak at the bench, from its last screw to the end unopened, with made-up forecasts: every point should read 100."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from benchtui.procedure import codec
from benchtui.procedure import events as e
from benchtui.procedure.plan import WINDING
from benchtui.procedure.state import State
from benchtui.record import Journal
from benchtui.session.view import View
from tests.session.made_up import BUILDS, Desk

NAME = "pp-el34"


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a build that soaks for 40 min, and its record up to the sign-off."""
    folder = tmp_path_factory.mktemp("closed")
    text = (BUILDS / f"{NAME}.toml").read_text("utf-8")
    (folder / f"{NAME}.toml").write_text(text.replace('soak = "2 h"', 'soak = "40 min"'), "utf-8")
    desk = Desk(folder / f"{NAME}.toml", folder)
    desk.reach("What the fuse says")
    desk.drop()
    return desk.folder


@pytest.fixture
def desk(closed: Path, tmp_path: Path) -> Iterator[Desk]:
    """The same the day after, so that it is as cold as the room."""
    shutil.copytree(closed, tmp_path, dirs_exist_ok=True)
    made = Desk(tmp_path / f"{NAME}.toml", tmp_path)
    made.drop()
    made.clock.pass_(86400.0)
    made.open()
    yield made
    made.drop()


def state(desk: Desk) -> State:
    return desk.session._ledger.state


def soaking(desk: Desk) -> View:
    """Under way, with the mark at ten minutes over."""
    view = desk.till(lambda view: view.prompt.title.startswith("Soak") and state(desk).soak.round == 2)
    assert view.danger.word == "LIVE" and view.prompt.probes.red == "test jack of V3"
    return view


def cooling(desk: Desk) -> View:
    """The soak is over, the plug out, and the mains side read dead."""
    return desk.reach("The mains winding as it cools")


def test_wrong_caps_are_not_taken_and_the_right_one_is(desk: Desk) -> None:
    desk.reach("What the fuse says")
    for wrong, why in (
        ("T 1.6 A 125 V", "fewer volts"), ("F1.6AL250V", "another speed"), ("T3.15A 250V", "more amperes"),
        ("ok", "as they are printed"), ("T 1.6 A", "as they are printed"),
    ):  # fmt: skip
        view = desk.type(wrong)
        assert view.prompt.place == "7 of 8" and view.banner is not None and why in view.banner.text
    assert desk.type("T1.6AL250V").prompt.place == "8 of 8"


def test_the_cover_is_screwed_on_before_anything_is_read_from_outside(desk: Desk) -> None:
    desk.reach("Cover on, last screw")
    for word in ("cover on", "one hand"):
        banner = desk.type(word).banner
        assert banner is not None and banner.text == "Type 'last screw', as it is."
    view = desk.till(lambda view: view.prompt.title == "Primary, through fuse and switch")
    assert [item.text for item in view.prompt.items if "screw" in item.text] == ["every screw in"]
    assert "Mains lead out of the inlet; nothing is opened." in " ".join(view.prompt.lines)
    assert desk.type("last screw").prompt.title == "Primary, through fuse and switch"


def test_a_bond_that_reads_too_much_lets_no_power_in_and_no_reason_helps(desk: Desk) -> None:
    desk.reach("Earth pin to metal of P1, the potentiometer")
    for text, verdict in (("180", "stop"), ("115", "warn")):
        banner = desk.type(text).banner
        assert banner is not None and banner.kind == verdict
        assert desk.type("paint").prompt.title == "Earth pin to metal of P1, the potentiometer"
    assert desk.session.stop().danger.word == "ASSUME LIVE"


def test_a_reading_that_has_moved_warns_and_one_that_runs_away_stops(desk: Desk) -> None:
    soaking(desk)
    desk.reach("Cathode of V3")
    view = desk.type("106")
    assert view.banner is not None and view.banner.kind == "warn"
    assert any("After 10 min it read 100 V" in line for line in view.why)
    assert desk.type("a cold room").prompt.title == "Cathode of V4"
    assert desk.type("104.9").prompt.title == "AC across the load"
    view = desk.till(lambda view: view.prompt.title.startswith("Soak"))
    assert "Cathode of V3: +6.0 % since it was warm" in " ".join(view.prompt.lines)
    desk.wait(65)
    assert desk.type("109").banner.kind == "info", "inside its window whatever it does"
    desk.wait(65)
    view = desk.type("119")
    assert "runs away" in " ".join(view.power_off)
    assert view.danger.word == "ASSUME LIVE" and state(desk).alarm == "stop" and state(desk).full_s == 0.0


def test_at_a_mark_mains_is_read_first_and_between_two_nothing_counts(desk: Desk) -> None:
    view = soaking(desk)
    assert view.prompt.wait_s is not None and 1190.0 <= view.prompt.wait_s <= 1200.0
    assert desk.type("101").banner.kind == "info" and state(desk).read == frozenset()
    view = desk.till(lambda view: not view.prompt.title.startswith("Soak"))
    assert view.prompt.title == "Mains now" and state(desk).full_s >= 1800.0
    desk.wait(300)
    assert desk.type("230").prompt.title == "Cathode of V3", "late is no harm"
    assert [desk.type(text).prompt.title for text in ("100", "100", "100")][-1].startswith("Soak")


def test_stop_leads_to_the_gate_and_the_soak_begins_anew_with_its_cold_winding(desk: Desk) -> None:
    soaking(desk)
    assert desk.session.stop().power_off and state(desk).soak.round == 0
    view = desk.reach("Hands in")
    assert view.danger.word == "ASSUME LIVE"
    assert state(desk).winding.cold_ohm == 100.0
    seen = [view.prompt.title for view in desk.go(lambda view: view.prompt.title.startswith("Soak"))]
    assert {"Cover on, last screw", "Earth pin to shell of J1, its outer contact", "First power"} <= set(seen)
    assert "How warm is the room?" not in seen and state(desk).soak.round == 1


@pytest.mark.parametrize("cut", ["kill", "typed off"])
def test_a_power_cut_begins_the_soak_anew(desk: Desk, cut: str) -> None:
    soaking(desk)
    if cut == "kill":
        desk.drop()
        view = desk.open()
    else:
        view = desk.type("off")
    assert view.danger.word == "ASSUME LIVE" and view.step == "gate"
    assert (state(desk).soak.round, state(desk).full_s, state(desk).last_complete) == (0, 0.0, False)


def test_the_end_unopened_counts_as_charged_and_says_what_is_open(desk: Desk) -> None:
    view = cooling(desk)
    assert desk.type("114").prompt.wait_s and state(desk).winding.hot[0][0] < 60.0
    assert "too soon" in desk.type("114").banner.text
    view = desk.reach("The winding's temperature")
    assert "skip" in view.prompt.lines[-1] and "degC at switch-off" in " ".join(view.prompt.lines)
    view = desk.type("noted")
    assert view.banner.kind == "pass" and "Pots as left: P2 " in " ".join(view.prompt.lines)
    view = desk.till(lambda view: False)
    assert view.danger.word == "ASSUME LIVE" and "inside it counts as charged" in view.danger.detail
    assert "0 accepted warns" in " ".join(view.prompt.lines)
    desk.drop()
    assert desk.open().danger.word == "ASSUME LIVE"


def test_killed_while_it_cools_nobody_knows_for_how_long_and_the_soak_is_over_all_the_same(desk: Desk) -> None:
    cooling(desk)
    desk.type("114")
    desk.drop()
    desk.open()
    view = desk.reach("The winding is not measured")
    assert view.prompt.words == ("not measured",)
    assert desk.type("not measured").prompt.title == "The end"
    assert desk.type("finished").prompt.title == "Finished" and WINDING in state(desk).unproved


def test_readings_that_do_not_rise_tell_no_temperature(desk: Desk) -> None:
    cooling(desk)
    for view in desk.go(lambda view: view.prompt.title == "The winding's temperature"):
        if view.prompt.title == "The mains winding as it cools" and not view.prompt.wait_s:
            desk.session.answer(view.prompt.number, "100")
    assert desk.type("noted").prompt.title == "The end" and WINDING in state(desk).unproved


def test_a_winding_too_hot_is_no_end_and_cannot_be_skipped(desk: Desk) -> None:
    cooling(desk)
    for _ in range(4):
        desk.type("150")
        desk.wait(35)
    view = desk.session.view()
    assert view.prompt.title == "The winding's temperature"
    assert desk.type("skip: nonsense").prompt.title == "The winding's temperature"
    view = desk.type("noted")
    assert view.banner is not None and view.banner.kind == "stop" and not state(desk).last_complete


def test_the_winding_is_left_with_a_reason_alone(desk: Desk) -> None:
    desk.reach("How warm is the room?")
    for text in ("skip", "skip:", "warm", "55"):
        assert desk.type(text).prompt.title == "How warm is the room?"
    assert desk.type("skip: it had power an hour ago").prompt.title == "Mains now"
    assert isinstance(decoded(desk)[-1], e.WindingLeft) and WINDING in state(desk).unproved


def decoded(desk: Desk) -> list[e.Event]:
    with Journal.open(desk.record, write=False) as journal:
        return [codec.decode(saved.kind, saved.data) for saved in journal.events if saved.kind in codec.KINDS]
