"""Does a build hang together? Each slip is told with its line and with what would be right."""

from __future__ import annotations

import pytest

from tests.buildfile.damage import EXAMPLE, changed, line_of, refusals, warnings

R1 = 'R1 = { nodes = ["ht_res", "ht"], value = "1k"'
STAGE = "\n[stage.{}]\n"
OWN = 'title = "Own"\nkind = "{}"\nafter = "{}"\n'
ADJUST = '\n[adjust.A1]\npot = "P1"\npoint = "v1_cathode"\ntarget = "15 V"\nstages = [ "output" ]\nreach = "outside"\n'
POT = '\n[pot]\nP1 = { nodes = ["v1_k", "v1_k", "0"], value = "10k", stage = "output" }\n'
TRIMMED = EXAMPLE + POT + ADJUST
HEATER = '\n[heater]\nH1 = {{ nodes = ["h_a", "h_b"], valve = "{}", volts = "{}", amps = "1 A", stage = "mains" }}\n'
ULTRA = changed(
    'stage = "output"\n\n[load]', 'stage = "output"\nscreen_taps = { nodes = ["v1_g2"], share = "43 %" }\n\n[load]'
)


def told(text: str, marker: str, words: str, problems: object = None) -> None:
    found = refusals(text) if problems is None else problems
    line = line_of(text, marker) if marker else 0
    assert [p for p in found if p.line == line and words in str(p)], [str(p) for p in found]


@pytest.mark.parametrize(
    ("old", "new", "marker", "words"),
    [
        ("R1 = {", "C1 = {", 'C1 = { nodes = ["ht_res", "0"]', "has the name of resistor.C1 (line"),
        ("W_H = {", "R1 = {", R1, "has the name of transformer.T1.windings.R1 (line"),
        ("[point.ht]", "[point.R1]", "[point.R1]", "has the name of resistor.R1 (line"),
        (
            "[output_transformer.T2]",
            "[output_transformer.T1]",
            "[output_transformer.T1]",
            "has the name of transformer.T1",
        ),
        ("R1 = {", "rs1 = {", "rs1 = {", "can be taken for resistor.RS1 (line"),
        ("J1 = {", "Cl = {", "Cl = {", "can be taken for capacitor.C1 (line"),
    ],
)
def test_a_name_stands_for_one_thing(old: str, new: str, marker: str, words: str) -> None:
    told(changed(old, new), marker, words)


def test_sections_have_names_of_their_own() -> None:
    text = changed('type = "6V6GT"', 'type = "6V6GT", sections = ["V1", "R1"]')
    told(text, "V1 = {", "has the name of resistor.R1")
    assert not refusals(changed('type = "6V6GT"', 'type = "6V6GT", sections = ["V1"]'))


@pytest.mark.parametrize(
    ("old", "new", "marker", "words"),
    [
        (R1, R1.replace('"ht"]', '"htt"]'), R1[:6], '"htt" is touched by R1 alone'),
        (R1, R1.replace('"ht"]', '"htt"]'), R1[:6], "did you mean ht?"),
        ('5 = "v1_g"', '5 = "v1_gg"', "V1 = {", 'valve.V1.pins.5 "v1_gg" is touched by V1 alone'),
        ('anodes = ["v1_a"]', 'anodes = ["v1_b"]', 'anodes = ["v1_b"]', "is touched by T2 alone"),
        ('nodes = ["fused", "pri_1"]', 'nodes = ["fuse", "pri_1"]', "S1 = {", "did you mean fused?"),
        (R1, R1.replace('"ht_res", "ht"', '"ht", "ht"'), R1[:6], "has both ends on one node"),
        ('secondary = ["out", "0"]', 'secondary = ["0", "chassis"]', "secondary =", "has both ends on one node"),
        ('anodes = ["v1_a"]', 'anodes = ["ht"]', "anodes =", "has both ends on one node"),
        ('primary = { nodes = ["pri_1", "pri_2"]', 'primary = { nodes = ["pri_1", "pri_1"]', "primary =", "both ends"),
        ("[bench]", '[gate]\nclip_between = ["hta", "0"]\n\n[bench]', "clip_between", '"hta" is no node, did you mean'),
        ('red = "v1_k"', 'red = "v1_kk"', 'red = "v1_kk"', "is no node, did you mean v1_k?"),
        ('black = "h_b"', 'black = "h_a"', "[point.heater]", "has both probes on one node"),
        ('red = "ht_ac"', 'red = "chassis"', "[point.ht_winding]", "has both probes on one node"),
        (
            'secondary = ["out", "0"]',
            'secondary = ["out", "out_2"]',
            'secondary = ["out", "out_2"]',
            "is touched by T2 alone",
        ),
    ],
)
def test_every_joint_joins(old: str, new: str, marker: str, words: str) -> None:
    told(changed(old, new), marker, words)


