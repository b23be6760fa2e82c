"""The readings of an inspection: every slip that they are said to show is shown, by a solver of its own too."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from benchtui.buildfile.load import load
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.forecast.clip import clips_on, powered_before
from benchtui.forecast.covering import covering
from benchtui.forecast.inspection import Chosen, Inspection, inspection, weighed
from tests.reference.amplifiers import build as reference
from tests.walk.ohms import Ohms

ROOT = Path(__file__).parents[2]
DEMOS = ("pp-6v6", "pp-el34", "se-stereo")

#: Build and stage, each with much wiring; the others differ in nothing that matters here.
STAGES = (
    ("pp-6v6", "supply"), ("pp-6v6", "output"), ("pp-6v6", "driver"), ("pp-el34", "bias"), ("se-stereo", "supply"),
)  # fmt: skip

every_stage = pytest.mark.parametrize(("name", "stage"), STAGES)


@cache
def build(name: str) -> Build:
    if name == "first-steps":
        return load(ROOT / "tests" / "buildfile" / "example.toml").build
    return load(ROOT / "builds" / f"{name}.toml").build if name in DEMOS else reference(name).build


def chosen(found: Inspection) -> tuple[Chosen, ...]:
    return (*found.anyway, *found.further)


def adds(found: Inspection) -> set[str]:
    return {says for each in chosen(found) for says in each.adds}


class Bench:
    """The tests' own solver on a build, with the bleed clip where it is in the sound one, and off for the closing."""

    def __init__(self, made: Build, sound: Build, stage: str) -> None:
        clips = clips_on(sound, stage, linked=False) if powered_before(sound, stage) else ()
        self._clipped, self._bare = Ohms(made, stage, clips), Ohms(made, stage)

    def reads(self, each: Chosen) -> float:
        """What the meter shows."""
        at = self._bare if each.reading.kind == "closing" else self._clipped
        return at.between(each.reading.red.node, each.reading.black.node)

    def shows(self, each: Chosen) -> bool:
        """Whether that is outside the window."""
        return not each.expectation.low <= self.reads(each) <= each.expectation.high


@every_stage
def test_what_is_chosen_shows_every_slip_that_any_reading_shows_and_none_is_too_many(name: str, stage: str) -> None:
    found, by = inspection(build(name), stage), weighed(build(name), stage)
    rows = {reading.id: row for reading, row in zip(by.readings, by.shows, strict=True)}
    made_anyway = [rows[each.reading.id] for each in found.anyway]
    further = [rows[each.reading.id] for each in found.further]
    all_shown = np.array([*made_anyway, *further]).any(axis=0)
    assert (all_shown == by.shows.any(axis=0)).all()
    assert {slip.id for slip, seen in zip(by.slips, all_shown, strict=True) if not seen} == {u.id for u in found.unseen}
    assert found.count == len(by.slips) and len(adds(found)) == found.count - len(found.unseen)
    for k in range(len(further)):
        rest = np.array([*made_anyway, *further[:k], *further[k + 1 :]])
        assert not (rest.any(axis=0) == all_shown).all(), found.further[k].reading.name


@every_stage
def test_a_sound_build_reads_inside_every_window_by_the_tests_own_solver(name: str, stage: str) -> None:
    made = build(name)
    bench = Bench(made, made, stage)
    for each in chosen(inspection(made, stage)):
        ohm = bench.reads(each)
        assert each.expectation.low <= ohm <= each.expectation.high, each.reading.name
        assert ohm == pytest.approx(each.expectation.nominal, rel=2e-3, abs=0.03)


@every_stage
def test_resistors_left_out_or_a_decade_off_show_in_a_build_that_was_changed(name: str, stage: str) -> None:
    """Parts taken out of the build file, or of another value within 4 % of the wrong one, and solved by themselves."""
    made, found = build(name), inspection(build(name), stage)
    unseen, rng = {each.id for each in found.unseen}, np.random.default_rng(7)
    tried = 0
    for id, part in made.resistor.items():
        if part.stage != stage:
            continue
        for slip, factor in (("open", 1e15), ("x 10", 10.0), ("x 0.1", 0.1)):
            if f"{id} {slip}" not in unseen:
                value = part.value * factor * rng.uniform(0.96, 1.04)
                wrong = {**made.resistor, id: part.model_copy(update={"value": value, "measured": None})}
                slipped = made.model_copy(update={"resistor": wrong})
                assert any(map(Bench(slipped, made, stage).shows, chosen(found))), f"{id} {slip}"
                tried += 1
    assert tried > 8


