"""The simulated amplifier with a signal: sound inside its windows, with a fault where the trade expects it, a loop that
is the wrong way round a stop, and its cure."""

from __future__ import annotations

from functools import cache

import pytest

from benchtui.buildfile.models import Build
from benchtui.diagnosis.faults import faults
from benchtui.forecast.signal import SignalForecast, expect_signal
from benchtui.forecast.signal_points import signal_points
from benchtui.rehearsal.amplifier import powered_circuit, state_of
from benchtui.rehearsal.answering import answer
from benchtui.rehearsal.asked import Amplifier, Outlet, Planted, Powered, Signal
from benchtui.rehearsal.phase import leads_exchanged, leads_named, turns
from benchtui.rehearsal.planting import shows
from tests.builds.recorded import build
from tests.record.counts import count

SEED = 5
SOUND = Amplifier(SEED)
FEW = 24
ENDS, ANODES = ("spk", "spk_cold"), ("v2_a", "v3_a")


@cache
def equipped(name: str = "pp-6v6") -> Build:
    """A demo build with every instrument."""
    made = build(name).build
    bench = made.bench.model_copy(update={"oscilloscope": True, "sound_card": True, "second_load": 8.0})
    return made.model_copy(update={"bench": bench})


def forecast(stage: str) -> SignalForecast:
    return told(stage, "pp-6v6", SEED)


@cache
def told(stage: str, name: str, seed: int) -> SignalForecast:
    """What sound builds read on this rehearsal's mains, as its outlet shows it."""
    mains_v = round(answer(equipped(name), Outlet(seed)), 1)
    return expect_signal(equipped(name), stage, mains_v=mains_v, samples=FEW)


def reading(point: str, amplifier: Amplifier = SOUND, stage: str = "signal") -> float | None:
    setting = forecast(stage).settings[point]
    return answer(equipped(), Signal(Powered(amplifier, stage), point, setting.input_v))


def off(point: str, planted: Planted | None, stage: str = "signal") -> str:
    """On which side of its window a point reads with a fault; "" inside."""
    value = reading(point, Amplifier(SEED, planted), stage)
    window = next(each for each in forecast(stage).expectations if each.point == point)
    assert value is not None
    return "low" if value < window.low else "high" if value > window.high else ""


def named(kind: str, part: str, size: int = 0, says: str = "") -> Planted:
    """A fault of the amplifier by kind and part."""
    made, of = equipped(), Amplifier(SEED)
    circuit = powered_circuit(made, of, state_of(made, of, "signal"))
    found = next(f for f in faults(made, circuit) if (f.kind, f.part) == (kind, part) and says in f.says)
    return Planted(*found.id, size)


def ends_exchanged(ends: tuple[str, str]) -> Planted:
    return named("leads-exchanged", "T2", says="{} and {}".format(*ends))


@pytest.mark.parametrize(
    ("name", "seed"), count(short=[("pp-6v6", SEED)], full=[(n, s) for n in ("pp-6v6", "se-stereo") for s in range(20)])
)
def test_a_sound_amplifier_reads_inside_every_window_with_every_instrument(name: str, seed: int) -> None:
    made, amplifier, read = equipped(name), Amplifier(seed), {}
    for stage in ("feedback", "signal"):
        windows = told(stage, name, seed)
        points = {point.id for point in signal_points(made, stage)}
        assert points == {each.point for each in windows.expectations} and points
        for each in windows.expectations:
            value = answer(made, Signal(Powered(amplifier, stage), each.point, windows.settings[each.point].input_v))
            read[each.point] = value
            assert value is not None and each.low <= value <= each.high, each.point
        for held in windows.related:
            assert held.low <= read[held.point] / read[held.other] <= held.high, held


@pytest.mark.parametrize(
    ("planted", "point", "side"),
    [
        (("capacitor-open", "C9"), "signal closed", "low"),  # its cathode bypass: the first valve gains less
        (("capacitor-open", "C8"), "signal at V1b", "low"),  # nothing comes through an open coupling capacitor
        (("capacitor-open", "C6"), "signal at V2", "low"),
        (("resistor-ten-times-high", "R25"), "signal closed", "high"),  # a tenth of the feedback
        (("section-dead", "V3"), "signal clip", "low"),  # half an output stage clips earlier
        (("wire-open", "FB"), "signal closed", "high"),  # no feedback at all
        (("capacitor-leaky", "C7"), "signal clip", "low"),  # its valve idles hot: the other half is cold
    ],
)
def test_a_fault_reads_on_the_side_that_the_trade_knows(planted: tuple[str, str], point: str, side: str) -> None:
    assert off(point, named(*planted)) == side


