"""The demo builds are designs that people may build: every part within its ratings, by ngspice and by hand.

The stresses are those of the kept ngspice records, independent of the program's own review. A rule without a source
is common practice.
"""

from __future__ import annotations

from math import log, sqrt

import pytest

from benchtui.buildfile.inventory import parts
from benchtui.parts import valves as library
from tests.builds.recorded import NAMES, build, recorded

HT_STAGES = ("supply", "output", "driver")
AMPLIFYING = ("output", "driver")

#: Largest anode dissipation of an output valve at rated mains, as a share of its limit: cathode bias, fixed bias.
IDLE_SHARE = {"pp-6v6": 0.9, "se-stereo": 0.9, "pp-el34": 0.7}

#: Series in which values are sold: IEC 60063 E24.
E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)

every_build = pytest.mark.parametrize("name", NAMES)


def limits(name: str, section: str) -> dict[str, float]:
    """Limits of a section by the library, the triode of an ECL82 by its own."""
    made = build(name).build
    valve = next(
        key for key in made.valve if section.startswith(key[:2]) and (section[-1] in "LR") == (key[-1] in "LR")
    )
    found = {key: limit.value for key, limit in library.find(made.valve[valve].type).limits.items()}
    prefix = "triode_" if section.startswith("V1t") else ""
    return {
        key: found.get(prefix + key, found.get(key))
        for key in ("anode_v", "anode_w", "screen_v", "screen_w", "cathode_a")
    }


def standing(name: str, stage: str, *, highest: bool) -> dict:
    """Stresses of a stage at rated or at the highest mains."""
    kept = recorded(name)
    return kept["highest"][stage] if highest else kept["stages"][stage]["stresses"]


def within(value: float | None, limit: float | None, share: float = 1.0) -> bool:
    """Whether `value` keeps to `share` of `limit`, where both are known."""
    return value is None or limit is None or value <= share * limit


@every_build
@pytest.mark.parametrize("stage", AMPLIFYING)
def test_valves_keep_their_limits_at_the_highest_mains(name, stage):
    for section, stands in standing(name, stage, highest=True)["valves"].items():
        limit = limits(name, section)
        for key in ("anode_v", "anode_w", "screen_v", "screen_w"):
            assert within(stands.get(key), limit[key]), (section, key)
        assert within(stands["anode_a"] + stands.get("screen_a", 0.0), limit["cathode_a"]), section


@every_build
@pytest.mark.parametrize("stage", AMPLIFYING)
def test_output_valves_idle_below_their_share_of_the_dissipation(name, stage):
    """70 % with fixed bias, 90 % with cathode bias: common practice, no source."""
    for section, stands in standing(name, stage, highest=False)["valves"].items():
        assert within(stands["anode_w"], limits(name, section)["anode_w"], IDLE_SHARE[name]), section


@every_build
@pytest.mark.parametrize("stage", HT_STAGES)
def test_resistors_are_rated_for_twice_what_they_stand_at_the_highest_mains(name, stage):
    resistors = build(name).build.resistor
    for key, watts in standing(name, stage, highest=True)["resistor_w"].items():
        assert 2 * watts <= resistors[key].watts, key


@every_build
def test_capacitors_stand_the_whole_off_load_crest_of_the_highest_mains_on_cold_valves(name):
    """The crest of the HT winding's no-load EMF, times 1 + spread of mains; bias on top at the output grids."""
    made = build(name).build
    emf = {
        key: w.emf or w.volts * (1 + w.regulation) for t in made.transformer.values() for key, w in t.windings.items()
    }
    crest = sqrt(2) * (1 + made.mains.spread)
    ht_v = crest * max(volts for key, volts in emf.items() if "HT" in key)
    bias_v = crest * emf.get("W_BIAS", 0.0)
    for key, part in made.capacitor.items():
        if part.role.startswith(("cathode bypass", "smoothing of the heater", "holds the second grid")):
            continue
        wanted = bias_v if part.role.startswith("bias") else ht_v
        if part.role.startswith("coupling to V") and bias_v:
            wanted = ht_v + bias_v
        assert part.volts >= wanted, key


