"""The converter: what the reference says arrives in the build file, and nothing is dropped without a word."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from benchtui.assemble.valves import sections
from benchtui.buildfile.load import load, load_text
from benchtui.forecast.expect import expect_stage
from tests.builds import ngspice, spice
from tests.reference import amplifiers
from tests.reference.convert import ConversionError, convert, main

CONVERT = Path(__file__).with_name("convert.py")


def small(**changes):
    """A half-wave supply with one single-ended triode, a fresh copy with `changes`."""
    return amplifiers.described("least") | changes


def with_part(part):
    return small(parts=[*small()["parts"], part])


def loaded(amplifier):
    return load_text(convert(amplifier).text, "converted.toml").build


@pytest.mark.parametrize("name", amplifiers.NAMES)
def test_both_amplifiers_load_with_every_part_point_and_stage_under_its_own_id(name):
    described, build = amplifiers.described(name), amplifiers.build(name).build
    entries = {
        key
        for table in (
            build.resistor,
            build.thermistor,
            build.link,
            build.load,
            build.capacitor,
            build.choke,
            build.fuse,
            build.diode,
            build.pot,
            build.heater,
            build.output_transformer,
        )
        for key in table
    }
    windings = {key for transformer in build.transformer.values() for key in transformer.windings}
    valves = {section.id for section in sections(build)}
    assert entries | windings | valves == {part["id"] for part in described["parts"]}
    assert set(build.transformer) == {"T1"}
    assert {key: point.stages for key, point in build.point.items()} == {
        point["id"]: tuple(point["stages"]) for point in described["test_points"]
    }


@pytest.mark.parametrize("name", amplifiers.NAMES)
def test_every_section_keeps_its_nodes_and_constants(name):
    described = amplifiers.described(name)
    wired = {section.id: section for section in sections(amplifiers.build(name).build)}
    orders = {
        2: ("anode", "cathode"),
        3: ("anode", "grid", "cathode"),
        4: ("anode", "grid", "screen", "cathode"),
    }
    for part in described["parts"]:
        if part["kind"] in ("triode", "pentode", "vacuum_diode"):
            section = wired[part["id"]]
            assert [section.nodes[electrode] for electrode in orders[len(part["nodes"])]] == part["nodes"]
            constants = {key: value for key, value in described["models"][part["model"]].items() if key != "kind"}
            assert dict(section.law.constants) == constants


@pytest.mark.parametrize("name", amplifiers.NAMES)
def test_values_arrive_to_the_last_digit(name):
    described, build = amplifiers.described(name), amplifiers.build(name).build
    for part in described["parts"]:
        if part["kind"] in ("capacitor", "choke", "fuse", "pot", "link", "load"):
            assert getattr(build, part["kind"])[part["id"]].value == pytest.approx(part["value"], rel=1e-12)
        if part["kind"] == "capacitor":
            low, high = part["tolerance_pct"]
            assert build.capacitor[part["id"]].tolerance == pytest.approx((low / 100, high / 100))


@pytest.mark.parametrize("name", amplifiers.NAMES)
def test_windings_stand_behind_their_source_resistance_and_the_primary_has_none(name):
    described, transformer = amplifiers.described(name), amplifiers.build(name).build.transformer["T1"]
    assert transformer.primary.resistance is None
    for part in described["parts"]:
        if part["kind"] == "winding":
            assert transformer.windings[part["id"]].resistance == pytest.approx(part["source_resistance"], rel=1e-12)
            assert transformer.windings[part["id"]].emf == part["emf"]


def test_a_winding_without_source_resistance_gets_its_share_of_the_primary():
    """50 ohm + 10 ohm x (230 / 230)^2, the rule that the reference states."""
    assert loaded(small()).transformer["T1"].windings["W"].resistance == pytest.approx(60.0)


def test_bias_trims_become_adjustments_in_output_and_driver():
    adjust = amplifiers.build("c").build.adjust
    assert {key: (a.pot, a.point, a.target, a.stages) for key, a in adjust.items()} == {
        "P1": ("P1", "v3_cathode", 0.4, ("output", "driver")),
        "P2": ("P2", "v4_cathode", 0.4, ("output", "driver")),
    }


def test_an_inrush_thermistor_is_told_by_its_cold_value():
    thermistor = amplifiers.build("c").build.thermistor["RT1"]
    assert (thermistor.value, thermistor.cold) == (5.0, 47.0)


def test_a_single_ended_transformer_has_one_anode_and_one_resistance():
    transformer = loaded(small()).output_transformer["T"]
    assert (transformer.anodes, transformer.ht, transformer.secondary) == (("p",), "ht", ("spk", "0"))
    assert transformer.resistance == (150.0,)


def test_a_directly_heated_valve_of_the_library_is_wired_by_its_own_names():
    [section] = sections(loaded(small()))
    assert dict(section.nodes) == {"anode": "p", "grid": "g", "cathode": "k"}


def test_a_type_that_the_library_does_not_know_is_wired_by_plain_names():
    amplifier = small(models={**small()["models"], "ODD9": {"kind": "vacuum_diode", "kd": 3e-4}})
    amplifier["parts"] = [
        *amplifier["parts"],
        {
            "id": "V9a",
            "kind": "vacuum_diode",
            "valve": "V9",
            "model": "ODD9",
            "nodes": ["ac", "ht"],
            "stage": "supply",
        },
        {
            "id": "V9b",
            "kind": "vacuum_diode",
            "valve": "V9",
            "model": "ODD9",
            "nodes": ["ac", "ht"],
            "stage": "supply",
        },
    ]
    wired = {section.id: dict(section.nodes) for section in sections(loaded(amplifier))}
    assert wired["V9a"] == wired["V9b"] == {"anode": "ac", "cathode": "ht"}


def test_sections_wired_at_different_stages_get_entries_of_their_own():
    amplifier = amplifiers.described("a")
    for part in amplifier["parts"]:
        if part["id"] == "V1b":
            part["stage"] = "output"
    del amplifier["stages"]
    build = loaded(amplifier)
    assert (build.valve["V1a"].stage, build.valve["V1b"].stage) == ("driver", "output")
    assert build.heater["H_V1_a"].valve == "V1a"
    wired = {section.id: dict(section.nodes) for section in sections(build)}
    assert wired["V1b"] == {"anode": "v1b_p", "grid": "v1b_g", "cathode": "v1b_k"}


def test_triode_and_pentode_of_one_bottle_keep_their_own_constants():
    amplifier = small()
    amplifier["models"] |= {"ECL82-P": amplifiers.described("c")["models"]["EL34"]}
    amplifier["parts"] += [
        {
            "id": "V1t",
            "kind": "triode",
            "valve": "V1",
            "model": "300B",
            "nodes": ["p", "g", "k"],
            "stage": "output",
        },
        {
            "id": "V1p",
            "kind": "pentode",
            "valve": "V1",
            "model": "ECL82-P",
            "nodes": ["p", "g", "ht", "k"],
            "stage": "output",
        },
    ]
    laws = {section.id: section.law.form for section in sections(loaded(amplifier))}
    assert (laws["V1t"], laws["V1p"]) == ("triode_grid_ion", "pentode_shared_screen")


def test_every_form_of_part_converts_loads_and_solves_in_every_stage():
    """Choke input, doubler, cathode follower, directly heated output valve, two mains transformers, several fuses."""
    converted = convert(amplifiers.described("forms"))
    build = load_text(converted.text, "forms.toml").build
    assert converted.left_out == ()
    assert set(build.transformer) == {"T1", "T3"}
    for stage in ("heaters", "supply", "output", "driver"):
        told = {e.point: e.nominal for e in expect_stage(build, stage, samples=4).expectations}
        assert told.keys() == {key for key, point in build.point.items() if stage in point.stages}


@pytest.mark.skipif(ngspice.PROGRAM is None, reason="ngspice is not installed")
@pytest.mark.parametrize("stage", ["output", "driver"])
def test_every_form_of_part_reads_what_ngspice_reads(stage):
    """Measured: volts within 0.02 %, ripple within 0.2 %; the allowance is ten and five times that."""
    build = loaded(amplifiers.described("forms"))
    _, shown = spice.measure(build, stage)
    for expectation in expect_stage(build, stage, samples=4).expectations:
        allowed = 0.01 if expectation.quantity == "ripple" else 0.002
        assert expectation.nominal == pytest.approx(shown[expectation.point], rel=allowed, abs=1e-3), expectation.point


def test_a_type_without_constants_of_its_own_is_the_librarys():
    amplifier = small()
    del amplifier["models"]["300B"]
    assert loaded(amplifier).valve["V"].model is None
    amplifier["parts"][4]["model"] = "XX99"
    with pytest.raises(ConversionError, match="V: there are no constants of XX99, neither here nor in the library"):
        convert(amplifier)


def test_a_stage_of_the_references_own_comes_after_the_one_before_it():
    amplifier = small(stages={"heaters": ["W"], "supply": ["W", "D", "C", "R"], "left": [], "output": []})
    amplifier["parts"] = [
        part | {"stage": "left"} if part["stage"] == "output" else part for part in amplifier["parts"]
    ]
    amplifier["stages"]["left"] = [part["id"] for part in amplifier["parts"]]
    for part in amplifier["parts"]:
        if part["id"] == "W":
            part["stage"] = "heaters"
    assert loaded(amplifier).stage["left"].after == "supply"


def test_an_unknown_kind_of_part_is_refused_by_name():
    with pytest.raises(ConversionError, match="X1: 'neon_lamp' is a kind of part that this converter doesn't know"):
        convert(with_part({"id": "X1", "kind": "neon_lamp", "nodes": ["ht", "0"], "stage": "supply"}))


def test_an_unknown_field_is_told_and_stands_in_the_file():
    converted = convert(
        with_part(
            {
                "id": "R9",
                "kind": "resistor",
                "nodes": ["ht", "0"],
                "value": 1e5,
                "stage": "supply",
                "colour": "brown",
            }
        )
    )
    assert converted.left_out == ("R9: field 'colour' of a resistor that this converter doesn't know",)
    assert "# Left out: R9: field 'colour'" in converted.text


def test_unknown_words_of_a_valve_and_of_its_model_are_told():
    valve = {
        "id": "V2",
        "kind": "triode",
        "model": "300B",
        "nodes": ["p", "g", "k"],
        "stage": "output",
        "base": "UX4",
    }
    assert "V2: field 'base' of a triode that" in convert(with_part(valve)).left_out[0]
    with pytest.raises(ConversionError, match="model X: 'tetrode' is a kind of model that"):
        convert(small(models={"X": {"kind": "tetrode"}}))


@pytest.mark.parametrize("name", amplifiers.NAMES)
def test_nothing_of_the_two_amplifiers_is_left_out(name):
    assert convert(amplifiers.described(name)).left_out == ()


def test_faults_of_the_input_are_told_all_at_once():
    amplifier = small(test_points=[{"id": "x", "pos": "ht", "neg": "0", "quantity": "torque", "stages": ["supply"]}])
    amplifier["parts"][3] = {"id": "R", "kind": "resistor", "nodes": ["ht"], "value": 1e5, "stage": "supply"}
    with pytest.raises(ConversionError) as refused:
        convert(amplifier)
    assert refused.value.sentences == (
        "R: a resistor has 2 nodes, this one 1",
        "x: 'torque' is a quantity that this converter doesn't know",
    )


def test_a_part_in_another_stage_than_the_lists_say_is_refused():
    amplifier = amplifiers.described("a")
    amplifier["stages"]["heaters"].append("R1")
    with pytest.raises(ConversionError, match="R1: it names the stage 'supply', the lists of stages have it first in"):
        convert(amplifier)


@pytest.mark.parametrize(
    "missing", ["models", "valve_ratings", "bias_adjust", "transformers", "stages", "smoothed_nodes"]
)
def test_an_amplifier_without_optional_keys_converts(missing):
    amplifier = amplifiers.described("a")
    amplifier.pop(missing, None)
    converted = convert(amplifier)
    assert "[point]" in converted.text


def test_the_command_writes_a_file_that_loads(tmp_path):
    source, made = tmp_path / "c.json", tmp_path / "c.toml"
    source.write_text(json.dumps(amplifiers.described("c")), "utf-8")
    done = subprocess.run([sys.executable, str(CONVERT), str(source), str(made)], capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert load(made).build.id == "C"


def test_the_command_refuses_what_is_no_amplifier_in_one_line(tmp_path, capsys):
    source = tmp_path / "x.json"
    source.write_text("[1, 2]", "utf-8")
    assert main([str(source), str(tmp_path / "x.toml")]) == 2
    assert not (tmp_path / "x.toml").exists()
    assert capsys.readouterr().err.count("\n") == 1