def test_a_dried_filter_capacitor_hums() -> None:
    dry = named("capacitor-open", "C2")
    hum, sound = (
        dict(answer(equipped(), Powered(Amplifier(SEED, each), "signal")).points)["load_ac"] for each in (dry, None)
    )
    assert sound < 1e-4 and hum > 5e-4


@pytest.mark.parametrize("ends", [ENDS, ANODES])
def test_a_loop_the_wrong_way_round_rises_when_it_is_tried_and_howls_when_it_is_closed(ends: tuple[str, str]) -> None:
    wrong = Amplifier(SEED, ends_exchanged(ends))
    tried, before = (reading(f"signal {what}", wrong, "feedback") for what in ("tried", "open"))
    held = next(each for each in forecast("feedback").related if each.point == "signal tried")
    assert held.stop is not None and tried / before > held.stop.value
    load = equipped().point["load_ac"]
    howls = dict(answer(equipped(), Powered(wrong, "signal")).points)["load_ac"]
    clips = reading("signal clip")
    assert load.stop_high is not None and howls > load.stop_high
    assert clips is not None and 0.7 * clips < howls < 1.5 * clips
    assert reading("signal at V1a", wrong) is None  # nothing holds still


@pytest.mark.parametrize("leads", ["anodes", "secondary"])
def test_either_exchange_turns_the_phase_and_both_leave_it(leads: str) -> None:
    wrong, once = ends_exchanged(ENDS), Amplifier(SEED, exchanged=(("T2", leads),))
    cured = Amplifier(SEED, wrong, (("T2", leads),))
    both = Amplifier(SEED, exchanged=(("T2", "anodes"), ("T2", "secondary")))
    sound = reading("signal tried", stage="feedback")
    assert sound is not None
    assert reading("signal tried", once, "feedback") == pytest.approx(
        reading("signal tried", Amplifier(SEED, wrong), "feedback"), rel=0.02
    )
    for each in (cured, both):
        assert reading("signal tried", each, "feedback") == pytest.approx(sound, rel=0.02)


def test_the_fault_of_either_pair_is_one_of_the_phase_and_others_are_not() -> None:
    made = equipped()
    assert turns(made, ends_exchanged(ENDS)) and turns(made, ends_exchanged(ANODES))
    assert not turns(made, ends_exchanged(("v2_a", "ht"))) and not turns(made, named("output-half-open", "T2"))
    assert not turns(made, None)


@pytest.mark.parametrize(
    ("said", "leads"),
    [
        ("T2 anodes", [("T2", "anodes")]),
        ("I exchanged the anode leads of T2.", [("T2", "anodes")]),
        ("t2 secondary", [("T2", "secondary")]),
        ("exchanged anodes and secondary of T2", [("T2", "anodes"), ("T2", "secondary")]),
        ("T2", []),
        ("the anodes", []),
        ("T1 secondary", []),
    ],
)
def test_leads_are_known_by_their_words(said: str, leads: list[tuple[str, str]]) -> None:
    assert list(leads_named(equipped(), said)) == leads
    assert leads_exchanged(equipped(), said) == (bool(leads) and "exchang" in said)


def test_what_a_signal_alone_shows_may_be_planted() -> None:
    """No direct volts tell an open cathode bypass."""
    made, bypass = build("pp-6v6").build, Amplifier(SEED, named("capacitor-open", "C9"))
    still = [point for point, each in made.point.items() if each.quantity == "dc"]
    before, after = (dict(answer(made, Powered(each, "driver")).points) for each in (SOUND, bypass))
    assert all(after[point] == pytest.approx(before[point], rel=1e-6) for point in still)
    assert shows(made, bypass, "feedback") and not shows(made, SOUND, "feedback")


def test_a_floating_or_unknown_point_has_no_reading() -> None:
    assert answer(build("pp-6v6").build, Signal(Powered(SOUND, "signal"), "signal distortion", 0.1)) is None
    assert answer(equipped(), Signal(Powered(SOUND, "signal"), "no such point", 0.1)) is None