def test_a_loudspeaker_side_that_floats_is_refused() -> None:
    text = EXAMPLE.replace('["out", "0"]', '["out", "cold"]')
    told(text, "[output_transformer.T2]", "has no way to chassis")


def test_the_mains_side_needs_no_way_to_chassis() -> None:
    assert not refusals(changed('BOND = { nodes = ["earth", "chassis"]', 'BOND = { nodes = ["earth", "ht_res"]'))


def test_a_loop_of_links_without_resistance_is_refused() -> None:
    first = 'L1 = { nodes = ["ht", "x"], value = "0R", stage = "supply" }'
    second = 'L2 = { nodes = ["x", "ht"], value = "0R", stage = "supply" }'
    text = changed("[transformer.T1]\n", f"{first}\n{second}\n\n[transformer.T1]\n")
    told(text, "L2 = {", "closes a loop of links with no resistance")
    assert not refusals(
        changed('L2 = { nodes = ["x", "ht"], value = "0R"', 'L2 = { nodes = ["x", "ht"], value = "0R1"', text)
    )


@pytest.mark.parametrize(
    ("text", "marker", "words"),
    [
        (
            changed('stage = "metal"', 'stage = "mtal"'),
            "BOND = {",
            'link.BOND.stage "mtal" is no stage, did you mean metal?',
        ),
        (changed('stages = ["mains"]', 'stages = ["main"]'), 'stages = ["main"]', "did you mean mains?"),
        (changed('stages = ["mains"]', 'stages = ["mains", "mains"]'), 'stages = ["mains", "mains"]', "a stage twice"),
        (changed('stages = ["mains"]', "stages = []"), "stages = []", "at least one is wanted"),
        (changed("poles = 2", 'open_in = ["stby"]'), "S1 = {", "is no stage"),
        (EXAMPLE + STAGE.format("supply") + 'skip = "no"\n', "D1 = {", "is a stage that is left out (line"),
        (EXAMPLE + STAGE.format("cold") + 'skip = "no"\n', 'skip = "no"', "no stage is powered before them"),
        (EXAMPLE + STAGE.format("supply") + 'after = "cold"\n', 'after = "cold"', "supply is a standard stage"),
        (EXAMPLE + STAGE.format("supply") + 'kind = "cold"\n', 'kind = "cold"', "supply is a standard stage"),
        (EXAMPLE + STAGE.format("own") + OWN.format("power", "metal"), 'after = "metal"', "before the cold checks"),
        (EXAMPLE + STAGE.format("own") + OWN.format("power", "own"), 'after = "own"', "can't be reached"),
        (
            EXAMPLE + STAGE.format("one") + OWN.format("cold", "two") + STAGE.format("two") + OWN.format("cold", "one"),
            'after = "two"',
            "can't be reached",
        ),
        (EXAMPLE + STAGE.format("own") + OWN.format("power", "suply"), 'after = "suply"', "did you mean supply?"),
        (EXAMPLE + STAGE.format("own") + 'title = "x"\nkind = "cold"\n', "[stage.own]", "stage.own.after is missing"),
        (EXAMPLE + STAGE.format("own") + 'title = "x"\nafter = "cold"\n', "[stage.own]", "stage.own.kind is missing"),
        (
            changed('type = "6V6GT", stage = "output"', 'type = "6V6GT", stage = "heaters"'),
            "V1 = {",
            "comes before the supply",
        ),
        (
            TRIMMED.replace('value = "10k", stage = "output"', 'value = "10k", stage = "driver"'),
            'stages = [ "output" ]',
            "before its pot",
        ),
    ],
)
def test_stages_are_known_and_in_order(text: str, marker: str, words: str) -> None:
    told(text, marker, words)


