"""The wire list of every build here: whole at each stage, no loop, no wire between two nodes, and thick enough."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import isnan, sqrt
from pathlib import Path

import pytest

from benchtui.assemble.checked import load_checked
from benchtui.buildfile.joints import Joints
from benchtui.buildfile.models import Build
from benchtui.cli.commands.wires import sizes
from benchtui.forecast.conductors import conductors
from benchtui.forecast.results import Loads
from benchtui.parts.wire import chassis_amps, ohm_per_m
from benchtui.parts.wiring import gauge, insulation_v, mains_colours, uses
from benchtui.wiring.ends import CHASSIS, ends, place_of_stage
from benchtui.wiring.homes import homes
from benchtui.wiring.joins import Join, joins
from benchtui.wiring.spots import extra_tags, spots
from benchtui.wiring.wires import Wire, wires
from tests.reference.amplifiers import build as reference

BUILDS = ["pp-6v6", "pp-el34", "se-stereo", "a", "c"]


@cache
def build(name: str) -> Build:
    if len(name) == 1:
        return reference(name).build
    return load_checked(str(Path(__file__).parents[2] / "builds" / f"{name}.toml")).build


@cache
def loads() -> Loads:
    return conductors(build("pp-6v6"))


@cache
def listed() -> dict[str, Wire]:
    return {f"{wire.start} -> {wire.finish}": wire for wire in wires(build("pp-6v6"), loads())}


def nodes(made: Build) -> list[str]:
    return list(dict.fromkeys(end.node for end in ends(made)))


def own(made: Build, node: str) -> list[Join]:
    """The wires of a node but those that the file names itself."""
    return [join for join in joins(made) if join.node == node and not join.link]


@pytest.mark.parametrize("name", BUILDS)
def test_at_every_stage_all_ends_of_a_node_are_joined(name: str) -> None:
    made = build(name)
    place = place_of_stage(made)
    for node in nodes(made):
        for last in range(len(place)):
            joints = Joints()
            for spot in spots(made, node):
                joints.join(spot.says, *(end.says for end in spot.takes if place[end.stage] <= last))
            for join in own(made, node):
                if place[join.stage] <= last:
                    joints.join(join.start, join.finish)
            here = [end for end in ends(made) if end.node == node and place[end.stage] <= last]
            apart = {joints.root(end.says) for end in here}
            assert len(apart) <= 1, f"{name}: {node} falls apart in stage {last}: {apart}"


@pytest.mark.parametrize("name", BUILDS)
def test_the_wires_of_a_node_close_no_loop_and_have_names_of_their_own(name: str) -> None:
    made = build(name)
    for node in nodes(made):
        joints = Joints()
        assert all(joints.join(join.start, join.finish) for join in own(made, node))
    ids = [join.id for join in joins(made)]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("name", BUILDS)
def test_a_wire_ends_at_its_own_node_alone(name: str) -> None:
    made = build(name)
    at = {end.says: end.node for end in ends(made)}
    at |= {spot.says: spot.node for node in nodes(made) for spot in spots(made, node)}
    for join in joins(made):
        if not join.link:
            assert {at.get(side, CHASSIS) for side in (join.start, join.finish)} == {join.node}


@pytest.mark.parametrize("name", BUILDS)
def test_every_return_runs_to_the_star_by_itself_and_the_star_once_to_the_chassis(name: str) -> None:
    returns = [join for join in own(build(name), CHASSIS) if join.finish != "chassis, at one place"]
    assert {join.finish for join in returns} <= {"star point"}
    assert len({join.start for join in returns}) == len(returns)
    assert sum(join.finish == "chassis, at one place" for join in joins(build(name))) == 1


@pytest.mark.parametrize("name", BUILDS)
def test_nothing_is_joined_to_a_star_point_that_is_not_joined_to_the_chassis_yet(name: str) -> None:
    place = place_of_stage(build(name))
    at_star = [join for join in joins(build(name)) if "star point" in (join.start, join.finish)]
    (down,) = [join for join in at_star if join.finish == "chassis, at one place"]
    assert place[down.stage] == min(place[join.stage] for join in at_star)


@pytest.mark.parametrize("name", BUILDS)
def test_every_loose_end_is_soldered_somewhere_once(name: str) -> None:
    made = build(name)
    taken = [end for node in nodes(made) for spot in spots(made, node) for end in spot.takes]
    loose = [end for end in ends(made) if end.kind == "loose"]
    counted = {node: sum(end.node == node for end in ends(made)) for node in nodes(made)}
    linked = {node for link in made.link.values() for node in link.nodes}
    assert len(taken) == len(set(taken))
    # an end that is alone at its node waits for nothing
    assert set(loose) - set(taken) == {e for e in loose if counted[e.node] == 1 and e.node not in linked | {CHASSIS}}


def test_protective_earth_goes_to_its_own_bolt_and_first() -> None:
    first = next(iter(listed().values()))
    assert (first.start, first.finish, first.stage) == ("mains inlet earth", "earth bolt", "cold")
    assert first.use.name == "earth"
    assert "star" not in first.id


def test_parts_sit_where_a_builder_would_put_them() -> None:
    """Common practice, no source: stoppers and cathode parts at their socket, smoothing at the choke."""
    at = homes(build("pp-6v6"))
    wanted = {"V2": "R10 R11 R12 R13 C4", "V3": "R14 R15 R16 R17 C5", "V1": "R21 R22 R23 C6 C7 C8 C9", "L1": "C1 C2 R3"}
    assert {part: at[part] for home in wanted for part in wanted[home].split()} == {
        part: home for home in wanted for part in wanted[home].split()
    }


def test_the_diodes_of_a_bridge_sit_together() -> None:
    at = homes(build("se-stereo"))
    assert {at[diode] for diode in ("D1", "D2", "D3", "D4")} == {"D1"}


def test_heater_pairs_go_from_the_winding_to_the_largest_current_and_on_in_pairs() -> None:
    heaters = [wire for wire in listed().values() if wire.use.name == "heater" and wire.insulation_v == 300]
    assert [(wire.start.split()[0], wire.finish.split()[0]) for wire in heaters] == [
        ("T1", "V2"), ("T1", "V2"), ("V2", "V3"), ("V2", "V3"), ("V3", "V1"), ("V3", "V1"), ("V1", "V1"),
    ]  # fmt: skip
    # two 6V6GT of 0.45 A and a 12AX7 of 0.3 A, from their data sheets
    assert heaters[0].amps == pytest.approx(1.2, rel=0.1)


def test_sizes_follow_what_the_wires_stand() -> None:
    by_way = listed()
    rectifier = by_way["T1 lead 1 of HT, inner half -> V4 pin 6 (anode 1)"]
    # off load at the highest mains: 280 V x 1.1 x root 2, less nothing
    assert rectifier.peak_v == pytest.approx(280 * 1.1 * sqrt(2), rel=0.03)
    anode = by_way["T2 anode lead 1 -> V2 pin 3 (anode)"]
    assert anode.peak_v > 1.9 * 300 and anode.insulation_v == 1000
    mains = by_way["mains inlet live -> F1 first tag (the end of the holder)"]
    assert (mains.colour, mains.amps, mains.insulation_v) == ("brown", 0.63, 600)
    for wire in by_way.values():
        assert wire.gauge is not None and wire.insulation_v is not None
        assert chassis_amps(wire.gauge.area_mm2 * 1e-6) >= wire.amps
        assert wire.insulation_v >= wire.peak_v
        assert wire.drop_v == pytest.approx(wire.length_m * ohm_per_m(wire.gauge.area_mm2 * 1e-6) * wire.amps)


def changed(**tables: dict[str, object]) -> Build:
    """pp-6v6 with further parts, without panels."""
    made = build("pp-6v6")
    return made.model_copy(update={"panel": {}} | {t: {**getattr(made, t), **more} for t, more in tables.items()})


def test_what_hangs_between_line_and_neutral_is_mains_and_never_blue() -> None:
    """A neon lamp's divider and a snubber across the switch."""
    made, like = changed(), build("pp-6v6").resistor["R1"]
    ways = {"N1": ("pri_l", "neon"), "N2": ("neon", "pri_n"), "N3": ("l_fused", "snub"), "N4": ("snub", "pri_l")}
    more = {id: like.model_copy(update={"nodes": nodes, "stage": "cold"}) for id, nodes in ways.items()}
    made = changed(resistor=more)
    here = [wire for wire in wires(made, Loads()) if wire.node in ("neon", "snub")]
    assert len(here) == 2
    assert {(wire.use.name, wire.colour, wire.insulation_v) for wire in here} == {("mains", "brown", 600)}


