"""The ratings review: sound amplifiers get nothing worse than a note, and each weak part is told."""

from __future__ import annotations

from functools import cache

import pytest

from benchtui.buildfile.models import Build
from benchtui.forecast.results import Finding
from benchtui.forecast.review import review
from tests.reference.amplifiers import build


@cache
def sound() -> tuple[Finding, ...]:
    return review(build("a").build)


def changed(table: str, part: str, **fields: object) -> Build:
    made = build("a").build
    entries = dict(getattr(made, table))
    entries[part] = entries[part].model_copy(update=fields)
    return made.model_copy(update={table: entries})


def rules(made: Build) -> set[tuple[str, str, str]]:
    return {(finding.severity, finding.part, finding.rule) for finding in review(made)}


def test_a_sound_amplifier_gets_notes_only() -> None:
    assert {finding.severity for finding in sound()} <= {"note"}


@pytest.mark.parametrize(
    ("table", "part", "fields", "wanted"),
    [
        # 280 V rms halves: 1.1 x 396 V crest is 435 V, less what the bleeders drop in the 5Y3GT: 409 V with cold valves
        ("capacitor", "C1", {"volts": 400.0}, ("stop", "C1", "capacitor-volts")),
        ("capacitor", "C1", {"volts": 420.0}, ("note", "C1", "capacitor-volts")),
        # coupling capacitor: the whole cold HT stands across it
        ("capacitor", "C22", {"volts": 250.0}, ("stop", "C22", "capacitor-volts")),
        ("capacitor", "C1", {"nodes": ("0", "bp1")}, ("stop", "C1", "electrolytic-reversed")),
        # 560 ohm with 32 mA: 0.57 W
        ("resistor", "R11", {"watts": 0.5}, ("stop", "R11", "resistor-watts")),
        ("resistor", "R1", {"volts": 350.0}, ("stop", "R1", "resistor-volts")),
        ("capacitor", "C1", {"value": 50e-6}, ("stop", "V4a", "first-capacitor")),
        ("fuse", "F1", {"amps": 0.05}, ("warn", "F1", "fuse-current")),
        ("choke", "L1", {"amps": 0.05}, ("stop", "L1", "choke-current")),
        ("resistor", "R1", {"value": 2e6}, ("warn", "C2", "slow-bleeder")),
    ],
)
def test_a_weak_part_is_found(table: str, part: str, fields: dict[str, object], wanted: tuple[str, str, str]) -> None:
    found = rules(changed(table, part, **fields))
    assert wanted in found
    assert wanted not in {(f.severity, f.part, f.rule) for f in sound()}


def test_a_finding_carries_value_limit_and_source() -> None:
    finding = next(f for f in review(changed("capacitor", "C1", volts=400.0)) if f.rule == "capacitor-volts")
    assert finding.limit == 400.0 and finding.value is not None and 400.0 < finding.value < 435.0
    assert finding.source


def test_high_mains_alone_can_pass_a_rating() -> None:
    made = build("a").build
    wide = made.model_copy(update={"mains": made.mains.model_copy(update={"spread": 0.4})})
    assert ("stop", "C1", "capacitor-volts") in rules(wide)