@pytest.mark.parametrize("stage", ["output", "driver"])
def test_bridges_show_in_a_build_that_has_them(stage: str) -> None:
    """A link between the two ends of a part, or between neighbouring pins, put into the build file."""
    made, found = build("pp-6v6"), inspection(build("pp-6v6"), stage)
    link = next(iter(made.link.values()))
    unseen = {each.id for each in found.unseen}
    ends = {f"{id} short": part.nodes for kind in (made.resistor, made.capacitor) for id, part in kind.items()
            if part.stage == stage}  # fmt: skip
    pins = {"output": ("V2", "345"), "driver": ("V1", "123")}[stage]
    for one, other in zip(pins[1], pins[1][1:], strict=False):
        ends[f"{pins[0]}.{one} to {pins[0]}.{other}"] = tuple(made.valve[pins[0]].pins[pin] for pin in (one, other))
    for slip, nodes in ends.items():
        if slip not in unseen:
            bridge = link.model_copy(update={"nodes": nodes, "stage": stage, "value": 0.01, "feedback": False})
            slipped = made.model_copy(update={"link": {**made.link, "bridge": bridge}})
            assert any(map(Bench(slipped, made, stage).shows, chosen(found))), slip


def test_pins_that_are_exchanged_show_in_a_build_whose_pins_are() -> None:
    """The wiring stays, and the pins of the readings are at each other's nodes."""
    made, found = build("pp-6v6"), inspection(build("pp-6v6"), "output")
    unseen = {each.id for each in found.unseen}
    for one, other in (("3", "4"), ("4", "5")):
        nodes = {made.valve["V2"].pins[one]: made.valve["V2"].pins[other]}
        nodes |= {other: one for one, other in nodes.items()}
        moved = [
            replace(each, reading=replace(each.reading, red=replace(red, node=nodes.get(red.node, red.node))))
            if (red := each.reading.red).pin is not None and red.pin.valve == "V2"
            else each
            for each in chosen(found)
        ]
        assert f"V2.{one} for V2.{other}" not in unseen
        assert any(map(Bench(made, made, "output").shows, moved))


def test_the_small_example_by_hand() -> None:
    """README's amplifier in `output`: R6 560R, R7 100R, T2 280 ohm, R5 470k; the clip of 2k2 lies across C1,
    a link across C2.

    From pin 4 to pin 5: R7, T2, then R2 150k beside the link and R1 1k with the clip, then R5.
    """
    found = inspection(build("first-steps"), "output")
    by_hand = {
        "Pin 8 of V1 to chassis": 560.0, "Pin 3 to pin 4 of V1": 100.0, "T2, v1_a to ht": 280.0,
        "Pin 4 to pin 5 of V1": 100.0 + 280.0 + 1 / (1 / 150e3 + 1 / 2200.0 + 1 / 3200.0) + 470e3,
        "RIN, end to end": 1e6,
        "HT+ to chassis at the closing, clip off": 151e3,
    }  # fmt: skip
    read = {each.reading.name: each.expectation.nominal for each in chosen(found)}
    assert {name: read[name] for name in by_hand} == pytest.approx(by_hand, rel=1e-5)
    assert len(found.further) == 6
    for says in (
        "R6 is left out, or a lead of it makes no contact", "R6 is bridged, by solder or a strand",
        "R6 is ten times too small", "R5 is left out, or a lead of it makes no contact", "R7 is ten times too large",
        "Pins 4 and 5 of V1 are bridged", "Pin 8 of V1 is joined to nothing", "C3 is bridged, by solder or a strand",
        "R7 is bridged, by solder or a strand", "The wires of pins 7 and 8 of V1 are exchanged",
    ):  # fmt: skip
        assert says in adds(found), says
    hidden = {each.id: each.why for each in found.unseen}
    assert "look at its plus" in hidden["C3 reversed"]
    assert "nothing of a capacitor" in hidden["C4 open"]


def test_a_diode_asks_for_the_diode_test_and_its_bridge_shows() -> None:
    found = inspection(build("se-stereo"), "supply")
    hidden = {each.id: each.why for each in found.unseen}
    assert "diode test" in hidden["D1 reversed"] and "diode test" in hidden["D1 open"]
    assert "D1 is bridged, by solder or a strand" in adds(found)


def test_bleeders_show_at_the_closing_where_the_clip_hides_them_before() -> None:
    found = inspection(build("pp-6v6"), "supply")
    closing = next(each for each in found.anyway if each.reading.kind == "closing")
    assert {f"R{n} is left out, or a lead of it makes no contact" for n in (3, 4, 5)} <= set(closing.adds)


@pytest.mark.parametrize("name", (*DEMOS, "a", "c"))
def test_a_stage_that_wires_nothing_asks_for_nothing(name: str) -> None:
    assert not inspection(build(name), "signoff").further
    for info in stages(build(name)):
        if info.kind == "bench":
            assert not inspection(build(name), info.id).further


def test_a_smallest_set_of_a_case_by_hand() -> None:
    """Greedy takes row 1 for its four, and drops it when rows 2 and 3, each needed, leave it nothing."""
    made = np.array([
        [0, 0, 0, 0, 0, 0, 1],
        [0, 1, 1, 1, 1, 0, 0],
        [1, 1, 1, 0, 0, 0, 0],
        [0, 0, 0, 1, 1, 1, 0],
        [1, 0, 0, 0, 0, 0, 1],
    ], dtype=bool)  # fmt: skip
    assert sorted(covering(made, free=1)) == [2, 3]
    assert covering(made[:, :0], free=1) == []
    chosen = covering(made, free=0)
    assert len(chosen) == 3 and made[chosen].any(axis=0).all()  # two rows have six ones at most, and seven are wanted
