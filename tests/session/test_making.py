"""The wires of a stage at the desk: asked in their order, told one by one or several, taken back, and kept."""

from __future__ import annotations

from pathlib import Path

from benchtui.procedure.state import Mode
from benchtui.session.holelist import hole_list
from benchtui.session.view import View
from benchtui.session.wirelist import wire_list
from tests.session.made_up import BUILDS, Desk


def wire_asked(view: View) -> bool:
    return view.prompt.title.startswith("Wire: ")


def own_copy(folder: Path) -> tuple[Desk, Path, str]:
    """A desk on a copy of the build file that may be changed, the copy, and its text."""
    path, text = folder / "own.toml", (BUILDS / "pp-6v6.toml").read_text("utf-8")
    path.write_text(text, "utf-8")
    return Desk(path, folder), path, text


def at_first(desk: Desk) -> View:
    return desk.till(wire_asked)


def states(view: View) -> list[str]:
    return [item.state for item in view.prompt.items]


def test_the_wires_of_a_stage_are_asked_in_their_order_with_both_ends(desk: Desk) -> None:
    view = at_first(desk)
    assert view.stage == "Cold checks" and view.step == "wire" and view.prompt.place == "1 of 10"
    assert view.prompt.title == "Wire: protective earth"
    assert view.prompt.lines[0] == "Mains inlet earth to earth bolt."
    assert "green-and-yellow" in view.prompt.lines[1] and view.prompt.words == ("on",)
    view = desk.type("on")
    assert view.prompt.place == "2 of 10" and states(view)[:3] == ["done", "now", "open"]


def test_several_are_told_at_once_and_a_slip_of_the_keys_tells_none(desk: Desk) -> None:
    at_first(desk)
    for typed in ("on 11", "on 0", "on 3-", "on all", "on 5-2", "on 5-2 7", "done", "soldered"):
        view = desk.type(typed)
        assert view.banner is not None and view.banner.kind == "question" and view.prompt.place == "1 of 10"
    view = desk.type("on 1, 3-4")
    assert states(view) == ["done", "now", "done", "done", *["open"] * 6]
    assert desk.type("on 1-10").prompt.title.startswith("Step ")


def test_a_wire_that_is_loose_again_is_asked_again(desk: Desk) -> None:
    at_first(desk)
    desk.type("on 1-5")
    view = desk.type("loose 2")
    assert view.prompt.place == "2 of 10"
    assert any("told to be loose" in line for line in view.loose)
    assert "5 of 10 wires of this stage are not on yet" in view.loose
    assert desk.type("loose 5-3 1").banner.kind == "question"  # type: ignore[union-attr]
    assert desk.type("loose 9").banner.kind == "refused"  # type: ignore[union-attr]
    assert desk.type("loose nowhere 1").banner.kind in ("question", "refused")  # type: ignore[union-attr]


def test_a_wire_of_an_earlier_stage_that_is_loose_comes_before_all_else(desk: Desk) -> None:
    desk.till(lambda view: wire_asked(view) and view.stage == "Heaters")
    view = desk.type("loose cold 4")
    assert "Look the chassis over" in " ".join(view.prompt.lines)
    assert "F1 second tag" in view.tag
    assert any("4. F1 second tag" in line and line.endswith("NOT ON") for line in desk.session.explain("cold"))
    view = desk.till(wire_asked)
    assert view.prompt.place == "4 of 10" and "F1 second tag" in view.prompt.lines[0]
    view = desk.type("on")
    assert not any("told to be loose" in line for line in view.loose)


def test_what_is_on_is_known_after_a_kill_and_after_stop(desk: Desk) -> None:
    at_first(desk)
    desk.type("on 1-6")
    desk.drop()
    desk.open()
    assert desk.till(wire_asked).prompt.place == "7 of 10"
    desk.session.stop()
    assert desk.till(wire_asked).prompt.place == "7 of 10"


def test_a_wire_that_the_changed_file_no_longer_has_comes_off(tmp_path: Path) -> None:
    own, path, text = own_copy(tmp_path)
    own.till(wire_asked)
    own.type("on 1-3")
    own.drop()
    path.write_text(text.replace('nodes = ["mains_l", "mains_n"]', 'nodes = ["mains_l2", "mains_n"]').replace(
        'F1 = { nodes = ["mains_l", "l_fused"]', 'F1 = { nodes = ["l_fused", "mains_l2"]'
    ).replace('red = "mains_l"', 'red = "mains_l2"'), "utf-8")  # fmt: skip
    own.open()
    own.type("again")
    view = own.till(lambda view: view.prompt.title == "Take off a wire")
    assert "mains.live to F1.1" in view.prompt.lines[0]
    assert own.type("on").banner.kind == "question"  # type: ignore[union-attr]
    view = own.type("off")
    assert view.prompt.title != "Take off a wire" and own.session._ledger.state.mode is Mode.HANDS
    own.drop()


def test_of_several_that_are_told_to_be_loose_those_that_are_on_count(desk: Desk) -> None:
    at_first(desk)
    desk.type("on 1-3")
    assert desk.type("loose 2-5").prompt.place == "2 of 10"