@pytest.mark.parametrize(
    ("text", "marker", "words"),
    [
        (changed('pot = "P1"', 'pot = "P2"', TRIMMED), 'pot = "P2"', '"P2" is no pot of this build, did you mean P1?'),
        (changed('point = "v1_cathode"', 'point = "v1"', TRIMMED), 'point = "v1"', "is no point of this build"),
        (TRIMMED + 'valve = "V9"\n', 'valve = "V9"', "is no valve section of this build"),
        (
            changed('point = "v1_cathode"', 'point = "ht_winding"', TRIMMED),
            'stages = [ "output" ]',
            "needs a reading of ht_winding in stage output",
        ),
        (changed('watch = "v1_cathode"', 'watch = "v2_cathode"'), "watch =", "did you mean v1_cathode?"),
        (changed('watch = "v1_cathode"', 'watch = "ht_winding"'), "watch =", "add output to the stages of that point"),
        (changed("valves_out = []", 'valves_out = ["V2"]'), "valves_out", "did you mean V1?"),
        (changed("valves_out = []", 'fuses_out = ["F2"]'), "fuses_out", "did you mean F1?"),
        (
            changed('type = "6V6GT"', 'type = "6V6GT", model = "6V6"'),
            "V1 = {",
            "is no [model] of this build, there is none",
        ),
        (
            EXAMPLE + HEATER.format("V3", "6.3 V"),
            "H1 = {",
            "is no valve of this build",
        ),
        (changed('socket = "V1.8"', 'socket = "V3.8"'), "socket", "names no valve"),
        (changed('socket = "V1.8"', 'socket = "8"'), "socket", "names no valve"),
        (changed('socket = "V1.8"', 'socket = "V1.6"'), "socket", "is a pin that V1 does not list"),
        (changed('socket = "V1.8"', 'socket = "V1.3"'), "socket", "is on node v1_a, where no probe goes"),
        (
            changed('earth = "earth" ', 'earth = "earth"\nread_at = "heater winding"')
            if False
            else changed('earth = "earth"', 'earth = "earth"\nread_at = "heater winding"'),
            "read_at",
            "a read_point is needed",
        ),
        (changed('earth = "earth"', 'earth = "earth"\nread_point = "heater"'), "[mains]", "does not fit read_point"),
        (
            changed('earth = "earth"', 'earth = "earth"\nread_at = "heater winding"\nread_point = "hater"'),
            "read_point",
            "did you mean heater?",
        ),
    ],
)
def test_what_is_referred_to_is_there(text: str, marker: str, words: str) -> None:
    told(text, marker, words)


@pytest.mark.parametrize(
    ("text", "marker", "words"),
    [
        (changed('emf = "200 V", ', ""), "W_HT = {", "emf measured off load, or rated volts with regulation"),
        (changed(', regulation = "6 %"', ""), "W_H = {", "transformer.T1.windings.W_H.regulation is missing"),
        (changed('emf = "200 V"', 'emf = "200 V", regulation = "8 %"'), "W_HT = {", "means nothing without volts"),
        (
            changed('volts = "6.3 V", regulation', 'volts = "6.3 V", at = "230 V", regulation'),
            "W_H = {",
            "means nothing without emf",
        ),
        (
            changed('inlet = "appliance inlet"', 'inlet = "captive lead"'),
            "[mains]",
            "say where the mains side is read dead",
        ),
        (
            changed('resistance = ["280R"]', 'resistance = ["280R", "280R"]'),
            'resistance = ["280R"',
            "2 entries for 1 anodes",
        ),
        (changed('anodes = ["v1_a"]', "anodes = []"), "anodes = []", "has 0 nodes"),
        (changed('share = "43 %"', 'share = "0 %"', ULTRA), "screen_taps", "is no tap"),
        (changed('share = "43 %"', 'share = "100 %"', ULTRA), "screen_taps", "is no tap"),
        (changed('["v1_g2"], share', '["v1_g2", "ht"], share', ULTRA), "screen_taps", "2 nodes for 1 anodes"),
        (
            changed('value = "100n", volts = "400 V"', 'value = "100n", volts = "400 V", surge = "350 V"'),
            "C4 = {",
            "below the rated volts",
        ),
        (changed('socket = "V1.8"', 'stop_high = "30 V"'), "[point.v1_cathode]", "narrowed only with a reason"),
        (
            changed('socket = "V1.8"', 'stop_high = "3 V"\nstop_low = "5 V"\nreason = "x"'),
            "stop_low",
            "is not below stop_high",
        ),
        (changed('guards = "bond"', 'guards = "grid bias"'), "guards", "does not fit the quantity resistance"),
        (changed('target = "15 V"\n', "", TRIMMED), "[adjust.A1]", "has no aim"),
        (TRIMMED + 'dissipation = "60 %"\nvalve = "V1"\n', "[adjust.A1]", "has two aims"),
        (changed('target = "15 V"', 'dissipation = "60 %"', TRIMMED), "[adjust.A1]", "name the valve"),
        (changed('point = "v1_cathode"', 'point = "heater"', TRIMMED), 'point = "heater"', "reads ac (line"),
        (changed('target = "15 V"', 'dissipation = "0 %"\nvalve = "V1"', TRIMMED), "dissipation", "is no dissipation"),
        (
            EXAMPLE + HEATER.format("V1", "12.6 V"),
            "H1 = {",
            "does not fit W_H, which gives 6.68 V off load",
        ),
    ],
)
def test_values_are_complete_and_fit(text: str, marker: str, words: str) -> None:
    told(text, marker, words)


