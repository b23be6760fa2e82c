"""What a build has read narrows what it reads next, and nothing that is in doubt does."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from benchtui.buildfile.load import load
from benchtui.procedure import events as e
from benchtui.procedure.state import Mode, State
from benchtui.session.earlier import Earlier, StageRead
from benchtui.session.forecaster import RealForecaster, _narrowed
from benchtui.verdicts.expectation import Expectation
from tests.session.made_up import BUILDS, Desk
from tests.walk import readings

POWERED = State(mode=Mode.POWERED, mains_v=231.0, read=frozenset({"ht", "ripple", "bias"}))
HANDS = State(mode=Mode.HANDS)
GATE = State(mode=Mode.OFF_GATE)
ON = e.PowerOn("60 W lamp")
END = e.NextGate("output")


def read(kind: type[e.PointRead], point: str, value: float, **more: Any) -> e.PointRead:
    return kind(point, str(value), value, value, value - 1.0, value + 1.0, (), **more)


def passed(point: str, value: float) -> e.PointRead:
    return read(e.PointPassed, point, value)


def after(*happened: e.Event | tuple[e.Event, State], begun: Earlier | None = None) -> Earlier:
    """The readings after events of the stage "supply", at full power unless another state is told."""
    earlier = begun or Earlier()
    for each in happened:
        event, state = each if isinstance(each, tuple) else (each, POWERED)
        earlier.take(event, state, "supply")
    return earlier


def told(earlier: Earlier) -> dict[str, float]:
    return {point: value for stage in earlier.before("output") for point, value in stage.readings}


@pytest.fixture
def supplied() -> Earlier:
    """A build whose stage "heaters" was read and completed."""
    earlier = Earlier()
    for event in (ON, passed("ht", 6.3), e.NextGate("supply")):
        earlier.take(event, POWERED, "heaters")
    return earlier


def test_passes_of_a_completed_stage_are_told_with_its_mains_to_every_other_stage() -> None:
    earlier = after(ON, passed("ht", 370.0), passed("ripple", 6.1), END)
    assert earlier.before("output") == (StageRead("supply", 231.0, (("ht", 370.0), ("ripple", 6.1))),)
    assert earlier.before("supply") == ()


def test_a_stage_tells_nothing_before_it_is_complete() -> None:
    assert told(after(ON, passed("ht", 370.0))) == {}


@pytest.mark.parametrize(
    "last",
    [
        read(e.PointWarned, "ht", 340.0),
        read(e.PointDoubted, "ht", 37.0),
        read(e.PointWatched, "ht", 200.0),
        read(e.PointNothing, "ht", 0.0),
        read(e.PointUnproved, "ht", 370.0, instrument="bond tester"),
    ],
)
def test_only_the_newest_reading_of_a_point_counts_and_only_as_a_pass(last: e.PointRead) -> None:
    accepted = e.Accepted("ht", "an old transformer")
    assert told(after(ON, passed("ht", 370.0), passed("ripple", 6.1), last, accepted, END)) == {"ripple": 6.1}
    assert told(after(ON, last, passed("ht", 371.0), END)) == {"ht": 371.0}


def test_a_point_that_does_not_count_for_its_stage_is_not_told() -> None:
    assert told(after(ON, passed("elsewhere", 12.0), passed("ht", 370.0), END)) == {"ht": 370.0}


@pytest.mark.parametrize("mode", [Mode.HANDS, Mode.BARE])
def test_cold_readings_are_not_told(mode: Mode) -> None:
    assert told(after((passed("ht", 50e3), State(mode=mode)), ON, END)) == {}


TURNED = e.TrimOutside("P1", "30", 30.0, 40.0, 38.0, 42.0, 90.0)


@pytest.mark.parametrize("event", [ON, e.MainsRead("233", 233.0), TURNED])
def test_readings_count_from_the_last_power_mains_and_pot_that_was_turned(event: e.Event) -> None:
    assert told(after(ON, passed("ht", 370.0), event, passed("ripple", 6.1), END)) == {"ripple": 6.1}


def test_a_pot_that_stands_right_takes_nothing_back() -> None:
    inside = e.TrimInside("P1", "40", 40.0, 40.0, 38.0, 42.0, 90.0)
    assert told(after(ON, passed("ht", 370.0), inside, END)) == {"ht": 370.0}


def test_a_stage_repeated_tells_what_it_read_last(supplied: Earlier) -> None:
    cut_short = (ON, passed("ht", 370.0), passed("ripple", 6.0), (e.Restarted(), POWERED))
    earlier = after(*cut_short, ON, passed("ht", 365.0), END, begun=supplied)
    assert [(each.stage, each.readings) for each in earlier.before("output")] == [
        ("heaters", (("ht", 6.3),)),
        ("supply", (("ht", 365.0),)),
    ]


BAD = {
    "warn": (read(e.PointWarned, "ht", 340.0), POWERED),
    "stop": (read(e.PointStopped, "ht", 600.0), POWERED),
    "doubt left": (read(e.PointDoubted, "ht", 37.0), POWERED),
    "short": (e.LimiterBad("bright"), POWERED),
    "ohms": (e.OhmsBad(120.0), State(mode=Mode.CLOSING)),
}


@pytest.mark.parametrize("bad", BAD.values(), ids=BAD)
def test_hands_that_go_in_after_a_bad_reading_may_mend_anything(bad: tuple[e.Event, State], supplied: Earlier) -> None:
    earlier = after(ON, bad, begun=supplied)
    assert told(earlier) == {"ht": 6.3}
    assert told(after((e.HandsIn(60.0, 30.0), GATE), begun=earlier)) == {}


def test_hands_that_go_in_when_all_is_well_take_nothing_back(supplied: Earlier) -> None:
    warned = read(e.PointWarned, "ht", 340.0)
    again = (ON, warned, passed("ht", 366.0), read(e.PointWarned, "ripple", 9.0), e.Accepted("ripple", "scope agrees"))
    earlier = after(*again, END, (e.HandsIn(60.0, 30.0), GATE), begun=supplied)
    assert [each.readings for each in earlier.before("output")] == [(("ht", 6.3),), (("ht", 366.0),)]


def test_a_stop_that_was_a_slip_of_the_meter_takes_nothing_back(supplied: Earlier) -> None:
    slip = (read(e.PointStopped, "ht", 3700.0), POWERED), (e.Slipped(), GATE)
    assert told(after(*slip, (e.HandsIn(60.0, 30.0), GATE), begun=supplied)) == {"ht": 6.3}
    warned = (read(e.PointWarned, "ripple", 9.0), POWERED)
    assert told(after(warned, *slip, (e.HandsIn(60.0, 30.0), GATE), begun=supplied)) == {}


def test_a_cold_reading_that_was_bad_and_is_good_was_mended(supplied: Earlier) -> None:
    bad = (read(e.PointWarned, "leak", 47.0), HANDS)
    assert told(after(bad, (e.Accepted("leak", "marked so"), HANDS), begun=supplied)) == {"ht": 6.3}
    assert told(after(bad, (passed("leak", 47e3), HANDS), begun=supplied)) == {}


def test_a_cold_slip_that_is_asked_again_at_once_mends_nothing(supplied: Earlier) -> None:
    slip = (read(e.PointDoubted, "leak", 47.0), HANDS)
    assert told(after(slip, (passed("leak", 47e3), HANDS), begun=supplied)) == {"ht": 6.3}


@pytest.mark.parametrize(
    "event", [e.MeterBad("dc", 3.0), e.NotFallen(370.0, 366.0), e.BuildChanged(True, (), ("R1",), "0" * 64, "")]
)
def test_a_meter_in_doubt_or_another_build_file_takes_all_back(event: e.Event, supplied: Earlier) -> None:
    assert told(after((event, GATE), begun=supplied)) == {}


# -- through a session


def asked(desk: Desk, stage: str) -> list[tuple[StageRead, ...]]:
    """What each forecast of `stage` at measured mains was to go by, in the order asked."""
    return [each[3] for each in desk.forecaster.asked if each[:2] == ("stage", stage) and each[2] is not None]  # type: ignore


def test_each_stage_is_forecast_by_what_the_stages_before_it_read_also_after_a_resume(desk: Desk) -> None:
    desk.till(lambda view: view.stage == "HT off load" and view.danger.word == "LIVE")
    desk.compute()
    (first,) = asked(desk, "supply")
    assert [each.stage for each in first] == ["mains", "heaters"]
    assert all(value == 100.0 and each.mains_v == 230.0 for each in first for _, value in each.readings)
    before = desk.session._ledger.earlier
    desk.drop()
    desk.open()
    assert desk.session._ledger.earlier == replace(before, _now={})


def test_a_forecast_by_other_readings_is_never_shown(desk: Desk) -> None:
    desk.till(lambda view: view.stage == "HT off load" and view.danger.word == "LIVE")
    desk.compute()
    assert desk.session.view().forecast == "ready"
    desk.session._ledger.earlier._forget()
    assert desk.session.view().forecast == "computing"
    desk.compute()
    assert desk.session.view().forecast == "ready" and asked(desk, "supply")[-1] == ()


# -- through the engine


@pytest.fixture(scope="module")
def narrowed() -> tuple[dict, dict]:
    """Expectations of the small demo build's driver stage: by nothing earlier, and by its earlier stages' readings."""
    build, volts = load(Path(BUILDS / "pp-6v6.toml")).build, readings.volts("pp-6v6")
    points = {name: point for name, point in build.point.items() if point.quantity != "resistance"}
    earlier = tuple(
        StageRead(stage, 230.0, tuple((id, volts[stage][id]) for id, point in points.items() if stage in point.stages))
        for stage in ("supply", "output")
    )
    plain, by = (RealForecaster().stage(build, "driver", 230.0, each) for each in ((), earlier))
    return dict(plain.expectations), dict(by.expectations)


def test_earlier_readings_narrow_points_read_before_and_give_no_pass_that_was_none(narrowed: tuple[dict, dict]) -> None:
    """Within the window without them at both ends, under the same limits, so no detection can be lost."""
    plain, by = narrowed
    assert list(plain) == list(by)
    for id, there in plain.items():
        here = by[id]
        assert there.low <= here.low < here.nominal < here.high <= there.high
        assert (here.stop_low, here.stop_high, here.guards) == (there.stop_low, there.stop_high, there.guards)
        assert here.plain == there.plain == there.nominal
    shares = [(by[id].high - by[id].low) / (plain[id].high - plain[id].low) for id in plain]
    assert sorted(shares)[len(shares) // 2] < 0.67


def test_what_is_foretold_does_not_move_what_the_file_alone_makes_it() -> None:
    build = load(Path(BUILDS / "pp-6v6.toml")).build
    there = Expectation("ht", "dc", "V", 300.0, 270.0, 330.0)
    here = replace(there, nominal=280.0, low=275.0, high=285.0)
    (found,) = _narrowed(build, [here], [there], (StageRead("supply", 230.0, ()),))
    assert (found.nominal, found.plain) == (280.0, 300.0)


def test_the_reason_names_the_stages_that_narrowed_a_window(narrowed: tuple[dict, dict]) -> None:
    plain, by = narrowed
    said = "Narrowed by what was read before: HT off load, Output valves, no signal."
    for id, here in by.items():
        assert (said in here.why) == (here != plain[id])
    assert any(said in here.why for here in by.values())
