"""The simulated amplifier reads as the engine says: sound inside its windows, faulty as a build with that part."""

from __future__ import annotations

from functools import cache
from math import isfinite

import pytest

from benchtui.assemble.checked import load_text_checked
from benchtui.buildfile.models import Build
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.run import stage_run
from benchtui.rehearsal.answering import answer
from benchtui.rehearsal.asked import Amplifier, Falling, Falls, Ohms, Outlet, Planted, Powered, Reads, Turned, Warming
from tests.record.counts import count
from tests.rehearsal.bench import BUILDS

SOUND = Amplifier(11)
OPEN_R11 = Planted("resistor-open", "R11", "R11 is open, or a lead of it makes no contact")


def text(name: str) -> str:
    return (BUILDS / f"{name}.toml").read_text("utf-8")


@cache
def build(name: str) -> Build:
    return load_text_checked(text(name), name).build


def reads(of: Build, stage: str, amplifier: Amplifier = SOUND, **named: object) -> Reads:
    found = answer(of, Powered(amplifier, stage, **named))  # type: ignore[arg-type]
    assert isinstance(found, Reads)
    return found


@pytest.mark.parametrize(
    ("name", "stage"),
    count(
        short=[("pp-6v6", "supply"), ("pp-6v6", "output"), ("se-stereo", "output")],
        full=[(name, stage) for name in ("pp-6v6", "se-stereo") for stage in ("supply", "output", "driver", "signal")],
    ),
)
def test_sound_amplifiers_read_inside_their_windows(name: str, stage: str) -> None:
    outside, seeds = 0, range(count(short=4, full=25))
    for seed in seeds:
        amplifier = Amplifier(seed)
        mains_v = round(answer(build(name), Outlet(seed)), 1)
        windows = {e.point: e for e in expect_powered(build(name), stage, mains_v=mains_v).expectations}
        shown = dict(reads(build(name), stage, amplifier).points)
        assert shown.keys() >= windows.keys()
        outside += any(not windows[point].low <= shown[point] <= windows[point].high for point in windows)
    assert outside <= 0.04 * len(seeds)


def test_one_seed_is_one_amplifier_and_another_one_another() -> None:
    of = build("pp-6v6")
    assert reads(of, "output") == reads(of, "output")
    other = reads(of, "output", Amplifier(12))
    assert all(other.at(point) != value for point, value in reads(of, "output").points if value)


def test_a_planted_fault_reads_as_the_same_build_with_that_part_in_it() -> None:
    """The same seed, and the fault written into the build file: only the file's own reader and the engine see it."""
    marked = 'R11 = { nodes = ["v2_k", "0"], stage = "output", value = "470R"'
    assert marked in text("pp-6v6")
    swapped = load_text_checked(text("pp-6v6").replace(marked, marked.replace("470R", "4k7")), "swapped").build
    high = Planted("resistor-ten-times-high", "R11", "R11 is about ten times its value: misread bands")
    planted = dict(reads(build("pp-6v6"), "output", Amplifier(11, high)).points)
    written, sound = dict(reads(swapped, "output").points), dict(reads(build("pp-6v6"), "output").points)
    assert planted.keys() == written.keys()
    for point, volts in planted.items():
        assert volts == pytest.approx(written[point], rel=2e-3, abs=2e-3)
    assert planted["v2_cathode"] > 1.5 * sound["v2_cathode"]


def test_a_fault_is_there_from_the_stage_on_that_fits_its_part() -> None:
    of, faulty = build("pp-6v6"), Amplifier(11, OPEN_R11)
    assert reads(of, "supply", faulty) == reads(of, "supply")
    assert reads(of, "output", faulty) != reads(of, "output")


def test_a_short_blows_its_fuse_and_lights_the_lamp() -> None:
    shorted = Amplifier(11, Planted("capacitor-shorted", "C2", "C2 is shorted"))
    of = build("pp-6v6")
    assert reads(of, "supply", lamp_w=40.0).look == "dark"
    assert reads(of, "supply", shorted, lamp_w=40.0).look == "bright"
    assert reads(of, "supply", shorted).blown == ("F2",)
    assert reads(of, "supply").blown == ()


