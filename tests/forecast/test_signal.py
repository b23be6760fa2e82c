"""What is read with a signal: against the feedback formula, against a loop that is wired the wrong way round, and what
is never asked for. Gains, corners, power and distortion themselves are held against ngspice in tests/circuit.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from benchtui.buildfile.models import Build
from benchtui.circuit.signal import gain, output_ohms
from benchtui.forecast.signal import Setting, SignalForecast, expect_signal
from benchtui.forecast.signal_bench import nominal_channel, tried_ohm
from benchtui.forecast.signal_path import signal_paths
from benchtui.forecast.signal_points import signal_points, unmeasured
from tests.builds.recorded import build

NAMES = ("pp-6v6", "pp-el34", "se-stereo")
FEW = 24


def demo(name: str, **bench: object) -> Build:
    """A demo build with these instruments beside its own."""
    made = build(name).build
    return made.model_copy(update={"bench": made.bench.model_copy(update=bench)})


@cache
def whole(stage: str) -> SignalForecast:
    """All of pp-6v6 with every instrument."""
    owned = {"oscilloscope": True, "sound_card": True, "second_load": 8.0}
    return expect_signal(demo("pp-6v6", **owned), stage, samples=FEW)


def nominal(forecast: SignalForecast, id: str) -> float:
    return next(each.nominal for each in forecast.expectations if each.point == id)


def test_feedback_lowers_the_gain_as_the_feedback_formula_says() -> None:
    """A / (1 + A b), b = foot / (foot + resistor): textbook, as in a handbook's table of worked examples. The foot is
    in the cathode's own current too, which the formula leaves out: 4 %."""
    off, on = whole("feedback"), whole("signal")
    a = nominal(off, "signal open") / off.settings["signal open"].input_v
    tried = nominal(off, "signal tried") / off.settings["signal tried"].input_v
    closed = nominal(on, "signal closed") / on.settings["signal closed"].input_v
    assert closed == pytest.approx(a / (1.0 + a * 100.0 / 1600.0), rel=0.04)
    assert tried == pytest.approx(a / (1.0 + a * 100.0 / (100.0 + 1500.0 + 15000.0)), rel=0.04)


@pytest.mark.parametrize("name", NAMES)
def test_a_loop_the_wrong_way_round_is_a_stop_when_it_is_tried_and_a_sound_one_passes(name: str) -> None:
    made = build(name).build
    path = signal_paths(made)[0]
    related = next(
        r for r in expect_signal(made, "feedback", samples=FEW).related if r.point.startswith("signal tried")
    )
    part = made.output_transformer[path.transformer]
    turned = part.model_copy(update={"secondary": part.secondary[::-1]})
    wrong = made.model_copy(update={"output_transformer": {**made.output_transformer, path.transformer: turned}})

    def ratio(of: Build) -> float:
        tried, off = (nominal_channel(of, path, None, lead).volts(part.secondary)[0] for lead in ("tried", "off"))
        return tried / off

    assert related.stop is not None and "exchange" in related.stop.reason and "never both" in related.stop.reason
    assert ratio(wrong) > related.stop.value
    assert related.low < ratio(made) < related.high < 1.0


def test_each_window_holds_its_nominal_and_what_may_be_less_begins_at_nothing() -> None:
    for forecast in (whole("feedback"), whole("signal")):
        for each in forecast.expectations:
            assert each.low <= each.nominal <= each.high, each
    told = {each.point: each for each in whole("signal").expectations}
    for id in ("signal low corner", "signal overshoot", "signal symmetry", "signal distortion"):
        assert told[id].low == 0.0
    assert told["signal high corner"].high == np.inf


def test_a_second_load_divides_with_the_output_impedance() -> None:
    """V with R' against V with R: R' (R + Z) / (R (R' + Z)), Ohm's law with the Z that is seen at the load."""
    made = demo("pp-6v6", second_load=8.0)
    path = signal_paths(made)[0]
    of = nominal_channel(made, path, None, "closed")
    z = output_ohms(of.operating, ("spk", "spk_cold"), np.array([of.hz]), load="LOAD")[0, 0]
    related = next(r for r in whole("signal").related if r.point == "signal second load")
    assert related.nominal == pytest.approx(abs(4.0 * (8.0 + z) / (8.0 * (4.0 + z))), rel=1e-6)


def test_distortion_is_told_by_harmonic() -> None:
    told = next(each for each in whole("signal").expectations if each.point == "signal distortion")
    assert told.why and all(f"{number}: " in told.why[0] for number in (2, 3, 4, 5))


def test_levels_are_what_makes_an_eighth_of_a_watt() -> None:
    """1 V across 8 ohm: own decision, in two digits."""
    made = build("pp-6v6").build
    setting = whole("signal").settings["signal closed"]
    of = nominal_channel(made, signal_paths(made)[0], None, "closed")
    source = of.source
    found = np.abs(gain(of.operating, source, [("spk", "spk_cold"), (source.pos, source.neg)], np.array([setting.hz])))
    assert setting == Setting(float(f"{setting.input_v:.1e}"), 400.0)
    assert setting.input_v * found[0, 0, 0] / found[0, 1, 0] == pytest.approx(1.0, rel=0.03)


@pytest.mark.parametrize("name", NAMES)
def test_no_probe_is_sent_to_an_output_anode(name: str) -> None:
    made = build(name).build
    anodes = {node for part in made.output_transformer.values() for node in part.anodes}
    read = [p for stage in ("feedback", "signal") for p in signal_points(made, stage)]
    assert read and not {node for point in read for node in (point.red, point.black)} & anodes


def test_across_a_floating_output_nothing_earthed_is_asked_for() -> None:
    made = demo("pp-6v6", oscilloscope=True, sound_card=True)
    floating = made.model_copy(update={"link": {k: v for k, v in made.link.items() if k != "SPK0"}})
    assert {p.what for p in signal_points(made, "signal")} - {p.what for p in signal_points(floating, "signal")} == {
        "low corner", "high corner", "overshoot", "symmetry", "distortion",
    }  # fmt: skip
    assert any("floating" in lacks for lacks, _ in unmeasured(floating))


def test_without_instruments_what_needs_them_is_not_measured() -> None:
    lacking = dict((point.what, lacks) for lacks, point in unmeasured(demo("pp-6v6", oscilloscope=False)))
    assert lacking["distortion"] == "sound card" and lacking["low corner"] == "oscilloscope or sound card"
    assert lacking["second load"] == "second load resistor"


def test_with_a_player_for_a_generator_a_corner_takes_captures() -> None:
    lacking, by_card = (
        dict(
            (point.what, lacks)
            for lacks, point in unmeasured(demo("pp-6v6", oscilloscope=True, generator=False, sound_card=card))
        )
        for card in (False, True)
    )
    assert lacking["low corner"] == lacking["high corner"] == "sine generator" and "overshoot" not in lacking
    assert not {"low corner", "high corner"} & set(by_card)


def test_the_lead_is_tried_through_ten_times_its_resistor() -> None:
    assert [tried_ohm(signal_paths(build(name).build)[0]) for name in NAMES] == [15e3, 39e3, 10e3]


def test_each_channel_has_its_own_way() -> None:
    left, right = signal_paths(build("se-stereo").build)
    assert (left.input, left.load, left.feedback, left.volumes) == ("J1L", "LOADL", "FBL", ("P1L",))
    assert [section.id for section, _ in right.small] == ["V1tR"] and [s.id for s in right.output] == ["V1pR"]
