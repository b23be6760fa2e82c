"""What a changed build file touches, and where the work goes back to."""

from __future__ import annotations

import pytest

from benchtui.buildfile.load import load_text
from benchtui.buildfile.stages import stages
from benchtui.session.changing import touched
from tests.session.made_up import BUILDS, Desk

TEXT = (BUILDS / "pp-6v6.toml").read_text("utf-8")
BEFORE = load_text(TEXT, "before").build
ALL = tuple(info.id for info in stages(BEFORE))
FROM_OUTPUT = ALL[ALL.index("output") :]
CATHODE = ('R11 = { nodes = ["v2_k", "0"], stage = "output", value = "470R"', 'value = "470R"', 'value = "510R"')


def changed(old: str, new: str) -> tuple[str, ...]:
    assert TEXT.count(old) == 1, old
    return touched(BEFORE, load_text(TEXT.replace(old, new), "after").build)


@pytest.mark.parametrize(
    ("old", "new", "stages"),
    [
        (CATHODE[0], CATHODE[0].replace(*CATHODE[1:]), FROM_OUTPUT),
        ('role = "cathode resistor V2"', 'role = "cathode resistor V2", measured = "476R"', FROM_OUTPUT),
        ('role = "cathode resistor V2"', 'role = "cathode resistor V2, from the drawer"', ()),
        ('red_at = "where R12 and R13 meet"', 'red_at = "R12, top"', ()),
        ('name = "Push-pull 6V6GT"', 'name = "Mine"', ()),
        ('[stage.driver]\nsteps = [', '[stage.driver]\nsteps = [\n  "Look twice.",', ("driver",)),
        ('quantity = "dc", stages = ["output", "driver"], red_at = "where R12', 'quantity = "dc", stages = ["driver"], '
         'red_at = "where R12', ("output",)),
        ('volts = "230 V"\nfrequency', 'volts = "240 V"\nfrequency', ALL),
        ('lamps = ["40 W", "100 W"]', 'lamps = ["60 W"]', ()),
    ],
)  # fmt: skip
def test_a_change_touches_the_stages_whose_parts_readings_or_work_it_alters(
    old: str, new: str, stages: tuple[str, ...]
) -> None:
    assert changed(old, new) == stages


def test_a_valve_of_another_type_touches_the_stages_from_its_heater_winding_on() -> None:
    fitted = BEFORE.transformer["T1"].windings["W_H6"].stage
    assert changed('type = "12AX7"', 'type = "12AT7"') == ALL[ALL.index(fitted) :]


def test_a_part_fitted_in_another_stage_touches_from_the_earlier_of_the_two() -> None:
    guard = 'R18 = { nodes = ["spk", "spk_cold"], stage = "output"'
    assert changed(guard, guard.replace("output", "driver")) == ("output",)


def test_a_stage_of_its_own_touches_itself_and_all_that_come_after_it() -> None:
    own = '\n[stage.extra]\ntitle = "Extra"\nkind = "cold"\nafter = "supply"\nlooks = ["nothing loose"]\n'
    found = touched(BEFORE, load_text(TEXT + own, "after").build)
    assert found == ("extra", *FROM_OUTPUT)


def test_a_resistor_swapped_in_a_later_stage_sends_the_work_back_to_the_stage_that_fits_it(desk: Desk) -> None:
    desk.drop()
    desk.path = desk.folder / desk.path.name
    desk.path.write_text(TEXT, "utf-8")
    desk.open()
    desk.till(lambda view: view.stage == "Small valves, no signal" and view.danger.word == "LIVE")
    desk.drop()
    desk.path.write_text(TEXT.replace(CATHODE[0], CATHODE[0].replace(*CATHODE[1:])), "utf-8")
    view = desk.open()
    assert "'Output valves, no signal'" in view.prompt.lines[0], view.prompt.lines
    view = desk.type("again")
    assert view.stage == "Output valves, no signal" and view.danger.word == "ASSUME LIVE"
    marks = {mark.id: mark.state for mark in view.stages}
    assert marks["supply"] == "passed" and marks["output"] == "now" and marks["driver"] == "open"
    assert any("V1" in line for line in view.loose), view.loose
    assert any(line.text.startswith("pass: Cathode of V2 100") for line in desk.session.log()), "readings stay"
    view = desk.till(lambda view: view.stage == "Small valves, no signal")
    assert not any("V1" in line for line in view.loose)