def test_a_limit_has_the_unit_of_its_reading() -> None:
    limit = 'stop_high = "0.1 ohm"\nreason = "own rule"\n'
    assert not refusals(changed('guards = "bond"', limit))
    told(changed('socket = "V1.8"', limit), "stop_high", "is in ohms")


@pytest.mark.parametrize(
    ("text", "marker", "words"),
    [
        (
            changed(
                'C1 = { nodes = ["ht_res", "0"], value = "47u"', 'C1 = { nodes = ["ht_res", "0"], value = "1000000u"'
            ),
            "C1 = {",
            "is odd: 1 F",
        ),
        (changed('impedance = "5k"', 'impedance = "10R"'), "impedance", "is odd: 10 ohm"),
        (changed('value = "1k", watts = "5 W"', 'value = "1k"'), R1[:6], "has no power rating"),
        (changed('value = "1k", watts', 'value = "1k", measured = "2k", watts'), R1[:6], "is outside the tolerance"),
        (changed('value = "100n"', 'value = "100n", measured = "10n"'), "C4 = {", "half or more than twice"),
        (changed('R2 = { nodes = ["ht", "0"]', 'R2 = { nodes = ["h_a", "0"]'), "C1 = {", "no resistor is across it"),
        (
            changed('R5 = { nodes = ["v1_g", "0"]', 'R5 = { nodes = ["v1_k", "0"]'),
            "C4 = {",
            "only valves or capacitors tie to chassis",
        ),
        (
            changed('volts = "230 V"\nfrequency', 'volts = "400 V"\nfrequency'),
            'volts = "400 V"\nfrequency',
            "is odd: 400 V",
        ),
        (
            EXAMPLE + '[thermistor]\nTH1 = { nodes = ["ht", "0"], value = "5R", cold = "2R", stage = "supply" }\n',
            "TH1 = {",
            "is not above the hot value",
        ),
        (changed('frequency = "50 Hz"', 'frequency = "400 Hz"'), "frequency", "is odd: 400 Hz"),
        (
            EXAMPLE.replace('value = "47u"', 'value = "47n"').replace('value = "100u"', 'value = "100n"'),
            "[capacitor]",
            "holds no reservoir",
        ),
        (
            changed('volts = "230 V"\nfrequency', 'volts = "200 V"\nfrequency'),
            "primary = {",
            "more than 10 % off the mains",
        ),
        (
            changed('nodes = ["ht_ac", "ht_raw"]', 'nodes = ["h_a", "ht_raw"]')
            .replace('red = "ht_ac"', 'red = "h_a"')
            .replace('"ht_ac", "0"]', '"ht_ac", "x"]'),
            "W_HT = {",
            "is a winding that nothing is joined to",
        ),
        (
            changed('stages = ["supply", "output"]', 'stages = ["supply", "output", "heaters"]'),
            'stages = ["supply", "output", "heaters"]',
            "nothing is fitted at ht",
        ),
        (
            changed('stages = ["mains"]', 'stages = ["output"]'),
            "[point.earth_bond]",
            "nothing to be read in the powered stage mains",
        ),
        (changed('reach = "outside"', 'reach = "inside"', TRIMMED), "reach", "is trimmed live inside"),
        (changed('type = "6V6GT"', 'type = "6V6GT", matched = "pair"'), "V1 = {", "is a matched set of one"),
        (
            EXAMPLE + '\n[model.m]\nform = "silicon"\nsource = "x"\nconstants = { is = 1e-9 }\n',
            "[model.m]",
            "is used by nothing",
        ),
        (EXAMPLE + '\n[limits.6L6GT]\nsource = "x"\nconfidence = "low"\n', "[limits.6L6GT]", "did you mean 6V6GT?"),
        (changed('red_at = "the end of R1 at C2"', 'red_at = "\\u202etag"'), "red_at", "hidden characters"),
        (changed('red_at = "the end of R1 at C2"', f'red_at = "{"x" * 401}"'), "red_at", "over 400 characters"),
    ],
)
def test_what_is_possible_but_odd_is_a_warning(text: str, marker: str, words: str) -> None:
    told(text, marker, words, warnings(text))


