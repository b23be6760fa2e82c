"""What is said of limits, signs, lamps, pots and mains, in words that hold at the bench."""

from __future__ import annotations

import re
from math import inf, nan

import pytest

from benchtui.procedure import events as e
from benchtui.session import figures, wording
from tests.session.made_up import Desk


@pytest.mark.parametrize(
    ("value", "low", "said"),
    [
        (24.1, False, "stop above 24.1 V"),
        (5.04, True, "stop below 5.04 V"),
        (-25.4, False, "stop if less negative than -25.4 V"),
        (-60.0, True, "stop if more negative than -60.0 V"),
    ],
)
def test_a_negative_limit_is_told_by_how_negative_a_reading_is(value: float, low: bool, said: str) -> None:
    assert figures.stop(value, low=low) == said


@pytest.mark.parametrize(("nominal", "high"), [(-35.0, -30.0), (nan, -20.0)])
def test_a_reading_of_the_wrong_sign_asks_for_the_sign_and_carries_its_unit(nominal: float, high: float) -> None:
    """The bias rail typed as 5, nominal known and (under the limiter) not."""
    read = e.PointStopped("bias_rail", "5", 5.0, nominal, -inf, high, ("C6 is an electrolytic",))
    said = wording.power_off(read, "Bias rail", "V")
    assert said.startswith("5.000 V at Bias rail: C6 is an electrolytic") and "minus sign missing" in said
    right = e.PointStopped("bias_rail", "-105", -105.0, nominal, -inf, high, ("C6 is rated for 100 V",))
    assert "sign" not in wording.power_off(right, "Bias rail", "V")


def test_mains_above_what_the_tap_was_computed_for_is_refused_before_any_power(desk: Desk) -> None:
    desk.till(lambda view: view.prompt.title == "Mains now")
    view = desk.type("261")
    assert view.banner is not None and view.banner.kind == "refused" and view.danger.word == "CLOSING"
    assert "too high for the 230 V tap" in view.banner.text and "240 V" in view.banner.text
    assert desk.type("252").prompt.title == "First power"


def test_first_power_names_the_order_the_clips_and_the_lamp_to_take(desk: Desk) -> None:
    view = desk.till(lambda view: view.prompt.title == "First power")
    order, _, best = view.prompt.lines
    places = [order.index(word) for word in ("Amplifier off", "clip black", "Limiter", "plug in", "switch")]
    assert places == sorted(places) and "heater tag a of T1" in order
    assert best.startswith("Best the 40 W lamp: ") and best.endswith("Then switch on.")


def test_between_two_live_ends_both_leads_are_clipped_on_with_the_plug_out(desk: Desk) -> None:
    view = desk.till(lambda view: view.prompt.title == "Heater winding")
    assert any("plug out, clip both leads on" in line for line in view.prompt.lines)
    assert view.prompt.probes and view.prompt.probes.hand.startswith("hands off")
    view = desk.till(lambda view: view.prompt.title == "Heater leg a to chassis")
    assert any("lift red" in line for line in view.prompt.lines)
    assert view.prompt.probes and view.prompt.probes.hand == "one hand" and "range" in view.prompt.probes.meter


def test_an_insulation_tester_is_proved_first_and_its_volts_are_told_before_it_is_held(desk: Desk) -> None:
    seen = [view.prompt for view in desk.go(lambda view: view.prompt.title == "Live to chassis")]
    assert "Primary, through fuse and switch" in [prompt.title for prompt in seen]
    line = desk.session.view().prompt.lines[-1]
    assert "leads joined first" in line and "500 V" in line and "discharge" in line


def test_a_pot_has_one_target_and_is_turned_one_way(fixed_bias: Desk) -> None:
    fixed_bias.till(lambda view: view.prompt.title == "Trim P2")
    view = fixed_bias.type("123")
    assert view.prompt.lines[1] == "Turn anticlockwise: 23.0 V too high."
    assert not any("healthy" in line for line in view.why)
    assert fixed_bias.type("91").prompt.lines[1] == "Turn clockwise: 9.00 V too low."


def test_with_hands_in_the_clip_is_told_first(desk: Desk) -> None:
    view = desk.till(lambda view: view.danger.word == "DEAD AS MEASURED" and view.stage == "Output valves, no signal")
    assert re.fullmatch(r"at \d\d:\d\d: clip on; C1 .*; meter proved before, after", view.danger.detail)
    assert len(f"   {view.danger.word}   {view.danger.detail}") < 80


def test_a_chassis_that_never_met_mains_is_asked_for_no_lead_and_told_of_none(desk: Desk) -> None:
    desk.till(lambda view: view.prompt.title == "Did this chassis ever meet mains?")
    desk.type("never")
    view = desk.type("no lead")
    assert view.prompt.items[0].text == "no mains lead attached" and view.danger.detail.startswith("no lead as typed")