def test_charge_falls_from_what_was_read_and_is_gone_where_it_was_bled() -> None:
    of, power = build("pp-6v6"), Powered(SOUND, "supply")
    falls = answer(of, Falling(power))
    assert isinstance(falls, Falls) and falls.ht is not None
    volts = [falls.ht.at(seconds) for seconds in (0.0, 1.0, 5.0, 20.0, 60.0, 600.0)]
    assert volts[0] == pytest.approx(reads(of, "supply").at("ht"), rel=1e-2)
    assert volts == sorted(volts, reverse=True) and volts[-1] < 1.0
    bled = answer(of, Falling(power, ((2.0, ("C2", "C3", "C4")),)))
    assert abs(bled.across(("C2",), 0.0)) < 0.05
    assert falls.across(("C2",), 2.0) > 100.0


def test_a_watched_point_warms_up_to_what_it_reads_settled() -> None:
    of, power = build("pp-6v6"), Powered(SOUND, "output")
    course = answer(of, Warming(power, "v2_cathode"))
    assert abs(course.at(1.0)) < 1.0
    assert course.at(60.0) == pytest.approx(reads(of, "output").at("v2_cathode"), rel=2e-2)


def test_a_pot_is_turned_until_the_meter_shows_what_is_wanted() -> None:
    of = build("pp-el34")
    power = Powered(SOUND, "output")
    position = answer(of, Turned(power, "bias_v3", 0.4))
    turned = reads(of, "output", pots=(("P2", position),))
    assert reads(of, "output").at("v3_cathode") < 0.1
    assert turned.at("v3_cathode") == pytest.approx(0.4, abs=2e-3)


def test_ohms_have_the_clip_in_them_where_it_is_on() -> None:
    of = build("pp-6v6")
    ht = of.point["ht"].red
    bare = answer(of, Ohms(SOUND, "supply", ht, "0", "here"))
    clipped = answer(of, Ohms(SOUND, "supply", ht, "0", "here", clips=((ht, "0"),)))
    assert clipped == pytest.approx(1.0 / (1.0 / bare + 1.0 / of.gate.clip), rel=0.05)
    assert not isfinite(answer(of, Ohms(SOUND, "supply", ht, "no node", "here")))


def test_a_trimmed_grid_of_a_sound_amplifier_is_something_behind_the_limiter() -> None:
    """A weak valve's grid is trimmed less negative than the nominal one's: that is no sign that nothing is there."""
    from benchtui.forecast.limited import limited_limits

    of, weak = build("pp-el34"), Amplifier(5)
    run = stage_run(of, "driver")
    pots: tuple[tuple[str, float], ...] = ()
    for adjustment in (*run.targets, *run.targets):
        position = answer(of, Turned(Powered(weak, "driver", pots=pots), adjustment, run.targets[adjustment]))
        pots = tuple({**dict(pots), of.adjust[adjustment].pot: position}.items())
    shown = reads(of, "driver", weak, lamp_w=min(of.bench.lamps), pots=pots)
    least = {e.point: e for e in limited_limits(of, "driver").expectations}
    volts = dict(shown.points)
    for point, by in least.items():
        assert by.low <= volts[point] <= by.high, point


def test_a_weak_valve_takes_its_weakness_along_when_it_is_exchanged() -> None:
    of, weak = build("pp-6v6"), Amplifier(11, Planted("valve-weak", "V2", "V2 is weak", 0))
    here, there = reads(of, "output", weak), reads(of, "output", weak, exchange="V2 and V3 exchanged")
    assert here.at("v2_cathode") < 0.8 * here.at("v3_cathode")
    assert there.at("v3_cathode") < 0.8 * there.at("v2_cathode")
