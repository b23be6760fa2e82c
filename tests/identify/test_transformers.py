"""Three made-up transformers with noisy readings: every lead named right, every slip told."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from math import inf
from random import Random

import pytest

from benchtui.identify.leads import Pair, pair
from benchtui.identify.noted import AtMains, Transformer
from benchtui.identify.phase import sense
from benchtui.identify.rating import Core
from benchtui.identify.ratios import Feed
from benchtui.identify.roles import Primary, guess, taps_like
from benchtui.identify.spans import Span
from benchtui.identify.told import Told
from benchtui.identify.transformer import told
from benchtui.identify.windings import Bench, sort_out
from tests.identify.made_up import (
    METER,
    ODD,
    PLAIN,
    TWIN,
    Hand,
    Made,
    bench,
    every_pair,
    fed,
    noted,
    read_as,
    transformer,
    without,
)  # fmt: skip

MADE = {"plain": PLAIN, "twin": TWIN, "odd": ODD}
SEEDS = range(10)
each_made = pytest.mark.parametrize("name", MADE)


def stops(result: Told) -> list[tuple[str | int, ...]]:
    return [finding.where for finding in result.findings if finding.severity == "stop"]


def with_ohms(notes: Transformer, found: Mapping[Pair, float]) -> Transformer:
    return replace(notes, bench=replace(notes.bench, ohms=read_as(found)))


def with_read(notes: Transformer, number: int, leads: Pair, factor: float) -> Transformer:
    """One reading of volts noted `factor` times off."""
    feeds = list(notes.bench.feeds)
    shown = feeds[number].reads[pair(*leads)].value * factor
    feeds[number] = replace(feeds[number], reads={**feeds[number].reads, pair(*leads): METER.ac_volts(shown)})
    return replace(notes, bench=replace(notes.bench, feeds=tuple(feeds)))


@each_made
def test_every_lead_is_put_on_its_winding_in_its_order(name: str) -> None:
    made = MADE[name]
    right = {min(coil.leads, coil.leads[::-1]) for coil in made.coils}
    for seed in SEEDS:
        found = sort_out(bench(made, seed)[0])
        assert not [f for f in found.findings if f.severity != "note"], seed
        orders = {min(w.orders[0].leads, w.orders[0].leads[::-1]) for w in found.windings if len(w.orders) == 1}
        assert (orders, found.single) == (right, made.screens)


@each_made
def test_ratios_and_ohms_lie_within_what_is_told_of_the_meter(name: str) -> None:
    made = MADE[name]
    for seed in SEEDS:
        notes = bench(made, seed)[0]
        found = sort_out(notes)
        scale = made.turns(*next(feed.into for feed in notes.feeds if not feed.joined))
        for leads in every_pair(made):
            span, true = found.volts(leads), abs(made.turns(*leads) / scale)
            assert span is not None and span.low <= true <= span.high, (seed, leads)
        for winding in found.windings:
            for piece in winding.pieces:
                assert piece.ohm is not None and piece.ohm.low <= made.ohm(*piece.leads) <= piece.ohm.high, (
                    seed,
                    piece,
                )


@each_made
def test_the_ratio_of_any_two_windings_is_told_within_a_tenth(name: str) -> None:
    made = MADE[name]
    found = sort_out(bench(made, 1)[0])
    assert max(span.off for span in found.ratios.of.values()) < 0.06


@each_made
def test_the_likely_primary_is_the_primary(name: str) -> None:
    primaries = {"plain": ["1"], "twin": ["1", "4"], "odd": ["1"]}[name]
    for seed in SEEDS:
        assert sorted(winding.leads[0] for winding in guess(sort_out(bench(MADE[name], seed)[0]))) == primaries


def test_taps_are_told_by_their_proportions() -> None:
    for seed in SEEDS:
        found = sort_out(bench(ODD, seed)[0])
        assert (0.0, 110.0, 220.0, 240.0) in taps_like(next(w for w in found.windings if "1" in w.leads)), seed


@each_made
def test_few_ohms_suffice(name: str) -> None:
    made = MADE[name]
    count = len(made.leads)
    for seed in SEEDS:
        found = noted(Hand(made, Random(seed)))
        assert len(found) <= 1.6 * count < count * (count - 1) / 4


def phase(made: Made, seed: int, joint: Pair, across: Pair) -> tuple[Bench, Feed]:
    read, hand = bench(made, seed)
    return read, fed(hand, 2, ("1", "3"), 6.0, [across], (joint,))


@pytest.mark.parametrize(
    ("joint", "across"), [(("3", "6"), ("1", "4")), (("3", "4"), ("1", "6")), (("1", "6"), ("3", "4"))]
)
def test_twin_primaries_are_told_which_way_round_they_lie(joint: Pair, across: Pair) -> None:
    for seed in SEEDS:
        read, feed = phase(TWIN, seed, joint, across)
        known = sort_out(read)
        found = sense(("1", "3"), ("4", "6"), (*read.feeds, feed), known.ratios)
        assert found is not None
        assert {(found.one, found.other)} <= {(("1", "3"), ("6", "4")), (("3", "1"), ("4", "6"))}, seed


def test_twins_joined_against_each_other_are_stopped_before_mains() -> None:
    read, feed = phase(TWIN, 5, ("3", "6"), ("1", "4"))
    notes = Transformer("T1", replace(read, feeds=(*read.feeds, feed)), 230.0, 50.0, screens=("7",))
    right = replace(notes, primary=Primary(("1", "4"), 230.0, (("3", "6"),)))
    wrong = replace(notes, primary=Primary(("1", "6"), 230.0, (("3", "4"),)))
    assert stops(told(right)) == []
    assert ("primary", "joined") in stops(told(wrong))
    assert told(wrong).section == ""


def test_a_series_test_that_reads_neither_sum_nor_difference_is_told() -> None:
    read, feed = phase(TWIN, 5, ("3", "6"), ("1", "4"))
    half = replace(feed, reads={each: span.times(0.5) for each, span in feed.reads.items()})
    notes = Transformer("T1", replace(read, feeds=(*read.feeds, half)), 230.0, 50.0)
    assert ("volts", 2, "reads", "1-4") in stops(told(notes))


@each_made
@pytest.mark.parametrize("factor", [0.1, 10.0])
def test_a_slip_of_the_decimal_in_any_volts_is_told_at_its_place(name: str, factor: float) -> None:
    made = MADE[name]
    notes = transformer(made, 7)
    for number, feed in enumerate(notes.bench.feeds):
        for leads in feed.reads:
            places = stops(told(with_read(notes, number, leads, factor)))
            others = {other.where(leads) for other in notes.bench.feeds}
            others |= {(*other.table, "applied") for other in notes.bench.feeds if other.into == leads}
            assert others & set(places), (number, leads, places)


@each_made
@pytest.mark.parametrize("factor", [0.1, 10.0])
def test_a_slip_of_the_decimal_in_any_ohms_that_count_is_told(name: str, factor: float) -> None:
    """Below 3 ohm a tenth is within a hand meter's last digits."""
    made = MADE[name]
    found = noted(Hand(made, Random(11)))
    notes = transformer(made, 11)
    for leads, value in found.items():
        if 3.0 < value < inf:
            result = told(with_ohms(notes, {**found, leads: value * factor}))
            assert any(where[0] == "ohms" and set(str(where[1]).split("-")) & set(leads) for where in stops(result)), (
                leads
            )