def test_the_example_itself_has_nothing_odd() -> None:
    assert warnings(EXAMPLE) == ()


ZENER = '\n[zener]\nZ1 = {{ nodes = ["0", "{}"], value = "{}", at = "3 mA", resistance = "{}", stage = "supply"{} }}\n'


def test_a_zener_is_a_part_like_others() -> None:
    assert not refusals(EXAMPLE + ZENER.format("ht", "100 V", "350R", ', watts = "1.3 W"'))
    told(EXAMPLE + ZENER.format("ht", "100 V", "30k", ""), "Z1 = {", "would drop half of its volts at the test current")
    told(EXAMPLE + ZENER.format("0", "100 V", "350R", ""), "Z1 = {", "both ends on one node")
    told(EXAMPLE + ZENER.format("ht", "100 ohm", "350R", ""), "Z1 = {", "zener.Z1.value")


def test_a_zener_without_watts_or_of_odd_volts_is_warned_of() -> None:
    text = EXAMPLE + ZENER.format("ht", "300 V", "350R", "")
    told(text, "Z1 = {", "has no power rating", warnings(text))
    told(text, "Z1 = {", "2 to 200 V is usual", warnings(text))


FET = '\n[fet]\nQ1 = {{ nodes = ["ht", "0", "{}"], idss = "{}", pinch_off = "2 V", stage = "supply"{} }}\n'
BIPOLAR = '\n[transistor]\nQ1 = {{ nodes = ["ht", "0", "{}"], polarity = "{}", gain = {}, stage = "supply"{} }}\n'
WATTS = ', watts = "1 W"'


def test_transistors_are_parts_like_others() -> None:
    for text in (FET.format("v1_k", "4 mA", WATTS), BIPOLAR.format("v1_k", "npn", 80, WATTS)):
        assert not refusals(EXAMPLE + text) and not [w for w in warnings(EXAMPLE + text) if "Q1" in str(w)]
    told(EXAMPLE + FET.format("ht", "4 mA", ""), "Q1 = {", "has both ends on one node")
    told(EXAMPLE + FET.format("lost", "4 mA", ""), "Q1 = {", "is touched by Q1 alone")
    told(EXAMPLE + FET.format("v1_k", "-4 mA", ""), "Q1 = {", "fet.Q1.idss")
    told(EXAMPLE + BIPOLAR.format("v1_k", "nnp", 80, ""), "Q1 = {", "transistor.Q1.polarity")
    told(EXAMPLE + BIPOLAR.format("v1_k", "npn", -5, ""), "Q1 = {", "transistor.Q1.gain")


def test_odd_transistors_are_warned_of() -> None:
    for text in (FET.format("v1_k", "4 A", ""), BIPOLAR.format("v1_k", "npn", 5, "")):
        told(EXAMPLE + text, "Q1 = {", "is usual", warnings(EXAMPLE + text))
        told(EXAMPLE + text, "Q1 = {", "has no power rating", warnings(EXAMPLE + text))