def test_ht_is_ht_behind_a_fuse_and_a_standby_switch_without_a_choke_there() -> None:
    made = build("pp-6v6")
    split = {"L1": made.choke["L1"].model_copy(update={"nodes": ("sb", "ht")})}
    fuse = made.fuse["F2"].model_copy(update={"nodes": ("res", "resf"), "stage": "supply"})
    switch = made.switch["S1L"].model_copy(update={"nodes": ("resf", "sb"), "stage": "supply", "poles": 1})
    made = changed(choke=split, fuse={"F9": fuse}, switch={"SB": switch})
    here = [wire for wire in wires(made, Loads()) if wire.node in ("res", "resf", "sb") and "T1" not in wire.start]
    assert len(here) >= 3 and {wire.use.name for wire in here} == {"ht"}


def test_a_rectifier_cathode_without_any_choke_is_ht() -> None:
    made = build("pp-6v6")
    resistor = made.resistor["R6"].model_copy(update={"nodes": ("sb", "ht"), "value": 100.0})
    switch = made.switch["S1L"].model_copy(update={"nodes": ("res", "sb"), "stage": "supply", "poles": 1})
    made = changed(resistor={"R0": resistor}, switch={"SB": switch}).model_copy(update={"choke": {}})
    here = [wire for wire in wires(made, Loads()) if wire.node == "res" and "T1" not in wire.start]
    assert here and {wire.use.name for wire in here} == {"ht"}