@each_made
def test_a_lead_that_is_taken_for_another_is_told(name: str) -> None:
    made = MADE[name]
    notes = transformer(made, 13)
    feed = notes.bench.feeds[0]
    other = {lead: next(x for x in made.leads if x not in getattr(made.coil(lead), "leads", ())) for lead in made.leads}
    for leads, span in feed.reads.items():
        wrong = pair(leads[0], other[leads[0]])
        reads = {(wrong if each == leads else each): value for each, value in feed.reads.items()}
        keys = {each: "-".join(each) for each in reads}
        feeds = (replace(feed, reads=reads, key=keys), *notes.bench.feeds[1:])
        result = told(replace(notes, bench=replace(notes.bench, feeds=feeds)))
        assert feed.where(wrong) in [where[:4] for where in stops(result)] or stops(result), (leads, span)


@each_made
def test_ohms_noted_at_another_lead_are_told(name: str) -> None:
    made = MADE[name]
    found = noted(Hand(made, Random(17)))
    notes = transformer(made, 17)
    for leads, value in found.items():
        if value < inf and leads[1] != "rest":
            for wrong in (coil.leads[0] for coil in made.coils if leads[0] not in coil.leads):
                slipped = {((leads[0], wrong) if each == leads else each): v for each, v in found.items()}
                assert stops(told(with_ohms(notes, slipped))), (leads, wrong)


@each_made
def test_shorted_turns_pull_the_low_supply_down_and_are_told(name: str) -> None:
    notes = transformer(replace(MADE[name], sag=0.6, drop=0.015), 19)
    assert ("volts", 0, "applied") in stops(told(notes))


def test_halves_of_unequal_volts_are_told() -> None:
    """A tenth of one half's turns shorted out by a burnt layer: volts and ohms of that half are lower."""
    hurt = replace(
        PLAIN,
        coils=(PLAIN.coils[0], replace(PLAIN.coils[1], turns=(268.0, 241.0), ohms=(58.0, 57.0)), *PLAIN.coils[2:]),
    )
    texts = [f.text for f in told(transformer(hurt, 23)).findings if f.severity == "warn"]
    assert any("nearly halves" in text for text in texts)


