"""Output transformer, turning it, ratings and resistors: against handbook figures, and readings with known truth."""

from __future__ import annotations

import re
from dataclasses import replace
from math import cos, pi, radians, sin, sqrt
from pathlib import Path
from random import Random

import pytest

from benchtui.identify import output, output_section, turning
from benchtui.identify.meter import Meter
from benchtui.identify.output import Output, Through, impedance
from benchtui.identify.rating import (
    Core,
    core_va,
    judged_idle,
    judged_insulation,
    judged_warmth,
    turns_per_volt,
    winding_amps,
)  # fmt: skip
from benchtui.identify.resistors import Measured, pairs
from benchtui.identify.rules import _rules
from benchtui.identify.spans import ONE, Span
from benchtui.identify.turning import Turned, fit
from benchtui.identify.windings import Bench, sort_out
from benchtui.quantities.tolerance import Accuracy
from tests.identify.made_up import METER, Coil, Hand, Made, every_pair, fed, noted, read_as

#: 8 kohm anode to anode, screen taps at 43 %, 8 and 4 ohm on one secondary.
PUSH_PULL = Made((
    Coil(("1", "2", "3", "4", "5"), (1425.0, 1075.0, 1075.0, 1425.0), (82.0, 60.0, 66.0, 90.0)),
    Coil(("6", "7", "8"), (111.8, 46.3), (0.3, 0.2)),
))  # fmt: skip
SINGLE = Made((Coil(("1", "2"), (2500.0,), (210.0,)), Coil(("3", "4"), (100.0,), (0.4,))))


def exact(value: float, off: float = 0.0) -> Span:
    return Span(value, value, value).wider(off)


def noted_output(made: Made, seed: int) -> Output:
    hand = Hand(made, Random(seed))
    whole = made.coils[0].leads[0], made.coils[0].leads[-1]
    across = [each for each in every_pair(made) if each != whole]
    bench = Bench(made.leads, read_as(noted(hand)), (fed(hand, 0, whole, 12.0, across),))  # type: ignore[arg-type]
    through = Through(47e3, exact(0.9, 0.01), exact(9.0, 0.01))
    return Output("T2", bench, 50.0, (8.0, 4.0), without_dc=through, when="2026-11-28", meter="made-up meter")


def test_impedance_is_that_of_the_handbook() -> None:
    """25:1 and 8 ohm are 5 kohm; 4 ohm on the 8 ohm tap reflects 2.5 kohm (n = sqrt(Zp/Zs), any handbook)."""
    turns = exact(25.0)
    assert (impedance(turns, 8.0).value, impedance(turns, 4.0).value) == (5000.0, 2500.0)


def test_a_push_pull_transformer_is_told_with_centre_taps_and_impedance() -> None:
    turns = 5000 / 158.1
    for seed in range(15):
        notes = noted_output(PUSH_PULL, seed)
        found = output.primary(sort_out(notes.bench))
        assert found is not None and found.centre == "3"
        assert [lead for lead, _ in found.taps] == ["2", "4"]
        assert all(share.low <= 0.43 <= share.high for _, share in found.taps), seed
        ratio = output.turns(notes, sort_out(notes.bench), ("6", "8"))
        assert ratio is not None and ratio.low <= turns <= ratio.high
        z = impedance(ratio, 8.0)
        assert z.low <= 8000 <= z.high and z.off < 0.2


def test_the_section_of_an_output_transformer_has_its_nodes_and_halves() -> None:
    notes = replace(noted_output(PUSH_PULL, 3), secondary=("6", "8"), nodes={"1": "v2_a", "5": "v3_a", "3": "ht"})
    section = output_section.section(notes)
    assert 'anodes = ["v2_a", "v3_a"]' in section and 'ht = "ht"' in section
    assert 'screen_taps = { nodes = ["T2_2", "T2_4"], share = "43 %" }' in section
    assert "[salvaged.T2]" in section and output_section.slip(notes).startswith("T2: no label")


def test_no_section_without_the_inductance_that_the_build_file_needs() -> None:
    notes = replace(noted_output(PUSH_PULL, 3), secondary=("6", "8"), without_dc=None)
    step = output.following(notes)
    assert output_section.section(notes) == "" and step is not None and "inductance" in step.name


@pytest.mark.parametrize(("made", "into"), [(PUSH_PULL, None), (SINGLE, "1-2 this time, once more")])
def test_a_ratio_that_was_read_once_is_asked_for_again_where_nothing_else_tells(made: Made, into: str | None) -> None:
    step = output.following(noted_output(made, 2))
    assert step is not None
    assert (into in " ".join(step.how)) if into else "secondary" in step.name