def test_direct_current_for_heaters_goes_by_heater_wires_from_the_bridge_to_the_socket() -> None:
    like = build("se-stereo").diode["D1"]
    ways = {"D8": ("h6b", "ac1"), "D9": ("h6b", "ac2")}
    diodes = {id: like.model_copy(update={"nodes": nodes, "stage": "heaters"}) for id, nodes in ways.items()}
    here = [wire for wire in wires(changed(diode=diodes), Loads()) if "tag h6b at D8" in (wire.start, wire.finish)]
    assert [wire.use.name for wire in here] == ["heater"]


def test_a_screen_tap_swings_with_its_share_of_the_turns() -> None:
    """43 % of a swing that takes the anode to twice the mean, 441 V."""
    taps = [wire for wire in wires(build("pp-el34"), conductors(build("pp-el34"))) if "screen tap" in wire.start]
    assert [wire.insulation_v for wire in taps] == [1000, 1000]
    assert taps[0].peak_v == pytest.approx(441 * 1.43, rel=0.02)


def test_no_two_leads_of_a_transformer_have_one_name() -> None:
    made = build("pp-6v6")
    for role in ("", "HT", "primary"):
        wound = {id: w.model_copy(update={"role": role}) for id, w in made.transformer["T1"].windings.items()}
        one = made.transformer["T1"].model_copy(update={"windings": wound})
        named = [end.says for end in ends(made.model_copy(update={"transformer": {"T1": one}})) if end.part == "T1"]
        assert len(named) == len(set(named)) == 10


def test_a_captive_lead_is_called_so() -> None:
    made = build("pp-6v6")
    made = made.model_copy(update={"mains": made.mains.model_copy(update={"inlet": "captive lead"})})
    named = {end.part for end in ends(made) if end.node in ("pe", "mains_l", "mains_n")}
    assert "mains lead" in named and "mains inlet" not in named


def test_the_list_is_in_the_order_of_wiring() -> None:
    made = build("pp-6v6")
    place = place_of_stage(made)
    order = [(place[wire.stage], wire.use.turn) for wire in listed().values()]
    assert all(before <= after for before, after in pairwise(order))


def test_a_wire_keeps_its_name_when_values_change_and_other_parts_come() -> None:
    made = build("pp-6v6")
    resistors = dict(made.resistor)
    resistors["R11"] = resistors["R11"].model_copy(update={"value": 560.0})
    resistors["R99"] = resistors["R15"].model_copy(update={"nodes": ("v3_k", "0")})
    valves = {
        key: part.model_copy(update={"type": "6L6GC", "role": "x"} if key == "V2" else {})
        for key, part in made.valve.items()
    }
    transformer = made.transformer["T1"]
    windings = {key: part.model_copy(update={"role": f"renamed {key}"}) for key, part in transformer.windings.items()}
    renamed = {"T1": transformer.model_copy(update={"windings": windings})}
    changed = made.model_copy(update={"resistor": resistors, "valve": valves, "transformer": renamed})
    assert [join.start for join in joins(changed)] != [join.start for join in joins(made)]
    assert [join.id for join in joins(changed)] == [join.id for join in joins(made)]


def test_tags_are_asked_for_where_loose_ends_meet_and_no_part_has_one() -> None:
    said = {spot.says: {end.part for end in spot.takes} for spot in extra_tags(build("pp-6v6"))}
    assert said["tag v2_gl at V2"] == {"R12", "R13"}
    assert said["earth tag at V2"] == {"R11", "R12", "C4"}