@pytest.mark.parametrize(("name", "lead"), [("plain", "1"), ("twin", "8"), ("odd", "5")])
def test_a_broken_winding_is_told_as_one_and_its_fuse_is_thought_of(name: str, lead: str) -> None:
    broken = without(MADE[name], lead)
    result = told(transformer(broken, 29))
    texts = [f.text for f in result.findings if f.severity == "stop"]
    assert any("thermal fuse" in text and "Never bridge it" in text for text in texts)
    assert result.section == ""


def test_an_auto_transformer_is_never_offered_as_a_section() -> None:
    alone = Made((ODD.coils[0],))
    read = Bench(alone.leads, read_as(noted(Hand(alone, Random(1)))))  # type: ignore[arg-type]
    result = told(Transformer("T1", read, 230.0, 50.0))
    assert any("auto-transformer" in f.text for f in result.findings if f.severity == "stop")
    joined = Made(
        (replace(PLAIN.coils[0], leads=("1", "4", "10"), turns=(230.0, 200.0), ohms=(9.5, 40.0)), *PLAIN.coils[1:])
    )
    notes = replace(transformer(joined, 3), primary=Primary(("1", "4"), 230.0))
    assert any("auto-" in f.text for f in told(notes).findings if f.severity == "stop")
    assert told(notes).section == ""


def test_one_winding_alone_is_thought_of_as_a_current_transformer() -> None:
    alone = Made((PLAIN.coils[0],))
    read = Bench(alone.leads, read_as(noted(Hand(alone, Random(1)))))  # type: ignore[arg-type]
    assert any("current transformer" in f.text for f in told(Transformer("T1", read, 230.0, 50.0)).findings)


def test_volts_into_a_heater_winding_are_warned_of_with_what_stands_elsewhere() -> None:
    read, hand = bench(PLAIN, 31)
    feed = fed(hand, 0, ("3", "8"), 6.3, [])
    warned = [
        f for f in told(Transformer("T1", replace(read, feeds=(feed,)), 230.0, 50.0)).findings if f.severity == "warn"
    ]
    assert any(f.where == ("volts", 0, "into") and "perhaps" in f.text for f in warned)
    both = told(Transformer("T1", replace(read, feeds=(*read.feeds, replace(feed, number=2))), 230.0, 50.0))
    assert any("about 4" in f.text and "on 2-9" in f.text for f in both.findings if f.severity == "warn")


def test_the_lamp_that_stays_bright_ends_the_work() -> None:
    notes = replace(transformer(PLAIN, 1), primary=Primary(("1", "4"), 230.0), mains=AtMains("bright"))
    assert ("mains", "lamp") in stops(told(notes))


def at_mains(made: Made, hand: Hand, ends: Pair, across: Iterable[Pair]) -> AtMains:
    """What is read with 231 V at these ends of a primary, or of the first of twins in series."""
    turns = abs(made.turns(*ends))
    reads = {pair(*each): hand.volts(231.0 * abs(made.turns(*each)) / turns) for each in across}
    spans = {each: METER.ac_volts(value) for each, value in reads.items()}
    return AtMains("dark", METER.ac_volts(hand.volts(231.0)), spans, {each: "-".join(each) for each in reads})


def test_volts_at_mains_that_contradict_the_ratio_are_told() -> None:
    read, hand = bench(PLAIN, 37)
    good = at_mains(PLAIN, hand, ("1", "4"), [("2", "9"), ("3", "8")])
    notes = Transformer("T1", read, 230.0, 50.0, primary=Primary(("1", "4"), 230.0), mains=good)
    assert stops(told(notes)) == []
    bad = replace(good, reads={**good.reads, ("2", "9"): Span(380.0, 385.0, 390.0)})
    assert ("mains", "reads", "2-9") in stops(told(replace(notes, mains=bad)))


@each_made
def test_no_step_names_mains_before_ohms_ratios_and_insulation(name: str) -> None:
    made = MADE[name]
    notes = Transformer("T1", Bench(made.leads, read_as({})), 230.0, 50.0)  # type: ignore[arg-type]
    first = told(notes)
    assert first.next is not None and first.next.name == "which leads belong together"
    ohms = told(with_ohms(notes, noted(Hand(made, Random(2)))))
    assert ohms.next is not None and ohms.next.name == "ratios by a few isolated volts"
    assert not any("MAINS KILLS" in line for line in ohms.next.cautions)
    whole = told(transformer(made, 2))
    assert whole.next is not None and "mains" not in whole.next.name


