"""The session from end to end on made-up forecasts: led, judged, recorded, interrupted and resumed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchtui.buildfile.load import load
from benchtui.procedure import codec
from benchtui.procedure import events as e
from benchtui.record import Journal, NotSaved
from benchtui.session.planning import plan
from benchtui.session.view import View
from tests.session.made_up import BUILDS, Desk


def read_first(desk: Desk) -> View:
    """The first reading of a power stage, settled."""
    return desk.till(lambda view: view.step == "read" and view.danger.word == "LIVE")


def kinds(desk: Desk) -> list[str]:
    with Journal.open(desk.record, write=False) as journal:
        return [event.kind for event in journal.events]


def test_a_bring_up_with_trims_goes_from_the_first_prompt_to_the_end(fixed_bias: Desk) -> None:
    titles = [view.prompt.title for view in fixed_bias.go()]
    view = fixed_bias.session.view()
    assert view.prompt.title == "Finished"
    assert {mark.state for mark in view.stages} == {"passed", "not all measured"}, "it owns no bond tester"
    assert view.danger.word == "ASSUME LIVE", "nobody opened it after its soak"
    for needed in ("Pull the plug", "First power", "Full mains", "HT has fallen to?", "Let the bias drift"):
        assert needed in titles
    told = kinds(fixed_bias)
    assert told.count("trim inside") == 2 * 4 * 3, "two pots, four rounds, in three stages"
    assert not {"refused", "reading warned", "reading stopped", "meter bad"} & set(told)


def test_dropped_at_any_prompt_it_resumes_at_the_gate_with_nothing_lost(desk: Desk) -> None:
    dropped = 0
    for view in desk.go():
        if view.prompt.number % 17 == 0 and view.danger.word != "BARE" and dropped < 25:
            dropped += 1
            saved, stage = view.saved, view.stage
            desk.drop()
            again = desk.open()
            assert again.saved == saved + 1, "all that was saved, and the restart"
            assert again.stage == stage
            assert again.step == "gate" and again.danger.word == "ASSUME LIVE"
            assert all(mark.state != "done" for mark in again.prompt.items)
    assert dropped == 25
    assert {mark.state for mark in desk.session.view().stages} == {"passed", "not all measured"}


def test_every_view_shows_only_what_is_on_the_disk(desk: Desk) -> None:
    for view in desk.go(lambda view: view.stage == "Heaters"):
        assert view.saved == len(desk.record.read_bytes().splitlines())


def test_an_answer_to_an_earlier_prompt_is_dropped_and_said(desk: Desk) -> None:
    view = desk.reach("Prove the meter on DC")
    after = desk.session.answer(view.prompt.number - 1, "9.1")
    assert after.prompt.title == "Prove the meter on DC"
    assert after.banner is not None and "earlier prompt" in after.banner.text
    assert kinds(desk)[-1] == "refused"


@pytest.mark.parametrize("title", ["Pull the plug", "Prove the meter on DC", "Read the mains side dead", "Clip on"])
def test_pasted_text_clears_no_gate_item(desk: Desk, title: str) -> None:
    view = desk.reach(title)
    before = view.prompt.items
    after = desk.type({"Pull the plug": "out", "Clip on": "2200"}.get(title, "9.1"), pasted=True)
    assert after.prompt.items == before and after.banner is not None and "pasted" in after.banner.text.lower()


def test_a_paste_of_one_line_is_taken_with_a_word_elsewhere_and_two_lines_never(desk: Desk) -> None:
    read_first(desk)
    assert desk.type("100\n100", pasted=True).banner.kind == "refused"  # type: ignore[union-attr]
    banner = desk.type("100", pasted=True).banner
    assert banner is not None and banner.kind == "pass" and any("pasted" in line for line in banner.more)


def test_pasted_text_does_no_step_and_gives_no_reason_and_moves_no_stage_on(desk: Desk) -> None:
    for title, text in (("Step 1", "fitted"), ("Stage complete", "complete")):
        view = desk.till(lambda view, title=title, text=text: view.prompt.title == title and text in view.prompt.words)
        after = desk.type(text, pasted=True)
        assert (after.prompt.title, after.stage) == (title, view.stage) and kinds(desk)[-1] == "refused"
        assert desk.type(text).prompt.title != title
    read_first(desk)
    assert desk.type("120").banner.kind == "warn"  # type: ignore[union-attr]
    assert not desk.type("old valve", pasted=True).accepted and kinds(desk)[-1] == "refused"
    assert desk.type("old valve").accepted


def test_time_before_an_answer_belongs_to_no_wait_that_the_answer_begins(desk: Desk) -> None:
    desk.till(lambda view: view.prompt.title.startswith("Round 1") and view.stage == "HT off load")
    desk.clock.pass_(9.0)  # the app was too busy to look at the clock
    wait = desk.type("0.3").prompt
    assert wait.title == "Wait"
    desk.clock.pass_(1.0)
    desk.session.tick()
    assert desk.session.view().prompt.wait_s == wait.wait_s - 1.0  # type: ignore[operator]


def test_switched_off_is_not_out(desk: Desk) -> None:
    desk.reach("Pull the plug")
    view = desk.type("switched off")
    assert view.prompt.title == "Pull the plug" and "not out" in view.banner.text  # type: ignore[union-attr]


def test_a_warn_shows_a_cause_and_goes_on_by_a_reason_that_is_listed(desk: Desk) -> None:
    read_first(desk)
    view = desk.type("115")
    assert view.banner is not None and view.banner.kind == "warn" and len(view.banner.more) >= 2
    assert view.prompt.entry == "text"
    view = desk.type("mains is high today, measured")
    assert view.banner is not None and view.banner.kind == "info"
    assert view.prompt.items[0].state == "warned"
    stage = next(mark.id for mark in view.stages if mark.state == "now")
    assert any("mains is high today" in line for line in desk.session.explain(stage))
    view = desk.till(lambda v: next(m for m in v.stages if m.id == stage).state.startswith("passed"))
    assert next(m for m in view.stages if m.id == stage).state == "passed with warns"


def test_ten_times_off_is_asked_again_and_the_second_entry_counts(desk: Desk) -> None:
    read_first(desk)
    view = desk.type("9.9")
    assert view.banner is not None and view.banner.kind == "question" and "decimal" in view.banner.text
    assert desk.type("9.9").banner.kind == "warn"  # type: ignore[union-attr]
    assert kinds(desk)[-2:] == ["reading doubted", "reading warned"]


def test_beyond_a_limit_the_power_off_text_comes_before_any_question(desk: Desk) -> None:
    read_first(desk)
    view = desk.type("1500")
    assert view.power_off[0].startswith("Hand off") and "more than the part stands" in view.power_off[1]
    assert view.prompt.title == "Pull the plug" and view.danger.word == "ASSUME LIVE"
    assert desk.type("switched off").power_off == view.power_off
    assert desk.type("out").power_off == ()


def test_a_warn_of_a_guarded_point_is_read_again_and_never_argued_with(desk: Desk) -> None:
    desk.till(lambda view: view.prompt.title.startswith("Earth"))
    assert desk.type("120").prompt.entry == "number"
    banner = desk.type("it is fine").banner
    assert banner is not None and banner.kind == "refused" and "never accepted" in banner.text, banner


def test_without_its_tester_a_good_reading_is_not_measured_and_open_to_the_end(desk: Desk) -> None:
    """The demo build owns an insulation tester and no bond tester."""
    view = desk.till(lambda view: view.prompt.title == "Earth pin to chassis")
    assert any("No bond tester here" in line for line in view.prompt.lines)
    assert view.prompt.probes and view.prompt.probes.meter == "ohms"
    assert view.prompt.scale and not view.prompt.scale.proves
    assert not any("healthy" in line for line in (view.prompt.scale.spoken, *view.why))
    view = desk.type("100")
    assert view.banner is not None and view.banner.kind == "not measured" and "no bond tester" in view.banner.text
    assert view.unmeasured == ("no bond tester: Earth pin to chassis",)
    assert kinds(desk)[-1] == "reading unproved"
    assert any("not measured: no bond tester" in line for line in desk.session.explain("cold"))
    insulation = desk.till(lambda view: view.prompt.title == "Live to chassis")
    assert insulation.prompt.probes and insulation.prompt.probes.meter == "500 V insulation tester"
    assert "not measured" in {item.state for item in insulation.prompt.items}
    assert desk.type("100").banner.kind == "pass"  # type: ignore[union-attr]
    desk.reach("Hands out")
    desk.drop()
    resumed = desk.open()
    assert resumed.unmeasured == view.unmeasured
    assert resumed.banner and resumed.banner.more[0] == "1 not measured: F4 lists them"
    view = desk.till(lambda view: view.stage == "Sign-off" and "Not measured" in view.prompt.lines[0])
    assert view.prompt.words == ("noted",) and "Earth pin to chassis" in view.prompt.lines[0]
    view = desk.reach("The end")
    assert any("Not measured, no bond tester: Earth pin to chassis" in line for line in view.prompt.lines)
    assert next(mark.state for mark in view.stages if mark.id == "cold") == "not all measured"


@pytest.mark.parametrize(("typed", "kind"), [("120", "warn"), ("160", "stop")])
def test_without_its_tester_a_bad_bond_is_never_argued_away(desk: Desk, typed: str, kind: str) -> None:
    desk.till(lambda view: view.prompt.title == "Earth pin to chassis")
    assert desk.type(typed).banner.kind == kind  # type: ignore[union-attr]
    for word in ("none", "no tester", "not measured"):
        view = desk.type(word)
        assert view.prompt.title == "Earth pin to chassis" and view.unmeasured == ()


def test_a_capacitor_is_read_on_the_bench_before_the_step_that_fits_it(desk: Desk) -> None:
    view = desk.till(lambda view: view.prompt.title.startswith("Before fitting"))
    assert view.prompt.title == "Before fitting C1" and view.step == "wire" and view.stage == "HT off load"
    assert desk.type("C1 is new").banner.kind == "question"  # type: ignore[union-attr]
    view = desk.type("-42")
    assert view.prompt.title == "Discharge C1" and view.danger.word == "DEAD AS MEASURED"
    # C1 is rated 630 V: over the clip's 2.2 kohm 0.286 A and 180 W at first (computed by hand)
    assert "286 mA" in view.prompt.lines[1] and "180 W" in view.prompt.lines[1]
    assert view.banner is not None and view.banner.kind == "warn" and "charged" in view.banner.text
    for typed in ("fitted", "done", "bled", "250 mV", "0,3"):
        assert desk.type(typed).prompt.title == "Discharge C1"
    assert desk.type("0.2", pasted=True).prompt.title == "Discharge C1"
    lines = desk.session.view().prompt.lines
    desk.session._ledger.notebook.charged["C1"] = 12.0  # what it read in the chassis is not what it holds here
    assert desk.session.view().prompt.lines == lines
    view = desk.type("0.2")
    assert view.prompt.words == ("fitted",) and "C1" in view.prompt.lines[0]
    assert desk.type("fitted").prompt.title == "Step 3"
    assert kinds(desk)[-2:] == ["capacitor low", "step done"]


def test_only_what_will_be_a_reservoir_is_read_on_the_bench(desk: Desk) -> None:
    """Made-up forecasts say that C1 is the only reservoir: couplings and bypasses are fitted without being read."""
    titles = [view.prompt.title for view in desk.go() if view.step == "wire"]
    assert [title for title in titles if title.startswith("Before fitting")] == ["Before fitting C1"]


def test_where_the_gates_cannot_be_computed_every_capacitor_of_size_is_read_on_the_bench(desk: Desk) -> None:
    build = load(desk.path).build
    steps = [step for phase in plan(build, {}).phases for step in phase.steps]
    listed = {capacitor.id for step in steps for capacitor in step.capacitors}
    assert {"C1", "C2", "C3"} <= listed <= set(build.capacitor)


def test_stop_works_from_everywhere_and_shows_the_power_off_text(desk: Desk) -> None:
    titles: set[str] = set()
    for view in desk.go(lambda view: view.stage == "Heaters"):
        if view.prompt.title not in titles:
            titles.add(view.prompt.title)
            after = desk.session.stop()
            assert after.power_off and after.step == "gate" and kinds(desk)[-1] == "stop key"
    assert {"Hands in", "Clip off", "Mains now", "Full mains", "Switch off"} <= titles


def test_a_sleep_empties_the_gate_and_a_jump_of_the_wall_clock_does_nothing(desk: Desk) -> None:
    desk.reach("Read the mains side dead")
    desk.clock.wall = lambda: 86_400.0  # type: ignore[method-assign]
    desk.session.tick()
    assert desk.session.view().prompt.title == "Read the mains side dead"
    awake = desk.clock.awake_or_not
    desk.clock.awake_or_not = lambda: awake() + 30.0  # type: ignore[method-assign]
    assert desk.session.tick()
    view = desk.session.view()
    assert view.prompt.title == "Pull the plug" and "slept" in view.banner.text  # type: ignore[union-attr]


def test_a_sleep_that_leaves_the_question_as_it_was_is_said_all_the_same(desk: Desk) -> None:
    view = desk.reach("Pull the plug")
    desk.clock.pass_(30.0)
    assert desk.session.tick()
    after = desk.session.view()
    assert after.prompt.title == view.prompt.title and after.saved == view.saved + 1
    assert after.banner is not None and "stood still" in after.banner.text


def test_a_program_that_stood_still_or_was_stopped_empties_the_gate(desk: Desk) -> None:
    desk.reach("Read the mains side dead")
    desk.clock.pass_(30.0)
    desk.session.tick()
    assert desk.session.view().prompt.title == "Pull the plug"
    desk.reach("Read the mains side dead")
    assert desk.session.touched().prompt.title == "Pull the plug"


def test_a_wait_is_counted_on_the_steady_clock_alone(desk: Desk) -> None:
    view = desk.reach("Wait")
    assert view.prompt.wait_s is not None
    before = view.prompt.wait_s
    assert desk.wait(20.0).prompt.wait_s == pytest.approx(before - 20.0)


def test_without_its_forecast_a_reading_is_not_asked(desk: Desk) -> None:
    desk.reach("Hands in")
    desk.type("in")
    while desk.session.view().step == "wire":
        desk.type(desk.session.view().prompt.words[0])
    desk.reach("Full mains")
    desk.session._forecasts._found.clear()
    view = desk.type("full")
    assert view.forecast == "computing"
    desk.wait(65.0)
    view = desk.session.view()
    assert view.prompt.title == "Computing" and view.prompt.entry == "nothing"
    desk.compute()
    assert desk.session.view().prompt.title != "Computing" and desk.session.view().forecast == "ready"


def test_where_the_forecast_fails_nothing_passes(desk: Desk) -> None:
    desk.forecaster.fails = {"stage"}
    view = read_first(desk)
    assert view.forecast == "failed" and "made to fail" in view.forecast_text
    assert desk.type("100").banner.kind == "warn"  # type: ignore[union-attr]


def test_where_the_gate_cannot_be_computed_no_power_goes_on(desk: Desk) -> None:
    desk.forecaster.fails = {"gate"}
    seen = [view for view, _ in zip(desk.go(), range(200), strict=False)]
    assert any(view.danger.word == "CLOSING" for view in seen)
    assert not any(view.danger.word.startswith("LIVE") for view in seen)


def test_where_the_gate_cannot_be_computed_every_capacitor_is_read(desk: Desk) -> None:
    phases = plan(load(desk.path).build, {}).phases
    reservoirs = {phase.stage: {r.id for r in phase.reservoirs} for phase in phases if phase.kind == "hands"}
    assert len(reservoirs["output"]) > 1


def test_halt_when_an_event_cannot_be_saved(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    view = desk.reach("Read the mains side dead")
    journal = desk.session._journal

    def fails(kind: str, data: object) -> None:
        journal.trouble = NotSaved(desk.record, "no space", event=view.saved + 1)
        raise journal.trouble

    monkeypatch.setattr(journal, "append", fails)
    halted = desk.type("0.1")
    assert halted.danger.word == "NOT RECORDING" and halted.power_off[0].startswith("Not saved")
    assert str(view.saved) in halted.power_off[1]
    monkeypatch.undo()
    for after in (desk.type("0.1"), desk.session.stop(), desk.session.note("x"), desk.session.touched()):
        assert after.danger.word == "NOT RECORDING" and after.saved == view.saved
    assert "NOT SAVED" in desk.session.leave()


def test_notes_are_kept_in_words_and_change_nothing(desk: Desk) -> None:
    view = desk.reach("Pull the plug")
    assert desk.session.note("  hum\x1b[31m gone ").prompt == view.prompt
    assert desk.session.log()[-1].text == "note: hum<U+001B>[31m gone"


@pytest.mark.parametrize(
    ("title", "says"),
    [("Is the chassis bare?", "Assume live"), ("Step 1", "bare"), ("Pull the plug", "Assume live"),
     ("Clip off", "No power"), ("Full mains", "Power may be on")],
)  # fmt: skip
def test_leaving_says_what_to_do_about_the_power(desk: Desk, title: str, says: str) -> None:
    desk.reach(title)
    assert says in desk.session.leave()


def test_every_event_in_a_record_has_its_words(fixed_bias: Desk) -> None:
    assert fixed_bias.till(lambda view: False).prompt.title == "Finished"
    for line in fixed_bias.session.log():
        assert "?" not in line.text and "{" not in line.text, line


def test_a_resumed_state_is_the_live_one_with_the_gate_emptied(desk: Desk) -> None:
    for view in desk.go(lambda view: view.stage.startswith("Output")):
        if view.prompt.number % 29 == 0 and view.danger.word != "BARE":
            live = desk.session._ledger.state
            desk.drop()
            desk.open()
            resumed = desk.session._ledger.state
            assert (resumed.phase, resumed.mains, resumed.powered) == (live.phase, live.mains, live.powered)
            assert resumed.gate == type(live.gate)() and not resumed.clip_off


def test_what_the_record_holds_is_the_procedures_own_events(desk: Desk) -> None:
    desk.reach("Hands in")
    with Journal.open(desk.record, write=False) as journal:
        events = [codec.decode(event.kind, event.data) for event in journal.events[1:]]
    assert events[-1] == e.MeterGood("ac", 12.2)
    assert replace(events[-1], kind="dc") == e.MeterGood("dc", 12.2)


def test_the_first_start_says_the_caution_and_a_resume_where_one_was(desk: Desk) -> None:
    first = desk.session.view()
    assert first.banner is not None and "no authority" in first.banner.text
    desk.reach("Clip off")
    desk.drop()
    view = desk.open()
    assert view.banner is not None and view.stage in view.banner.text and "assumed live" in view.banner.text
    assert any("hands out" in line for line in view.banner.more[:2])


def test_back_to_power_is_offered_only_where_it_may_be(desk: Desk) -> None:
    plug = desk.reach("Pull the plug")
    assert not any("back to power" in line for line in (*plug.prompt.lines, *plug.help))
    assert desk.type("back to power").banner.kind == "refused"  # type: ignore[union-attr]
    desk.reach("Full mains")
    view = desk.session.stop()
    assert "plug" in desk.type("back to power").banner.text  # type: ignore[union-attr]
    view = desk.type("out")
    assert any("back to power" in line for line in view.prompt.lines)
    view = desk.type("back to power")
    assert view.danger.word == "CLOSING" and view.prompt.title == "Chassis clear"
    assert "from outside" in view.prompt.lines[0] and "no clip on" in view.prompt.lines[0]
    for typed in ("clear", "one hand", "230"):
        view = desk.type(typed)
    assert not any("without" in line for line in view.prompt.lines[1:2])
    assert desk.type("without: it was fine").banner.kind == "refused"  # type: ignore[union-attr]
    assert desk.type("back to power").banner.kind != "pass"  # type: ignore[union-attr]


def test_a_short_is_never_powered_again_without_gate_checks_and_what_was_found(desk: Desk) -> None:
    desk.till(lambda view: view.stage.startswith("HT off load") and view.prompt.title.startswith("What does the lim"))
    view = desk.type("bright")
    assert not any("slip" in line for line in view.power_off)
    for typed in ("back to power", "slip", "out", "slip", "back to power"):
        view = desk.type(typed)
        assert view.danger.word == "ASSUME LIVE", typed
    desk.reach("Hands in")
    view = desk.type("in")
    seen = [view.prompt.lines[0] for view in desk.go(lambda view: view.prompt.title == "What was it?")]
    assert any("three bleeders" in line for line in seen)
    assert not any(line.startswith("Fit ") for line in seen)
    assert desk.type("C2 was the wrong way round").prompt.title == "Hands out"
    assert kinds(desk)[-1] == "cause found"


def test_ohms_before_the_cover_show_what_is_due_and_a_refusal_says_both(desk: Desk) -> None:
    view = desk.reach("HT+ to chassis")
    assert view.prompt.scale is not None and (view.prompt.scale.low, view.prompt.scale.high) == (45e3, 55e3)
    view = desk.type("12")
    assert view.banner is not None and "12.0" in view.banner.text and "45.0" in view.banner.more[0]


def test_a_negative_rail_takes_the_plus_probe_on_the_chassis(fixed_bias: Desk) -> None:
    build = load(fixed_bias.path).build
    node = build.capacitor["C5"].nodes[1]
    facts = fixed_bias.forecaster.gate(build, "supply")
    facts = replace(facts, gate=replace(facts.gate, ohms_node=node))
    ohms = next(phase.ohms for phase in plan(build, {"bias": facts}).phases if phase.id == "bias")
    assert ohms is not None and ohms.red == "chassis" and "C5" in ohms.black


def under_the_limiter(desk: Desk) -> View:
    return desk.till(lambda view: view.stage.startswith("HT off load") and view.step == "first power")


def test_nothing_behind_the_limiter_never_shows_that_there_is_no_short(desk: Desk) -> None:
    desk.till(lambda view: view.stage.startswith("HT off load") and view.prompt.title.endswith(", limited"))
    view = desk.session.view()
    assert any("90.0 V or more" in line for line in view.prompt.lines)
    for _ in range(2):
        view = desk.type("0")
        assert view.banner is not None and view.banner.kind == "question" and "fuse" in view.banner.text
        assert view.prompt.title.endswith(", limited") and any("'off'" in line for line in view.prompt.lines)
        assert kinds(desk)[-1] == "reading nothing"
    assert desk.type("off").prompt.title == "Pull the plug"


def test_a_dark_lamp_is_asked_about_where_a_sound_stage_leaves_it_dim(desk: Desk) -> None:
    view = desk.reach("What does the limiter show?")
    assert view.stage == "First mains" and desk.type("dark").banner is None, "dark is due: nothing is loaded"
    under_the_limiter(desk)
    view = desk.till(lambda view: view.prompt.title == "What does the limiter show?")
    assert any("sound stage: dim" in line for line in view.prompt.lines)
    view = desk.type("dark")
    assert view.banner is not None and view.banner.kind == "question" and "fuse" in view.banner.text
    assert desk.type("dark").prompt.title.endswith(", limited")


def test_with_fixed_bias_every_grid_and_every_current_is_read_under_the_limiter(fixed_bias: Desk) -> None:
    fixed_bias.till(lambda view: view.stage.startswith("Output") and view.prompt.title.endswith(", limited"))
    seen = [view.prompt.title for view in fixed_bias.go(lambda view: view.prompt.title == "Full mains")]
    assert seen == [f"{name}, limited" for name in ("Grid of V3", "Grid of V4", "Cathode of V4", "Cathode of V3")]


def test_a_stop_reading_goes_back_to_power_only_as_a_slip_and_through_a_limiter(desk: Desk) -> None:
    read_first(desk)
    view = desk.type("1500")
    assert any("slip" in line for line in view.power_off)
    assert desk.type("back to power").danger.word == "ASSUME LIVE"
    view = desk.type("out")
    assert any("'slip'" in line for line in view.prompt.lines)
    assert desk.type("back to power").danger.word == "ASSUME LIVE"
    view = desk.type("slip")
    assert any("back to power" in line for line in view.prompt.lines)
    assert desk.type("back to power").prompt.title == "Chassis clear"
    assert desk.type("clip on").danger.word == "ASSUME LIVE"


def test_the_caution_comes_before_each_power(desk: Desk) -> None:
    desk.reach("Clip off")
    view = desk.session.view()
    assert view.banner is not None and "no authority" in view.banner.text


def test_going_on_from_a_warn_is_told_at_the_end(desk: Desk) -> None:
    read_first(desk)
    desk.type("115")
    desk.type("measured, the winding is high")
    view = desk.reach("The end")
    assert any("went on from a warn" in line for line in view.prompt.lines)


def test_the_same_number_everywhere_makes_the_meter_suspect(desk: Desk) -> None:
    desk.till(lambda view: view.stage.startswith("Output") and view.step == "read")
    banners = [desk.type("100").banner for _ in range(4)]
    assert all(banner is not None and banner.kind == "pass" for banner in banners)
    assert not any("stuck" in line for line in banners[2].more)  # type: ignore[union-attr]
    assert any("stuck" in line for line in banners[3].more)  # type: ignore[union-attr]


def test_switching_off_in_the_middle_leaves_the_stage_open_and_its_readings_known(desk: Desk) -> None:
    read_first(desk)
    desk.type("100")
    stage = next(mark.id for mark in desk.session.view().stages if mark.state == "now")
    view = desk.type("off")
    assert view.danger.word == "ASSUME LIVE" and view.stages[3].state == "now"
    assert any("100.0" in line and "pass" in line for line in desk.session.explain(stage))


@pytest.mark.parametrize("typed", ["clip off", "touched", "meter changed", "lead on"])
def test_what_takes_the_gate_away_with_hands_in_fills_the_screen(desk: Desk, typed: str) -> None:
    desk.till(lambda view: view.danger.word == "DEAD AS MEASURED" and view.stage == "Output valves, no signal")
    view = desk.type(typed)
    assert view.alarm == "HANDS OUT" and view.power_off[0].startswith("Hands out now")
    assert view.danger.word == "ASSUME LIVE" and view.prompt.title == "Pull the plug"
    assert desk.type("out").power_off == ()


def test_a_sleep_with_hands_in_fills_the_screen_and_a_restart_does_not(desk: Desk) -> None:
    desk.till(lambda view: view.danger.word == "DEAD AS MEASURED" and view.stage == "Output valves, no signal")
    desk.clock.pass_(60.0)
    desk.session.tick()
    assert desk.session.view().alarm == "HANDS OUT" and desk.session.view().power_off
    desk.drop()
    assert desk.open().power_off == ()


def test_a_chassis_that_has_met_mains_is_never_bare_by_a_word(desk: Desk) -> None:
    desk.till(lambda view: view.danger.word == "LIVE")
    desk.drop()
    desk.path = desk.folder / desk.path.name
    text = (BUILDS / desk.path.name).read_text("utf-8")
    desk.path.write_text(text.replace('volts = "230 V"\nfrequency', 'volts = "235 V"\nfrequency'), "utf-8")
    desk.open()
    view = desk.type("again")
    assert view.stage == "Parts on the bench" and view.prompt.title == "Pull the plug"
    assert desk.type("bare").danger.word == "ASSUME LIVE"
    assert desk.till(lambda view: view.stage == "Metalwork").danger.word == "DEAD AS MEASURED"
