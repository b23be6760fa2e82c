"""Does a build hang together? Each slip is told with its line and what would be right; more are in tests/badinput."""

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


def test_a_section_may_have_the_name_of_its_valve() -> None:
    assert not refusals(changed('type = "6V6GT"', 'type = "6V6GT", sections = ["V1"]'))


@pytest.mark.parametrize(
    ("old", "new", "marker", "words"),
    [
        ('primary = { nodes = ["pri_1", "pri_2"]', 'primary = { nodes = ["pri_1", "pri_1"]', "primary =", "both ends"),
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


def test_the_mains_side_needs_no_way_to_chassis() -> None:
    assert not refusals(changed('BOND = { nodes = ["earth", "chassis"]', 'BOND = { nodes = ["earth", "ht_res"]'))


@pytest.mark.parametrize(
    ("text", "marker", "words"),
    [
        (
            changed('stage = "metal"', 'stage = "mtal"'),
            "BOND = {",
            'link.BOND.stage "mtal" is no stage, did you mean metal?',
        ),
        (changed('stages = ["mains"]', 'stages = ["main"]'), 'stages = ["main"]', "did you mean mains?"),
        (changed('stages = ["mains"]', "stages = []"), "stages = []", "at least one is wanted"),
        (changed("poles = 2", 'open_in = ["stby"]'), "S1 = {", "is no stage"),
        (EXAMPLE + STAGE.format("supply") + 'skip = "no"\n', "D1 = {", "is a stage that is left out (line"),
        (EXAMPLE + STAGE.format("supply") + 'kind = "cold"\n', 'kind = "cold"', "supply is a standard stage"),
        (EXAMPLE + STAGE.format("own") + 'title = "x"\nkind = "cold"\n', "[stage.own]", "stage.own.after is missing"),
        (EXAMPLE + STAGE.format("own") + 'title = "x"\nafter = "cold"\n', "[stage.own]", "stage.own.kind is missing"),
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
        (changed('socket = "V1.8"', 'socket = "V3.8"'), "socket =", "names no valve"),
        (changed('socket = "V1.8"', 'socket = "8"'), "socket =", "names no valve"),
        (changed('socket = "V1.8"', 'socket = "V1.6"'), "socket =", "is a pin that V1 does not list"),
        (changed('socket = "V1.8"', 'socket = "V1.3"'), "socket =", "is on node v1_a, where no probe goes"),
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
        (changed('guards = "bond"', 'guards = "grid bias"'), "guards", "does not fit the quantity resistance"),
        (changed('target = "15 V"\n', "", TRIMMED), "[adjust.A1]", "has no aim"),
        (TRIMMED + 'dissipation = "60 %"\nvalve = "V1"\n', "[adjust.A1]", "has two aims"),
        (changed('target = "15 V"', 'dissipation = "60 %"', TRIMMED), "[adjust.A1]", "name the valve"),
        (changed('point = "v1_cathode"', 'point = "heater"', TRIMMED), 'point = "heater"', "reads ac (line"),
        (changed('target = "15 V"', 'dissipation = "0 %"\nvalve = "V1"', TRIMMED), "dissipation", "is no dissipation"),
    ],
)
def test_values_are_complete_and_fit(text: str, marker: str, words: str) -> None:
    told(text, marker, words)


def test_a_limit_has_the_unit_of_its_reading() -> None:
    limit = 'stop_high = "0.1 ohm"\nreason = "own rule"\n'
    assert not refusals(changed('guards = "bond"', limit))


@pytest.mark.parametrize(
    ("text", "marker", "words"),
    [
        (changed('value = "1k", watts', 'value = "1k", measured = "2k", watts'), R1[:6], "is outside the tolerance"),
        (changed('value = "100n"', 'value = "100n", measured = "10n"'), "C4 = {", "half or more than twice"),
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
