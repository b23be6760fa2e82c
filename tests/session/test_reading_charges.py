"""What is told of reading a charge: every capacitor of a group, and one on the bench only with a lead across it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from benchtui.buildfile.models import Build
from benchtui.session.forecaster import GateFacts
from tests.session.made_up import BUILDS, Desk, MadeUp


class Grouped(MadeUp):
    """The reservoir stands for a second capacitor behind a resistor."""

    def gate(self, build: Build, stage: str) -> GateFacts:
        facts = super().gate(build, stage)
        reservoirs = tuple(replace(each, parts=(each.id, "C3")) for each in facts.gate.reservoirs)
        return replace(facts, gate=replace(facts.gate, reservoirs=reservoirs))


@pytest.fixture
def grouped(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(BUILDS / "pp-6v6.toml", tmp_path, forecaster=Grouped())
    yield made
    made.drop()


def test_each_capacitor_of_a_group_is_read_and_the_charged_one_is_bled(grouped: Desk) -> None:
    """Behind an open path the reading at the first says nothing of the others."""
    view = grouped.till(lambda view: view.prompt.title.startswith("Round 1") and " with C3" in view.prompt.title)
    assert view.prompt.lines[0].endswith("C3; type the largest: a path between them may be open.")
    view = grouped.type("80")
    assert view.prompt.title.startswith("Bleed") and "C3 that read highest" in view.prompt.lines[-1]
    view = grouped.till(lambda view: view.prompt.title.startswith("Round 2"))
    assert "type the largest" in view.prompt.lines[0]


def test_a_capacitor_alone_is_read_and_nothing_is_said_of_others(desk: Desk) -> None:
    view = desk.till(lambda view: view.prompt.title.startswith("Round 1") and view.step == "gate")
    assert view.prompt.lines[0].startswith("Read ") and "largest" not in " ".join(view.prompt.lines)


def test_a_capacitor_on_the_bench_gets_its_lead_before_it_is_read(desk: Desk) -> None:
    """The reading alone would rest on one meter, which may be asleep or on the wrong kind of volts."""
    view = desk.till(lambda view: view.prompt.title.startswith("Before fitting"))
    lead, then = view.prompt.lines
    assert "2.20 kΩ in an insulated clip lead across it" in lead and "stays on until C1 is fitted" in lead
    assert then.startswith("Then read C1")