@every_build
@pytest.mark.parametrize("stage", HT_STAGES)
def test_no_capacitor_sees_more_than_nine_tenths_of_its_rating_at_the_highest_mains(name, stage):
    capacitors = build(name).build.capacitor
    for key, volts in standing(name, stage, highest=True)["capacitor_v"].items():
        assert 0.9 * capacitors[key].volts >= volts >= (-1.0 if capacitors[key].make == "electrolytic" else -1e9), key


@every_build
@pytest.mark.parametrize("stage", HT_STAGES)
def test_windings_choke_and_fuses_carry_less_than_they_are_rated_for(name, stage):
    made, stands = build(name).build, standing(name, stage, highest=True)
    for transformer in made.transformer.values():
        for key, winding in transformer.windings.items():
            assert stands["winding_rms"][key] <= winding.amps, key
    ht_a = max(value for key, value in stands["winding_rms"].items() if "HT" in key)
    both = sqrt(2) if "W_HT2" in stands["winding_rms"] else 1.0
    assert both * ht_a <= 0.7 * made.fuse["F2"].amps
    assert sum(stands["rectifier_mean"].values()) <= 2 * made.choke["L1"].amps


def test_the_valve_rectifier_keeps_its_peak_and_mean_current_first_capacitor_and_supply_resistance():
    """Limits of the 5Y3GT by the library: 440 mA, 125 mA, 20 uF, 50 ohm an anode (see there for its sources)."""
    made, limit = build("pp-6v6").build, library.find("5Y3GT").limits
    for stage in HT_STAGES:
        stands = standing("pp-6v6", stage, highest=True)
        assert max(stands["rectifier_peak"].values()) <= limit["peak_a"].value
        assert sum(stands["rectifier_mean"].values()) <= limit["mean_a"].value
    first = made.capacitor["C1"]
    assert first.value * (1 + first.tolerance[1]) <= limit["first_capacitor_f"].value
    transformer = made.transformer["T1"]
    for key in ("W_HT1", "W_HT2"):
        winding = transformer.windings[key]
        seen_ohm = winding.resistance + transformer.primary.resistance * (winding.emf / winding.at) ** 2
        assert seen_ohm >= limit["supply_ohm"].value
        assert 1.1 * winding.emf <= limit["anode_rms_v"].value


@every_build
@pytest.mark.parametrize("stage", ["heaters", "driver"])
def test_heaters_are_within_five_percent_at_rated_mains_with_all_valves_in(name, stage):
    """Source: general notes of valve makers, from memory."""
    shown = recorded(name)["stages"][stage]["readings"]
    both = shown["heater_a"] + shown["heater_b"]  # each leg to chassis, equal and opposite
    assert shown.get("heaters", both) == pytest.approx(both, rel=0.01)
    assert both == pytest.approx(6.3, rel=0.05)
    if "rectifier_heater" in shown:
        assert shown["rectifier_heater"] == pytest.approx(5.0, rel=0.05)


def test_elevation_keeps_every_cathode_within_90_volts_of_its_heater():
    """90 V: the 6SL7GT and the 6J5 by the library; the EL34 takes 100 V."""
    for stage in ("output", "driver"):
        shown = recorded("pp-el34")["stages"][stage]["readings"]
        heater_v = 1.1 * shown["elevation"]
        for stands in standing("pp-el34", stage, highest=True)["valves"].values():
            assert abs(stands["cathode_v"] - heater_v) + 1.1 * 6.3 * sqrt(2) <= 90.0


@every_build
def test_bleeders_bring_the_whole_ht_under_ten_volts_within_a_minute_with_cold_valves(name):
    """By hand, on the safe side: every HT capacitor a half larger than marked, all bleeders 5 % high."""
    made = build(name).build
    start_v = max(standing(name, "supply", highest=True)["capacitor_v"].values())
    farad = sum(1.5 * part.value for part in made.capacitor.values() if part.stage == "supply")
    siemens = sum(1 / (1.05 * part.value) for part in made.resistor.values() if part.role.startswith("bleeder of the"))
    assert farad / siemens * log(start_v / 10.0) <= 60.0


