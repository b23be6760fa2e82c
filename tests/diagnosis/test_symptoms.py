"""What an amplifier does when it has stopped working moves how likely each fault is, and no more than that."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from benchtui.buildfile.load import load
from benchtui.diagnosis.answer import NONE_SAYS, considering, diagnose, ranked
from benchtui.diagnosis.kinds import kinds
from benchtui.diagnosis.symptoms import listed, roles, symptoms
from benchtui.forecast.given import Given
from tests.reference import amplifiers

BUILD = amplifiers.build("a").build
STEREO = load(Path(__file__).parents[2] / "builds" / "se-stereo.toml").build
NOMINAL = amplifiers.nominal("a")["supply"]["test_points"]


@cache
def shares(*ids: str, worked: bool = True, read: bool = False) -> dict[tuple[str, str | None], float]:
    """How likely faults of the supply are, by kind and part, without a reading or with sound ones."""
    readings = {name: each["meter_10M"] for name, each in NOMINAL.items() if name in BUILD.point} if read else {}
    given = Given("supply", 230.0 if read else None, readings, symptoms=ids, worked=worked)
    found: Counter[tuple[str, str | None]] = Counter()
    for each in ranked(*considering(BUILD, given, fuses_seen=False)):
        found[each.fault, each.part] += each.probability  # type: ignore[assignment]
    return found


def of(kind: str, found: dict[tuple[str, str | None], float]) -> float:
    return sum(share for (fault, _), share in found.items() if fault == kind)


@pytest.mark.parametrize("ids", [(), ("hum",), ("no-sound", "fuse-black"), tuple(symptoms())])
def test_all_probabilities_sum_to_one_whatever_is_told(ids: tuple[str, ...]) -> None:
    assert sum(shares(*ids).values()) == pytest.approx(1.0)


def test_hum_speaks_for_a_smoothing_capacitor_and_no_sound_for_a_fuse() -> None:
    hum, silent, plain = shares("hum"), shares("no-sound"), shares()
    smoothing = [("capacitor-open", id) for id in BUILD.capacitor if ("capacitor-open", id) in plain]
    assert smoothing and all(hum[each] > 1.5 * plain[each] for each in smoothing)
    assert of("fuse-open", silent) > of("fuse-open", plain) > of("fuse-open", hum)


def test_a_black_fuse_speaks_for_a_short_and_a_parted_one_for_the_fuse_itself() -> None:
    black, parted = shares("fuse-black"), shares("fuse-parted")
    assert of("capacitor-shorted", black) > 3.0 * of("capacitor-shorted", parted)
    assert of("fuse-open", parted) > 5.0 * of("fuse-open", black)


def test_an_amplifier_that_stopped_working_is_not_thought_to_be_sound_before_it_is_read() -> None:
    assert of("none", shares()) < 0.15 < 0.7 < of("none", shares(worked=False))


def test_readings_say_more_than_symptoms() -> None:
    assert of("none", shares("hum", read=True)) > 2.0 * of("none", shares("hum"))


def test_in_a_finished_amplifier_nothing_was_just_wired() -> None:
    now, worked = shares("hum", worked=False), shares("hum")
    wired = ("resistor-open", "R2")
    since = ("winding-open", "W_HT1")
    assert worked[wired] / worked[since] < now[wired] / now[since]


def test_what_only_hands_do_wrong_has_not_come_since_it_worked() -> None:
    now, worked = shares("hum", worked=False), shares("hum")
    by_hands, by_age = (("resistor-ten-times-high", "R3"), ("resistor-open", "R3"))
    assert worked[by_hands] / worked[by_age] < 0.1 * now[by_hands] / now[by_age]


def test_every_symptom_names_kinds_and_roles_that_there_are() -> None:
    known = {role for build in (BUILD, STEREO) for own in roles(build).values() for role in own}
    for each in (*symptoms().values(), listed()["worked"]):
        assert each.asked in ("symptoms", "look", "") and each.moves
        for move in each.moves:
            assert move.kinds <= kinds().keys() and move.roles <= known
            assert move.factor > 0.0 and not np.isclose(move.factor, 1.0)


def test_readme_tells_every_symptom() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    assert all(f"`{id}`" in readme for id in symptoms())


def test_channels_are_told_from_what_both_share() -> None:
    found = roles(STEREO)
    assert {"channel"} <= found["C13L"] & found["C13R"] & found["V1L.heater"]
    assert "shared" in found["C1"] and "shared" in found["S1L"] and "channel" not in found["S1L"]


def test_a_record_with_symptoms_is_no_pass() -> None:
    readings = {name: each["meter_10M"] for name, each in NOMINAL.items() if name in BUILD.point}
    told = diagnose(BUILD, Given("supply", 230.0, readings, symptoms=("hum",), worked=True))
    assert told.verdict == "warn" and told.next is not None
    assert told.ranked[0].says == NONE_SAYS or told.ranked[0].fault != "none"