def test_colours_are_those_of_the_published_table() -> None:
    """MIL-STD-681, system II, as printed in NAVEDTRA 14040, figure 6-15 (read)."""
    table = {
        "return": "black", "heater": "brown", "ht": "red", "screen": "orange", "cathode": "yellow", "grid": "green",
        "anode": "blue", "negative": "violet", "other": "white",
    }  # fmt: skip
    assert {use: uses()[use].colour for use in table} == table
    # IEC 60445 (from memory: line brown, neutral blue, earth green and yellow)
    assert mains_colours(230) == ("brown", "blue", "green-and-yellow")
    assert mains_colours(120) == ("black", "white", "green-and-yellow")  # plain green is a grid


def test_a_heater_wire_of_three_amperes_and_half_a_metre_loses_a_tenth_of_a_volt_in_awg_20() -> None:
    """A worked example: 2 x 0.5 m of AWG 20 at 3 A lose 0.0999 V, at 5.8 A/mm2."""
    chosen = gauge(3.0, 0.5, ohm_per_m=0.1 / (2 * 0.5 * 3.0))
    assert chosen is not None and (chosen.awg, chosen.metric_mm2) == (20, 0.75)
    assert gauge(3.2, 0.2).awg == 18  # type: ignore[union-attr]  # 3.2 A would be 6.2 A/mm2 in AWG 20


@pytest.mark.parametrize(
    ("volts", "rated"), [(5, 300), (60, 300), (61, 600), (-61, 600), (600, 600), (601, 1000), (1001, None)]
)
def test_insulation_is_rated_for_the_volts_and_600_v_at_least_with_ht(volts: float, rated: float | None) -> None:
    assert insulation_v(volts) == rated


def test_no_usual_wire_is_named_for_too_much_current() -> None:
    assert gauge(40.0, 0.2) is None


def test_lengths_go_along_the_edges_of_the_chassis() -> None:
    """On the rear of pp-6v6, by hand: inlet at 50, 30 and earth bolt at 90, 25 mm, and 6 cm for corners and ends."""
    by_way = listed()
    earth = by_way["mains inlet earth -> earth bolt"]
    assert earth.measured and earth.length_m == pytest.approx(0.045 + 0.06)
    # V2 at 110, 62 and V3 at 183, 62 of the top plate
    assert by_way["V2 pin 2 (heater) -> V3 pin 2 (heater)"].length_m == pytest.approx(0.073 + 0.06)
    # round the fold: T1 stands 75 mm from the rear edge of the top plate, 265 mm from its left, which is 55 mm from the
    # left of the rear as seen from behind; the switch sits at 122 mm there, 30 mm under the edge
    switch = by_way["T1 lead 1 of primary -> S1L other tag"]
    assert switch.length_m == pytest.approx((75 + 30 + (122 - 55)) / 1e3 + 0.06)
    # the other pole sits in the same hole
    assert by_way["T1 lead 2 of primary -> S1N other tag"].length_m == pytest.approx(switch.length_m)


def test_a_length_that_no_panel_tells_is_assumed_and_says_so() -> None:
    bare = build("pp-6v6").model_copy(update={"panel": {}})
    assert {wire.measured for wire in wires(bare, Loads()) if wire.length_m == 0.3} == {False}


def test_volts_that_were_never_solved_are_no_low_volts() -> None:
    known = dict(loads().peak_v)
    del known["ht"]
    by_way = {f"{w.start} -> {w.finish}": w for w in wires(build("pp-6v6"), Loads(loads().volts, known, loads().amps))}
    lost = by_way["L1 other lead -> tag ht at L1"]
    assert isnan(lost.peak_v) and lost.insulation_v is None
    assert "volts not known" in sizes(lost) and "largest volts" in sizes(lost)
    assert by_way["T2 anode lead 1 -> V2 pin 3 (anode)"].insulation_v == 1000
    assert not any(isnan(wire.peak_v) for wire in listed().values())


def test_the_star_point_joins_the_chassis_by_no_thinner_wire_than_protective_earth() -> None:
    """Mains or HT that reaches a secondary blows its fuse through it. Common practice, no source."""
    reference = next(wire for wire in listed().values() if wire.finish.startswith("chassis"))
    earth = listed()["mains inlet earth -> earth bolt"]
    assert reference.gauge is not None and earth.gauge is not None
    assert reference.gauge.area_mm2 >= earth.gauge.area_mm2


def test_the_middle_of_a_heater_winding_has_the_colour_of_heaters_and_that_of_an_ht_winding_has_not() -> None:
    at_tap = [wire for wire in wires(build("se-stereo"), Loads()) if wire.node == "h_ct" and wire.lead]
    assert len(at_tap) == 2 and {wire.colour for wire in at_tap} == {"brown"}
    assert {wire.use.name for wire in listed().values() if wire.node == "ht_ct"} == {"winding"}
