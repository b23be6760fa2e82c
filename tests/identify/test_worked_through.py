"""Each made-up transformer worked through from nothing to the section, by someone who does what each step says."""

from __future__ import annotations

import re
from dataclasses import replace
from random import Random

import pytest

from benchtui.identify.leads import Pair, pair
from benchtui.identify.noted import AtMains, Transformer, Warm
from benchtui.identify.rating import Core
from benchtui.identify.roles import Primary
from benchtui.identify.told import Step
from benchtui.identify.transformer import told
from benchtui.identify.windings import Bench
from tests.identify.made_up import METER, ODD, PLAIN, TWIN, Hand, Made, every_pair, fed, noted, read_as

MADE = {"plain": PLAIN, "twin": TWIN, "odd": ODD}
ORDER = [
    "which leads belong together", "ratios by a few isolated volts", "the same ratios from another winding",
    "how the two equal windings lie to each other", "say which is the primary", "the size of the core", "insulation",
    "first mains, through the lamp", "volts and current at mains", "warm after 30 minutes",
]  # fmt: skip
MOST_STEPS = 20


def leads(text: str) -> Pair:
    a, b = text.split("-")
    return a, b


class Builder:
    """Does what a step says, with a noisy meter; reads the step's own words for where to put it."""

    def __init__(self, made: Made, seed: int) -> None:
        self.made, self.hand = made, Hand(made, Random(seed))
        self.notes = Transformer("T1", Bench(made.leads, read_as({})), 230.0, 50.0, screens=made.screens)  # type: ignore[arg-type]

    def feed(self, into: Pair, across: list[Pair], joined: tuple[Pair, ...] = ()) -> None:
        bench = self.notes.bench
        feed = fed(self.hand, len(bench.feeds), into, 6.0, across, joined)
        self.notes = replace(self.notes, bench=replace(bench, feeds=(*bench.feeds, feed)))

    def does(self, step: Step) -> None:
        words = " ".join(step.how)
        if step.name == ORDER[0]:
            self.notes = replace(self.notes, bench=replace(self.notes.bench, ohms=read_as(noted(self.hand))))  # type: ignore[arg-type]
        elif step.name == ORDER[1]:
            into = leads(re.search(r"into (\S+?):", words)[1])  # type: ignore[index]
            self.feed(into, [each for each in every_pair(self.made) if each != into])
        elif step.name == ORDER[2]:
            into = leads(re.search(r"into (\S+) this time", words)[1])  # type: ignore[index]
            self.feed(into, [leads(each) for each in re.findall(r"(\d+-\d+) \(about", words)])
        elif step.name == ORDER[3]:
            a, b, c, d, e, f = re.search(
                r"join (\d+) and (\d+)\. .* into (\d+)-(\d+) again.* across (\d+) and (\d+)", words
            ).groups()  # type: ignore[union-attr]
            self.feed((c, d), [(e, f)], ((a, b),))
        elif step.name == ORDER[4]:
            found = re.search(r'ends = "(\S+?)"(?:, joined = \["(\S+)"\])?, volts = "(\d+) V"', words)
            assert found is not None
            joined = (leads(found[2]),) if found[2] else ()
            self.notes = replace(self.notes, primary=Primary(leads(found[1]), float(found[3]), joined))
        else:
            self.does_more(step, words)

    def does_more(self, step: Step, words: str) -> None:
        """What comes once the primary is known."""
        if step.name.startswith(ORDER[5]):
            self.notes = replace(self.notes, core=Core(0.032, 0.040))
        elif step.name.startswith(ORDER[6]):
            lead = step.name.rsplit(" ", 1)[1]
            insulation = {**self.notes.insulation, f"{lead}-rest": 300e6}
            self.notes = replace(self.notes, insulation=insulation, test_v=500.0)
        elif step.name.startswith(ORDER[7]):
            self.notes = replace(self.notes, mains=AtMains("dark"))
        elif step.name.startswith(ORDER[8]):
            self.notes = replace(self.notes, mains=self.at_mains(words))
        else:
            assert step.name == ORDER[9]
            self.notes = replace(self.notes, warm=Warm(METER.beside(88.2), METER.beside(92.0), 20.0, 21.0))

    def at_mains(self, words: str) -> AtMains:
        primary = self.notes.primary
        assert primary is not None
        turns = abs(self.made.turns(*primary.ends, primary.joined))
        across = [leads(each) for each in re.findall(r"(\d+-\d+) \(about", words)]
        reads = {pair(*each): self.hand.volts(abs(self.made.turns(*each)) / turns * 231.0) for each in across}
        spans = {each: METER.ac_volts(volts) for each, volts in reads.items()}
        keys = {each: "-".join(each) for each in reads}
        return AtMains("dark", METER.ac_volts(self.hand.volts(231.0)), spans, keys, METER.ac_volts(0.05))


@pytest.mark.parametrize("name", MADE)
def test_a_builder_who_does_what_is_asked_comes_to_the_section(name: str) -> None:
    made = MADE[name]
    for seed in range(6):
        builder, asked = Builder(made, seed), []
        while (step := told(builder.notes).next) is not None:
            asked.append(step.name)
            assert len(asked) <= MOST_STEPS, asked
            builder.does(step)
        result = told(builder.notes)
        assert [f for f in result.findings if f.severity != "note"] == [], seed
        assert "[transformer.T1]" in result.section and "[salvaged.T1]" in result.section and result.slip
        places = [next(n for n, begins in enumerate(ORDER) if each.startswith(begins)) for each in asked]
        assert places == sorted(places), asked


@pytest.mark.parametrize("name", MADE)
def test_the_emf_of_every_winding_in_the_section_holds_the_truth(name: str) -> None:
    made = MADE[name]
    for seed in range(6):
        builder = Builder(made, seed)
        while (step := told(builder.notes).next) is not None:
            builder.does(step)
        primary = builder.notes.primary
        assert primary is not None
        turns = abs(made.turns(*primary.ends, primary.joined))
        rows = re.findall(r"# leads (\d+)-(\d+): \S+ V \((\S+) to (\S+)\)", told(builder.notes).section)
        secondaries = sum(len(coil.turns) for coil in made.coils if primary.ends[0] not in coil.leads)
        assert len(rows) == secondaries - (2 if primary.joined else 0), rows
        for a, b, low, high in rows:
            true = abs(made.turns(a, b)) / turns * primary.volts
            assert float(low) * 0.9999 <= true <= float(high) * 1.0001, (seed, a, b)
            assert float(high) / float(low) < (1.18 if primary.joined else 1.13)