@pytest.mark.parametrize("name", ["plain", "twin"])
def test_volts_at_mains_narrow_what_a_winding_gives_and_still_hold_the_truth(name: str) -> None:
    made = MADE[name]
    joint = () if name == "plain" else (("3", "6"),)
    for seed in range(15):
        read, hand = bench(made, seed)
        if joint:
            read = replace(read, feeds=(*read.feeds, fed(hand, 2, ("1", "3"), 6.0, [("1", "4")], joint)))
        turns = made.turns("1", "4", joint)
        across = [("2", "9")] if name == "plain" else [("8", "9")]
        reads = {each: METER.ac_volts(hand.volts(231.0 * made.turns(*each) / turns)) for each in across}
        mains = AtMains("dark", METER.ac_volts(hand.volts(231.0)), reads, {each: "-".join(each) for each in reads})
        notes = Transformer(
            "T1", read, 230.0, 50.0, Primary(("1", "4"), 230.0, joint), mains=mains, screens=made.screens
        )
        result = told(notes)
        assert stops(result) == [] and result.section, seed
        low, high = re.findall(r"HT[^:]*: .*?\(([\d.]+) to ([\d.]+)\)", texts_of(result))[0]
        true = made.turns(*across[0]) / turns * 230 / (2 if name == "plain" else 1)
        assert float(low) <= true <= float(high), (seed, low, high)
        assert float(high) / float(low) < 1.12


def texts_of(result: Told) -> str:
    return "\n".join(finding.text for finding in result.findings)


def test_a_screen_whose_turn_never_comes_is_told_by_what_the_others_read() -> None:
    """The last lead of all has no entry of its own: each other one said that the rest was open."""
    made = replace(PLAIN, screens=("10",))
    texts = texts_of(told(transformer(made, 2)))
    assert "10: open to every other lead. A screen" in texts


def test_mains_noted_as_a_low_feed_stops_the_work() -> None:
    read, hand = bench(PLAIN, 3)
    feed = fed(hand, 2, ("1", "4"), 230.0, [])
    assert ("volts", 2, "applied") in stops(
        told(Transformer("T1", replace(read, feeds=(*read.feeds, feed)), 230.0, 50.0))
    )


def test_leads_from_one_point_are_asked_about_and_hold_the_work_up() -> None:
    twice = replace(
        PLAIN,
        coils=(replace(PLAIN.coils[0], leads=("1", "4", "10"), turns=(230.0, 0.0), ohms=(9.5, 0.0)), *PLAIN.coils[1:]),
    )
    result = told(transformer(twice, 3))
    assert result.next is not None and "read alike" in result.next.name
    assert result.section == ""


def test_insulation_counts_from_any_lead_of_the_winding() -> None:
    notes = replace(transformer(PLAIN, 1), primary=Primary(("1", "4"), 230.0), core=Core(0.032, 0.04))
    asked = told(replace(notes, insulation={"4-rest": 400e6}, test_v=500.0)).next
    assert asked is not None and asked.name == "insulation of the winding of 2"
    done = told(replace(notes, insulation={"4-rest": 400e6, "9-core": inf}, test_v=500.0)).next
    assert done is not None and done.name == "first mains, through the lamp"


def test_current_without_a_core_is_never_passed_in_silence() -> None:
    notes = replace(
        transformer(PLAIN, 1), primary=Primary(("1", "4"), 230.0), mains=AtMains("dark", amps=Span(0.5, 0.5, 0.5))
    )
    assert any(f.where == ("mains", "amps") and f.severity == "warn" for f in told(notes).findings)


@pytest.mark.parametrize(
    ("name", "ends", "volts"),
    [
        ("plain", ("3", "8"), 230.0),
        ("plain", ("6", "7"), 230.0),
        ("odd", ("1", "2"), 230.0),
        ("odd", ("3", "4"), 230.0),
        ("twin", ("10", "12"), 230.0),
    ],
)
def test_leads_with_too_few_turns_for_the_mains_are_stopped(name: str, ends: Pair, volts: float) -> None:
    for seed in range(5):
        result = told(replace(transformer(MADE[name], seed), primary=Primary(ends, volts)))
        assert ("primary", "ends") in stops(result) and result.section == ""


@pytest.mark.parametrize(
    ("name", "ends", "volts"), [("plain", ("1", "4"), 230.0), ("odd", ("1", "3"), 220.0), ("odd", ("1", "4"), 240.0)]
)
def test_the_right_ends_are_not_stopped(name: str, ends: Pair, volts: float) -> None:
    for seed in range(5):
        assert stops(told(replace(transformer(MADE[name], seed), primary=Primary(ends, volts)))) == []