@every_build
def test_every_ht_capacitor_has_a_bleeder_of_its_own_quick_enough_alone(name):
    """So that an open choke or dropper leaves none of them charged."""
    made = build(name).build
    start_v = max(standing(name, "supply", highest=True)["capacitor_v"].values())
    bleeders = {part.nodes[0]: part.value for part in made.resistor.values() if part.role.startswith("bleeder of")}
    for key, part in made.capacitor.items():
        if part.stage == "supply":
            assert 1.05 * bleeders[part.nodes[0]] * 1.5 * part.value * log(start_v / 10.0) <= 60.0, key


def test_bias_reaches_from_cut_off_past_the_wanted_current_with_room_on_both_sides():
    """Own decision: a trimmer that stands between a tenth and nine tenths of its track when trimmed."""
    for stage in AMPLIFYING:
        for position in recorded("pp-el34")["stages"][stage]["pots"].values():
            assert 0.1 <= position <= 0.9
    shown = recorded("pp-el34")["stages"]["grids"]["readings"]
    assert max(shown["v3_grid_pin"], shown["v4_grid_pin"]) < -50.0


@every_build
def test_grid_leaks_of_the_output_valves_keep_the_limit_of_their_kind_of_bias(name):
    """Limits by the library: 6V6GT 500 k and ECL82 2 M with cathode bias, EL34 500 k with fixed bias."""
    made = build(name).build
    fixed = name == "pp-el34"
    output = {"pp-6v6": "6V6GT", "pp-el34": "EL34", "se-stereo": "ECL82"}[name]
    limit = library.find(output).limits["grid_leak_fixed_ohm" if fixed else "grid_leak_cathode_ohm"].value
    leaks = [
        part.value for part in made.resistor.values() if part.role.startswith("grid leak") and part.stage != "driver"
    ]
    around = made.pot["P2"].value / 4 + made.resistor["R7"].value if fixed else 0.0
    assert leaks
    assert all(leak + around <= limit for leak in leaks if leak < 1e6)


@every_build
def test_the_guard_across_the_loudspeaker_is_ten_times_the_load_and_stands_full_output(name):
    made = build(name).build
    rated_w = {"pp-6v6": 6.0, "pp-el34": 26.0, "se-stereo": 1.7}[name]
    guards = [part for part in made.resistor.values() if part.role.startswith("guard")]
    assert len(guards) == len(made.load)
    for guard in guards:
        assert guard.value >= 10 * next(iter(made.load.values())).value
        assert guard.watts >= rated_w


@every_build
def test_values_are_of_the_e24_series(name):
    for key, part in build(name).build.resistor.items():
        digits = part.value
        while digits >= 100.0 - 1e-9:
            digits /= 10.0
        assert min(abs(digits - step) for step in E24) < 1e-6, key


@every_build
def test_earth_bond_double_pole_switch_mains_fuse_and_earthed_common_are_there(name):
    made = build(name).build
    assert made.mains.inlet == "appliance inlet"
    assert made.mains.earth == "pe" and set(made.link["PE"].nodes) == {"pe", "0"}
    live, neutral = made.mains.nodes
    assert made.fuse["F1"].nodes[0] == live and made.fuse["F1"].speed == "T"
    assert {made.switch["S1L"].nodes[0], made.switch["S1N"].nodes[0]} == {made.fuse["F1"].nodes[1], neutral}
    assert {made.switch["S1L"].nodes[1], made.switch["S1N"].nodes[1]} == set(made.transformer["T1"].primary.nodes)
    assert all(link.nodes[1] == "0" for key, link in made.link.items() if key.startswith("SPK0"))


@every_build
def test_feedback_is_closed_in_the_signal_stage_alone(name):
    made = build(name).build
    leads = [link for link in made.link.values() if link.feedback]
    assert leads and all(link.stage == "signal" for link in leads)


@every_build
def test_every_part_says_what_it_is_for(name):
    assert [listed.id for listed in parts(build(name).build) if not listed.part.role] == []