def test_a_second_reading_shows_a_slip_in_the_first() -> None:
    notes = noted_output(SINGLE, 2)
    feed = notes.bench.feeds[0]
    slipped = replace(feed, number=1, reads={each: span.times(10) for each, span in feed.reads.items()})
    twice = replace(notes, bench=replace(notes.bench, feeds=(feed, slipped)))
    assert any(f.severity == "stop" and f.where == ("volts", 1, "reads", "3-4") for f in output.findings(twice))


def test_a_single_ended_one_is_told_as_one() -> None:
    notes = noted_output(SINGLE, 1)
    assert any("single-ended" in f.text for f in output.findings(notes))


def test_inductance_comes_from_the_volts_in_series() -> None:
    """10 H at 50 Hz are 3142 ohm: behind 47 kohm they take 3142 / 47000 of the resistor's volts."""
    volts = 2 * pi * 50 * 10 / 47e3
    henries = Through(47e3, exact(1.0), exact(volts)).henries(50.0)
    assert henries.value == pytest.approx(10.0)


@pytest.mark.parametrize(("left", "word"), [(0.8, "has a gap"), (0.1, "no gap"), (0.4, "does not tell")])
def test_inductance_with_direct_current_tells_the_gap(left: float, word: str) -> None:
    notes = replace(
        noted_output(SINGLE, 1), without_dc=Through(47e3, exact(1.0), exact(1.0)),
        with_dc=Through(47e3, exact(1.0), exact(left)), dc_a=0.06,
    )  # fmt: skip
    assert any(word in f.text for f in output.findings(notes))


def test_sheets_and_inductance_that_disagree_are_told() -> None:
    with_dc = Through(47e3, exact(1.0), exact(0.1))
    notes = replace(
        noted_output(SINGLE, 1), without_dc=Through(47e3, exact(1.0), exact(1.0)), with_dc=with_dc, sheets="one way"
    )
    assert any("opposite" in f.text for f in output.findings(notes))


def volts_at(angle: float, best: float, most: float, least: float) -> float:
    x = radians(angle - best)
    return sqrt((most * sin(x)) ** 2 + (least * cos(x)) ** 2)


@pytest.mark.parametrize("best", [0.0, 37.0, 90.0, 171.0])
def test_three_angles_give_the_angle_of_least_volts(best: float) -> None:
    read = [Turned("left", angle, exact(volts_at(angle, best, 8e-3, 0.4e-3))) for angle in (0.0, 50.0, 110.0)]
    found = fit(read)
    assert found is not None
    assert abs((found.angle - best + 90) % 180 - 90) < 1e-6
    assert (found.least_v, found.most_v) == (pytest.approx(0.4e-3), pytest.approx(8e-3))


def test_angles_a_half_turn_apart_are_one() -> None:
    assert fit([Turned("left", angle, exact(1e-3)) for angle in (0.0, 180.0, 90.0)]) is None


def test_the_least_is_found_within_a_few_degrees_by_a_noisy_meter() -> None:
    random = Random(4)
    for _ in range(50):
        best = random.uniform(0, 180)
        read = []
        for angle in range(0, 180, 30):
            shown = round(volts_at(angle, best, 8e-3, 0.4e-3) * random.uniform(0.99, 1.01) * 1e4) / 1e4
            read.append(Turned("left", float(angle), METER.ac_volts(shown)))
        found = fit(read)
        assert found is not None and abs((found.angle - best + 90) % 180 - 90) < 3


def test_a_flat_round_is_told_as_flat_and_a_real_minimum_as_one() -> None:
    flat = [Turned("left", angle, METER.ac_volts(0.5e-3)) for angle in (0.0, 45.0, 90.0)]
    assert any("does not tell these places apart" in f.text for f in turning.findings(flat))
    real = [Turned("left", a, METER.ac_volts(volts_at(a, 20.0, 20e-3, 0.5e-3))) for a in (0.0, 45.0, 90.0)]
    texts = [f.text for f in turning.findings(real)]
    assert any("least at 20 degrees" in text for text in texts)
    step = turning.following(real)
    assert (
        step is not None and "turn it to 20 degrees" in step.how[-1] and any("live" in line for line in step.cautions)
    )


def test_core_area_gives_the_watts_of_both_published_rules() -> None:
    """sqrt(W) / 5.58 square inches at 60 Hz (Reference Data for Radio Engineers 1946, second hand); 26 A^2 at 50 Hz."""
    inch = 0.0254
    assert core_va(Core(inch, inch), 60.0).value == pytest.approx(5.58**2, rel=1e-6)
    assert core_va(Core(inch, 2 * inch), 50.0).value == pytest.approx(26 * 4, rel=0.01)


def test_turns_a_volt_are_those_of_the_transformer_equation() -> None:
    """V = 4.44 f N B A: 10 cm2, 1.2 T, 50 Hz give 3.75 turns a volt."""
    assert turns_per_volt(Core(0.03125, 0.032), 50.0).value == pytest.approx(3.754, rel=0.002)