def test_a_stage_is_named_in_any_case_also_where_its_name_begins_with_a_digit(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    text = (BUILDS / "pp-6v6.toml").read_text("utf-8")
    head = '[stage.2ndLook]\ntitle = "Once more"\nkind = "cold"\nafter = "cold"\nsteps = ["Look once more"]\n\n'
    text = text.replace("[stage.cold]", f"{head}[stage.cold]", 1).replace(
        'SPK0 = { nodes = ["spk_cold", "0"], stage = "output"', 'SPK0 = { nodes = ["spk_cold", "0"], stage = "2ndLook"'
    )  # fmt: skip
    path.write_text(text, "utf-8")
    own = Desk(path, tmp_path)
    own.till(lambda view: wire_asked(view) and view.stage == "Heaters")
    view = own.type("loose 2ndlook 1")
    assert any("told to be loose" in line for line in view.loose)
    own.drop()


def test_other_words_for_a_winding_leave_its_leads_where_they_are(tmp_path: Path) -> None:
    own, path, text = own_copy(tmp_path)
    own.till(lambda view: wire_asked(view) and view.stage == "Heaters")
    own.drop()
    path.write_text(text.replace('role = "HT, inner half"', 'role = "HT, start half"'), "utf-8")
    own.open()
    own.type("keep")
    view = own.till(wire_asked)
    assert view.stage == "Heaters" and view.prompt.place == "1 of 10"
    assert any("HT, start half" in line and line.endswith(": on") for line in own.session.explain("cold"))
    own.drop()


def test_its_gauge_is_shown_once_it_is_computed(desk: Desk) -> None:
    view = at_first(desk)
    assert "being computed" in view.prompt.lines[1]
    desk.session._forecasts._found["wires",] = wire_list(desk.session._build)
    line = desk.session.view().prompt.lines[1]
    assert "AWG 18 or 0.75 mm2" in line and "600 V" in line


def test_every_wire_is_asked_in_the_stage_that_lists_it(desk: Desk) -> None:
    seen: list[tuple[str, str]] = []
    for view in desk.go():
        if wire_asked(view) and view.prompt.place.startswith("1 of "):
            seen += [(view.stage, item.text[4:]) for item in view.prompt.items]
    assert {text for _, text in seen} == {f"{w.start} to {w.finish}" for w in wire_list(desk.session._build)}


def hole_asked(view: View) -> bool:
    return view.prompt.title.startswith("Hole: ")


def test_before_the_first_hole_comes_what_holds_at_every_panel(desk: Desk) -> None:
    view = desk.till(lambda view: "Goggles on" in " ".join(view.prompt.lines))
    assert view.stage == "Metalwork" and view.prompt.words == ("ready",)
    assert hole_asked(desk.type("ready"))


def test_holes_are_asked_in_the_order_of_the_schedule_with_the_panel_drawn(desk: Desk) -> None:
    view = desk.till(hole_asked)
    steps = [work for work in hole_list(desk.session._build) if work.id]
    assert view.prompt.place == f"1 of {len(steps)}" and view.prompt.title == "Hole: mark"
    assert view.prompt.panel is not None and view.danger.word == "BARE"
    rows = ["".join(text for text, _ in row) for row in view.prompt.panel.lines(76, 14, plain=True)]
    assert len(rows) <= 14 and steps[0].step.hole in "".join(rows) and "@" in "".join(rows[:-1])
    first = desk.type("done").prompt
    assert first.place.startswith("2 of ") and first.panel != view.prompt.panel


def test_all_with_one_tool_are_told_at_once_and_the_next_tool_is_asked(desk: Desk) -> None:
    desk.till(hole_asked)
    marks = sum(work.tool == ("top", "mark", None) for work in hole_list(desk.session._build) if work.id)
    desk.type("done")
    view = desk.type("done all")
    assert view.prompt.place.startswith(f"{marks + 1} of ") and view.prompt.title == "Hole: pilot 2.5 mm"
    assert f"1 of {10} with this tool" in view.prompt.lines[-1]


def test_a_slip_of_the_keys_is_taken_back(desk: Desk) -> None:
    desk.till(hole_asked)
    assert desk.type("done 1-40").prompt.place.startswith("41 of ")
    view = desk.type("not done 30-40")
    assert view.prompt.place.startswith("30 of ") and not view.loose
    assert desk.type("not done 41").banner.kind == "refused"  # type: ignore[union-attr]


def test_an_opening_that_the_file_moves_is_asked_again_and_no_other(tmp_path: Path) -> None:
    own, path, text = own_copy(tmp_path)
    own.till(hole_asked)
    own.type("done all")
    own.drop()
    path.write_text(text.replace('at = ["110 mm", "105 mm"]', 'at = ["112 mm", "105 mm"]'), "utf-8")
    own.open()
    own.type("keep")
    view = own.till(hole_asked)
    assert view.prompt.title == "Hole: mark"
    assert "strip_1" in view.prompt.lines[0] and "112.0 mm" in view.prompt.lines[0]
    assert own.type("done").prompt.title == "Hole: pilot 2.5 mm"
    own.drop()
