"""What is read from outside before a soak: each metal that can be touched, once, and nothing that is insulated."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchtui.buildfile.load import load
from benchtui.buildfile.models import Build
from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.ask import Ask
from benchtui.procedure.plan import WINDING
from benchtui.procedure.state import Mode, Wound
from benchtui.session.answers import Said, Taken, meaning
from benchtui.session.bench import Bench
from benchtui.session.notebook import Notebook
from benchtui.session.shutting import judged, with_touchable
from benchtui.session.wording import power_off, units
from tests.session.made_up import BUILDS, Desk

#: What is metal and can be touched in each demo build, counted by hand from its file: panels, bodies, loudspeaker
#: commons, shells of inputs, and one reading for all that no file knows of.
TOUCHED = {
    "pp-6v6": "panel top, panel front, panel rear, top t1, top t2, top l1, front volume, T2 common, J1 shell, others",
    "pp-el34": "panel top, panel front, panel rear, panel end_l, panel end_r, top t1, top t2, top l1, top c1, top c2, "
    "top bias_3, top bias_4, front volume, T2 common, J1 shell, others",
    "se-stereo": "panel top, panel front, panel rear, top t1, top t2_l, top t2_r, top l1, top c1, front volume, "
    "T2L common, T2R common, J1L shell, J1R shell, others",
}  # fmt: skip


def build(name: str) -> Build:
    return load(BUILDS / f"{name}.toml").build


def bonds(of: Build) -> list[str]:
    return [id.removeprefix("bond ") for id in with_touchable(of).point if id.startswith("bond ")]


@pytest.mark.parametrize("name", TOUCHED)
def test_every_metal_that_can_be_touched_is_read_once_and_judged_as_the_bond(name: str) -> None:
    plain, found = build(name), with_touchable(build(name))
    assert sorted(bonds(plain)) == sorted(TOUCHED[name].split(", "))
    read = [found.point[f"bond {id}"] for id in bonds(plain)]
    assert {(p.guards, p.stages, p.outside, p.red, p.quantity) for p in read} == {
        ("bond", ("signoff",), True, plain.mains.earth, "resistance")
    }
    assert len({point.black_at for point in read}) == len(read)


def volume(of: Build, **written: object) -> Build:
    """The build with this `written` of the opening of its volume pot."""
    front = of.panel["front"]
    holes = {**front.holes, "volume": front.holes["volume"].model_copy(update=written)}
    return of.model_copy(update={"panel": {**of.panel, "front": front.model_copy(update={"holes": holes})}})


def test_a_body_is_left_out_only_where_its_key_says_that_it_is_insulated_from_the_panel() -> None:
    assert "front volume" in bonds(volume(build("pp-6v6"), role="insulated from the panel"))
    assert "front volume" not in bonds(volume(build("pp-6v6"), insulated=True))


def test_a_loudspeaker_or_input_that_nothing_joins_to_chassis_is_no_bond() -> None:
    plain = build("pp-6v6")
    cut = {id: link for id, link in plain.link.items() if id != "SPK0"}
    found = bonds(plain.model_copy(update={"link": cut}))
    assert "T2 common" not in found and "J1 shell" in found


def test_a_loudspeaker_common_that_is_chassis_itself_is_read() -> None:
    plain = build("pp-6v6")
    to_chassis = plain.output_transformer["T2"].model_copy(update={"secondary": ("spk", "0")})
    changed = plain.model_copy(update={"link": {}, "output_transformer": {"T2": to_chassis}})
    assert "T2 common" in bonds(changed)


def test_without_a_soak_or_a_bond_to_judge_by_nothing_is_added() -> None:
    plain = build("pp-6v6")
    open_ = plain.stage["signoff"].model_copy(update={"soak": None})
    assert bonds(plain.model_copy(update={"stage": {**plain.stage, "signoff": open_}})) == []
    no_bond = {id: point for id, point in plain.point.items() if point.guards != "bond"}
    assert bonds(plain.model_copy(update={"point": no_bond})) == []


def test_the_bond_of_the_earth_pin_is_the_one_that_all_are_judged_by() -> None:
    plain = build("pp-6v6")
    strap = plain.point["earth_bond"].model_copy(update={"red": "0", "black": "spk_cold", "name": "A strap"})
    first = with_touchable(plain.model_copy(update={"point": {"strap": strap, **plain.point}}))
    assert first.point["bond panel top"].red == plain.mains.earth
    assert first.point["bond panel top"].name == "Earth pin to bare metal of Top plate"


def warm_winding(desk: Desk) -> Bench:
    """The bench as it asks why the work goes on after a warm winding, plug out."""
    bench = desk.session._bench()
    state = bench.state._replace(mode=Mode.OFF_GATE, phase=len(bench.plan.phases) - 1, last_complete=True)
    return replace(bench, state=state, ask=Ask("winding warned", WINDING))


@pytest.mark.parametrize("typed", ["touched", "Moved", "meter changed"])
def test_what_takes_the_gate_back_is_no_reason_to_go_on_from_a_warm_winding(desk: Desk, typed: str) -> None:
    meant = meaning(warm_winding(desk), typed)
    assert isinstance(meant, Taken) and isinstance(meant.command, e.Disturbed | e.Unwatched)


def test_the_reason_to_go_on_from_a_warm_winding_is_kept_as_typed(desk: Desk) -> None:
    reason = "A hot attic, 31 degC"
    assert meaning(warm_winding(desk), reason) == Taken(e.Accepted(WINDING, reason))


@pytest.mark.parametrize("typed", ["skip: tired", "skip", "ok"])
def test_a_winding_that_is_too_warm_is_not_skipped_and_it_says_so(desk: Desk, typed: str) -> None:
    bench = warm_winding(desk)
    hot = Wound(room_c=22.0, cold_ohm=100.0, off_s=90.0, hot=((0.0, 140.0), (90.0, 139.9)))
    bench = replace(bench, state=bench.state._replace(winding=hot), ask=Ask("winding judged", WINDING))
    meant = meaning(bench, typed)
    assert isinstance(meant, Said) and "not for a winding that these readings say is too warm" in meant.text


def test_a_winding_that_is_too_hot_is_told_in_degrees(desk: Desk) -> None:
    unit = units(desk.session._bench().plan)[WINDING]
    told = power_off(e.PointStopped(WINDING, "109.0", 109.0, 40.0, 20.0, 75.0, ("too hot",)), WINDING, unit)
    assert told.startswith("109.0 \N{DEGREE SIGN}C")


#: Copper of 100 ohm at 22 degC that has 114 ohm after a soak: some 58 degC, which passes.
COOLED = Wound(room_c=22.0, cold_ohm=100.0, off_s=90.0, hot=((0.0, 114.0), (90.0, 113.9)))


@pytest.mark.parametrize("off_s, lacks", [
    (600.0, "cold start, 180 min without power before it"), (-5.0, "cold start, 180 min without power before it"),
    (10_800.0, ""), (None, ""),
])  # fmt: skip
def test_a_winding_read_cold_soon_after_power_is_not_measured(desk: Desk, off_s: float | None, lacks: str) -> None:
    notebook = Notebook()
    if off_s is not None:
        notebook.take(e.MainsRead("230", 230.0), "signal", 1e6, where="power")
    notebook.take(e.Noted("tea"), "signal", 1e6 + 60.0)
    notebook.take(e.WindingCold("100", 100.0), "signoff", 1e6 + (off_s or 0.0))
    bench = desk.session._bench()
    found = judged(replace(bench, state=bench.state._replace(winding=COOLED), notebook=notebook))
    assert isinstance(found, c.JudgeWinding) and found.lacks == lacks


def test_a_winding_read_cold_soon_after_power_still_warns_where_it_is_too_warm(desk: Desk) -> None:
    notebook = Notebook(rested_s=600.0)
    hot = COOLED._replace(hot=((0.0, 126.0), (90.0, 125.9)))
    bench = desk.session._bench()
    found = judged(replace(bench, state=bench.state._replace(winding=hot), notebook=notebook))
    assert isinstance(found, c.JudgeWinding) and found.celsius > found.expectation.high and not found.lacks