def test_the_estimated_current_is_wide_and_holds_a_known_winding() -> None:
    """250 V of 0.2 mm wire on a 32 x 40 mm core: 2.5 A/mm2 of 0.0314 mm2 are 79 mA (own computation from copper)."""
    core = Core(0.032, 0.040)
    turns = turns_per_volt(core, 50.0).value * 250
    ohm = 0.017241 / 0.0314159 * turns * core.mean_turn_m
    span = winding_amps(core, 50.0, 250.0, exact(ohm))
    assert span is not None
    assert span.value == pytest.approx(0.0785, rel=0.01)
    assert span.low < 0.65 * span.value and span.high > 1.5 * span.value


def test_a_winding_that_may_have_no_ohms_has_no_estimate() -> None:
    assert winding_amps(Core(0.03, 0.03), 50.0, 6.3, Span(0.0, 0.1, 0.3)) is None


@pytest.mark.parametrize(("amps", "severity"), [(0.05, "note"), (0.25, "warn"), (0.9, "stop")])
def test_off_load_current_is_judged_beside_the_core(amps: float, severity: str) -> None:
    assert judged_idle(exact(amps, 0.02), 230.0, exact(100.0, 0.35)).severity == severity


@pytest.mark.parametrize(
    ("ohm", "test_v", "severity"),
    [
        (float("inf"), 500, "note"),
        (99e6, 500, "note"),
        (5e6, 500, "warn"),
        (0.9e6, 500, "stop"),
        (float("inf"), 9, "warn"),
        (1e3, 9, "stop"),
    ],
)
def test_insulation_is_judged_and_a_hand_meter_proves_nothing(ohm: float, test_v: float, severity: str) -> None:
    """1 Mohm: IEE Wiring Matters, autumn 2005, p. 16."""
    assert judged_insulation("1-rest", ohm, test_v).severity == severity


def test_warmth_is_the_handbook_s_rise_and_is_not_passed_by_a_coarse_meter() -> None:
    """8.0 to 9.6 ohm from 20 C are 51 K (bench handbook)."""
    fine = [f for f in judged_warmth(exact(8.0), exact(9.6), 20.0, 20.0)]
    assert fine[0].severity == "stop" and "51 K" in fine[0].text
    assert next(judged_warmth(exact(80.0), exact(84.0), 20.0, 20.0)).severity == "note"
    meter = Meter(2000, Accuracy(0.008, 5), Accuracy(0.01, 3), Accuracy(0.005, 3))
    coarse = next(judged_warmth(meter.beside(4.0), meter.beside(4.1), 20.0, 20.0))
    assert coarse.severity == "warn" and "does not tell" in coarse.text


def measured(read: float, off: float = 0.01) -> Measured:
    return Measured(100e3, (-0.05, 0.05), exact(read, off))


@pytest.mark.parametrize(
    ("read", "word"), [(100e3, "yes"), (104.9e3, "the meter does not tell"), (107e3, "no"), (93e3, "no")]
)
def test_a_resistor_is_within_only_where_the_meter_leaves_no_doubt(read: float, word: str) -> None:
    assert measured(read).within == word


def test_pairs_are_those_whose_worst_differs_least() -> None:
    values = {"a": 100e3, "b": 101e3, "c": 102e3, "d": 103.2e3, "e": 180e3}
    found = pairs(list(values), {name: measured(value) for name, value in values.items()})
    assert [(one, other) for one, other, _ in found] == [("a", "b"), ("c", "d")]
    with pytest.raises(ValueError, match="at most 12"):
        pairs([str(n) for n in range(13)], {str(n): measured(1e5) for n in range(13)})


def test_every_figure_has_a_source_and_a_kind() -> None:
    for group, rows in _rules().items():
        for name, row in rows.items():
            assert row["source"] and row["kind"] and ("value" in row) != ("list" in row), (group, name)


def test_spans_only_grow() -> None:
    span = Span(1.9, 2.0, 2.2)
    assert span.by(span).over(span).low <= span.low and span.by(span).over(span).high >= span.high
    assert span.over(ONE) == span and span.within(span) == span


def test_an_inductance_that_no_primary_has_is_told() -> None:
    notes = replace(noted_output(PUSH_PULL, 3), without_dc=Through(47e3, exact(0.9), exact(9.1)))
    assert any("is no inductance" in f.text for f in output.findings(notes))
    fine = replace(notes, without_dc=Through(47e3, exact(9.0), exact(6.0)))
    assert not any(f.severity != "note" for f in output.findings(fine))


def test_nothing_is_ever_called_safe() -> None:
    folder = Path(output.__file__).parent
    files = [*folder.glob("*.py"), *folder.glob("*.toml"), folder.parent / "cli" / "forming.toml"]
    assert len(files) > 20
    assert [file.name for file in files if re.search(r"\bsafe", file.read_text("utf-8"), re.IGNORECASE)] == []
