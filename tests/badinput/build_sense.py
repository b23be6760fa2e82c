"""Build files that are text but make no sense, or odd sense, by case; each is the example with something changed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from benchtui.forecast import rules_bench, rules_valves
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import StageStates
from tests.badinput.cases import Answer, Table
from tests.buildfile.damage import EXAMPLE, changed
from tests.buildfile.test_channels import STEREO

_REFUSED, _TAKEN, _WARNED = Answer.REFUSED, Answer.TAKEN, Answer.WARNED


@dataclass(frozen=True)
class Text:
    """A text, what is said of the line where `at` first stands (of none where it is empty), and what it comes to.

    `becomes`: a note of the build as taken, where that is what counts.
    """

    given: str
    at: str = ""
    says: str = ""
    answer: Answer = _REFUSED
    becomes: str = ""


@dataclass(frozen=True)
class Reviewed:
    """A build that is taken, and what a rule of the ratings review finds in a stage of it."""

    given: str
    stage: str
    rule: Callable[[StageStates], Iterator[Finding]]
    found: set[tuple[str, str, str]]


R1 = 'R1 = { nodes = ["ht_res", "ht"], value = "1k"'
C4 = "C4 = {"
WATTS = 'watts = "5 W"'
STAGE = "\n[stage.{}]\n"
OWN = 'title = "Own"\nkind = "{}"\nafter = "{}"\n'
FIRST_LINK = 'L1 = { nodes = ["ht", "x"], value = "0R", stage = "supply" }\n'
SECOND_LINK = 'L2 = { nodes = ["x", "ht"], value = "0R", stage = "supply" }\n\n'
HEATER = '\n[heater]\nH1 = {{ nodes = ["h_a", "h_b"], valve = "V1", volts = "{}", amps = "1 A", stage = "mains" }}\n'


def _value(value: str, says: str, answer: Answer = _REFUSED) -> Text:
    """R1 with `value` as it would stand in the file, quotes included."""
    return Text(changed(R1, R1.replace('"1k"', value)), "R1 = {", says, answer)


def _swap(old: str, new: str, at: str, says: str, answer: Answer = _REFUSED) -> Text:
    return Text(changed(old, new), at, says, answer)


def _end(added: str, at: str, says: str, answer: Answer = _REFUSED) -> Text:
    return Text(EXAMPLE + added, at, says, answer)


def _note(written: str, becomes: str, says: str = "", answer: Answer = _TAKEN) -> Text:
    return Text(changed('notes = "', f'notes = "{written}'), "notes", says, answer, becomes)


_WRONG_WINDING = changed('volts = "6.3 V", regulation', 'volts = "12.6 V", regulation')


def _own_limit(volts: str) -> str:
    return changed('red_at = "the end of R1 at C2"', f'stop_high = "{volts}"\nreason = "own rule"')


def chain(length: int) -> str:
    """The example with `length` resistors in series across the HT, as short as they can be written."""
    rows = [
        f'X{n}={{nodes=["{n or "ht"}","{(n + 1) % length}"],value="1k",watts="1W",stage="supply"}}\n'
        for n in range(length)
    ]
    return changed("[resistor]\n", "[resistor]\n" + "".join(rows))


TABLE: Table[Text | Reviewed] = {
    "a table or key twice": (
        _swap("[diode]", "[fuse] # again", "[fuse] # again", "fuse is written twice, first on line"),
        _swap("R2 = {", "R1  = {", "R1  = {", "resistor.R1 is written twice, first on line"),
        _swap(WATTS, f"{WATTS}, {WATTS}", "R1 = {", "resistor.R1.watts is written twice"),
    ),
    "one reference for two things": (
        _swap("R1 = {", "C1 = {", 'C1 = { nodes = ["ht_res", "0"]', "has the name of resistor.C1 (line"),
        _swap("W_H = {", "R1 = {", R1, "has the name of transformer.T1.windings.R1 (line"),
        _swap("[point.ht]", "[point.R1]", "[point.R1]", "has the name of resistor.R1 (line"),
        _swap("[output_transformer.T2]", "[output_transformer.T1]", "[output_transformer.T1]",
              "has the name of transformer.T1"),
        _swap('type = "6V6GT"', 'type = "6V6GT", sections = ["R1"]', "V1 = {", "has the name of resistor.R1"),
    ),
    "references alike but for case or a letter": (
        _swap("R1 = {", "rs1 = {", "rs1 = {", "can be taken for resistor.RS1 (line"),
        _swap("J1 = {", "Cl = {", "Cl = {", "can be taken for capacitor.C1 (line"),
        _swap("R1 = {", '"R\\u0431" = {', "R\\u0431", "is no name"),
    ),
    "unknown key": (
        _swap('frequency = "50 Hz"', 'frequenzy = "50 Hz"', "frequenzy", "is not known here, did you mean frequency?"),
        _end("[resistors]\n", "[resistors]", "did you mean resistor?"),
        _swap(WATTS, 'wats = "5 W"', "R1 = {", "did you mean watts?"),
    ),
    "missing key": (
        _swap('frequency = "50 Hz"\n', "", "[mains]", "mains.frequency is missing"),
        _swap('frequency = "50 Hz"\n', "", "[mains]", "50 Hz or 60 Hz"),
        _swap('value = "100n", ', "", C4, "capacitor.C4.value is missing"),
        _swap('emf = "200 V", ', "", "W_HT = {", "emf measured off load, or rated volts with regulation"),
    ),
    "unknown unit": (
        _value('"1 furlong"', "unknown unit 'furlong'"),
        _swap(WATTS, 'watts = "5 wats"', "R1 = {", "unknown unit"),
        _value('"5 V"', "is in volts"),
    ),
    "milli for mega, mega for micro": (
        _value('"1m"', "write 1M for megohms"),
        _swap('value = "100n"', 'value = "1M"', C4, "write 1 uF for microfarads"),
        _swap('value = "1M"', 'value = "1 Mohm"', "", "", _TAKEN),
        _swap('inductance = "12 H"', 'inductance = "12000m"', "", "", _TAKEN),
    ),
    "two multipliers, or a decimal comma": (
        _value('"4k7k"', "4k7"),
        _value('"4,7k"', "has a decimal comma, write 4.7k"),
    ),
    "a bare number where a unit is due": (
        _value("470", 'write "470 ohm" or "470R" if ohms are meant'),
        _value("4k7", 'write it in quotes: "4k7"'),
        _value('"470"', "has no unit"),
        Text(EXAMPLE.replace('value = "100R"', "value = 100R"), "RS1 = {", 'write it in quotes: "100R"'),
        Text(EXAMPLE.replace('value = "100R"', "value = 100R"), "R7 = {", 'write it in quotes: "100R"'),
    ),
    "below zero": (
        _value('"-1k"', "below zero"),
        _swap('value = "100n"', 'value = "-100n"', C4, "below zero"),
        _swap(WATTS, 'watts = "-5 W"', "R1 = {", "below zero"),
        _swap(WATTS, 'watts = "-5 watts"', "R1 = {", "below zero"),
    ),
    "not finite": (
        _value("nan", "is a bare number"),
        _value("inf", "is a bare number"),
        _value("1e400", "is a bare number"),
        _value('"nan"', "is no number"),
        _value('"inf"', "is no number"),
        _value('"1e3"', "has an exponent"),
        _value('"1e400"', "has an exponent"),
        _value(f'"{"9" * 60}k"', "is too long"),
        _swap("counts = 6000", "counts = inf", "counts", "is no whole number"),
    ),
    "no resistance where there must be some": (
        _value('"0R"', "not above zero"),
        Text(changed("[link]\n", "[link]\n" + FIRST_LINK + SECOND_LINK.replace("0R", "0R1")), answer=_TAKEN),
        Text(changed("[link]\n", f"[link]\n{FIRST_LINK}{SECOND_LINK}"), "L2 = {",
             "closes a loop of links with no resistance"),
        _swap('resistance = "160R"', 'resistance = "0R"', "W_HT = {", "not above zero"),
    ),
    "possible but odd": (
        _swap('C1 = { nodes = ["ht_res", "0"], value = "47u"', 'C1 = { nodes = ["ht_res", "0"], value = "1000000u"',
              "C1 = {", "is odd: 1 F", _WARNED),
        _swap('impedance = "5k"', 'impedance = "10R"', "impedance", "is odd: 10 ohm", _WARNED),
        _swap('frequency = "50 Hz"', 'frequency = "400 Hz"', "frequency", "is odd: 400 Hz", _WARNED),
    ),
    "watts in words, or none": (
        _swap(WATTS, 'watts = "5 watts"', "", "", _TAKEN),
        _swap(WATTS, 'watts = "some"', "R1 = {", "is no value in watts"),
        _swap(f"value = \"1k\", {WATTS}", 'value = "1k"', "R1 = {", "has no power rating", _WARNED),
    ),
    "a joint that joins nothing": (
        _swap(R1, R1.replace('"ht"]', '"htt"]'), "R1 = {", '"htt" is touched by R1 alone'),
        _swap(R1, R1.replace('"ht"]', '"htt"]'), "R1 = {", "did you mean ht?"),
        _swap('5 = "v1_g"', '5 = "v1_gg"', "V1 = {", 'valve.V1.pins.5 "v1_gg" is touched by V1 alone'),
        _swap('anodes = ["v1_a"]', 'anodes = ["v1_b"]', 'anodes = ["v1_b"]', "is touched by T2 alone"),
        _swap('nodes = ["fused", "pri_1"]', 'nodes = ["fuse", "pri_1"]', "S1 = {", "did you mean fused?"),
    ),
    "both ends on one joint": (
        _swap(R1, R1.replace('"ht_res", "ht"', '"ht", "ht"'), "R1 = {", "has both ends on one node"),
        _swap('secondary = ["out", "0"]', 'secondary = ["0", "chassis"]', "secondary =", "has both ends on one node"),
        _swap('anodes = ["v1_a"]', 'anodes = ["ht"]', "anodes =", "has both ends on one node"),
        _swap('black = "h_b"', 'black = "h_a"', "[point.heater]", "has both probes on one node"),
    ),
    "no way to the chassis": (
        Text(EXAMPLE.replace('["out", "0"]', '["out", "cold"]'), "[output_transformer.T2]", "has no way to chassis"),
        _swap('R5 = { nodes = ["v1_g", "0"]', 'R5 = { nodes = ["v1_k", "0"]', C4,
              "only valves or capacitors tie to chassis", _WARNED),
    ),
    "a probe on no joint": (
        _swap('red = "v1_k"', 'red = "v1_kk"', 'red = "v1_kk"', "is no node, did you mean v1_k?"),
        _swap("[bench]", '[gate]\nclip_between = ["hta", "0"]\n\n[bench]', "clip_between", '"hta" is no node'),
    ),
    "a point that floats in a stage": (
        _swap('stages = ["supply", "output"]', 'stages = ["supply", "output", "heaters"]', '"output", "heaters"]',
              "nothing is fitted at ht, it is left out there", _WARNED),
    ),
    "unknown valve, wrong pins": (
        _swap('type = "6V6GT"', 'type = "6V6XX"', "V1 = {", "is not in the valve library, did you mean 6V6"),
        _swap('type = "6V6GT"', 'type = "GU81"', "V1 = {", "or give own constants under [model]"),
        _swap('7 = "h_b"', '9 = "h_b"', "V1 = {", "is no pin of a 6V6GT, its pins are"),
        _swap('7 = "h_b"', '2 = "h_b"', "V1 = {", "valve.V1.pins.2 is written twice"),
        _swap('7 = "h_b"', '15 = "h_b"', "V1 = {", "is no pin"),
        _swap('7 = "h_b", ', "", "V1 = {", "wires one end of the heater only"),
    ),
    "a heater that does not fit its winding": (
        _end(HEATER.format("12.6 V"), "H1 = {", "does not fit W_H, which gives 6.68 V off load"),
        Reviewed(_WRONG_WINDING, "output", rules_valves.heater_volts, {("stop", "V1", "heater-volts")}),
    ),
    "a limit without a reason, or wider than the computed one": (
        _swap('socket = "V1.8"', 'stop_high = "30 V"', "[point.v1_cathode]", "narrowed only with a reason"),
        _swap('socket = "V1.8"', 'stop_high = "3 V"\nstop_low = "5 V"\nreason = "x"', "stop_low",
              "is not below stop_high"),
        _swap('socket = "V1.8"', 'stop_high = "0.1 ohm"\nreason = "own rule"', "stop_high", "is in ohms"),
        Reviewed(_own_limit("600 V"), "output", rules_bench.own_limits, {("stop", "ht", "own-limit-wider")}),
        Reviewed(_own_limit("300 V"), "output", rules_bench.own_limits, set()),
    ),
    "stages out of order": (
        _swap('stages = ["mains"]', 'stages = ["mains", "mains"]', 'stages = ["mains", "mains"]', "a stage twice"),
        _end(STAGE.format("cold") + 'skip = "no"\n', 'skip = "no"', "no stage is powered before them"),
        _end(STAGE.format("own") + OWN.format("power", "metal"), 'after = "metal"', "before the cold checks"),
        _end(STAGE.format("supply") + 'after = "cold"\n', 'after = "cold"', "supply is a standard stage"),
        _swap('type = "6V6GT", stage = "output"', 'type = "6V6GT", stage = "heaters"', "V1 = {",
              "comes before the supply"),
    ),
    "stages in a circle, or not to be reached": (
        _end(STAGE.format("own") + OWN.format("power", "own"), 'after = "own"', "can't be reached"),
        _end(STAGE.format("one") + OWN.format("cold", "two") + STAGE.format("two") + OWN.format("cold", "one"),
             'after = "two"', "can't be reached"),
        _end(STAGE.format("own") + OWN.format("power", "suply"), 'after = "suply"', "did you mean supply?"),
    ),
    "no reservoir, or nothing that discharges it": (
        Text(EXAMPLE.replace('value = "47u"', 'value = "47n"').replace('value = "100u"', 'value = "100n"'),
             "[capacitor]", "holds no reservoir", _WARNED),
        _swap('R2 = { nodes = ["ht", "0"]', 'R2 = { nodes = ["h_a", "0"]', "C1 = {", "no resistor is across it",
              _WARNED),
    ),
    "a part or channel that refers to itself": (
        Text(changed("[each.load]", "[each.each.load]", STEREO), "[each.each.load]", "can't be written once"),
        Text(changed('valves_out = ["V2L"]', 'valves_out = [".V2"]', STEREO), "valves_out", "only inside [each...]"),
        Text(changed("R1 = {", "R11L = {", STEREO), "R11 = {", "gives R11L, which is there already (line"),
        Text(changed("R11 = {", '"" = {', STEREO), '"" = {', "is empty, a name is wanted"),
        Text(changed('sections = ["V2x"]', 'sections = [""]', STEREO), "V2 = {", "is empty"),
    ),
    "a path to another file": (
        Text('include = "other.toml"\n' + EXAMPLE, "include", "include is not known here"),
        _swap('type = "6V6GT"', 'type = "../../etc/passwd"', "V1 = {", "begins with a dot"),
        _swap('type = "6V6GT"', 'type = "/etc/passwd"', "V1 = {", "is no name"),
    ),
    "hidden characters": (
        _swap("R1 = {", '"R1\\u202e" = {', "R1\\u202e", "resistor.R1<U+202E> is no name"),
        _swap('stage = "metal"', 'stage = "me\\u200btal"', "BOND = {", '"me<U+200B>tal" is no name'),
        _swap('type = "6V6GT"', 'type = "6V6GT\\u001b[2J"', "V1 = {", "<U+001B>[2J"),
        _note("\\u001b[2J\\u0085\\u202e\\U000E0041", "<U+001B>[2J<U+0085><U+202E><U+E0041>Half-wave",
              "hidden characters", _WARNED),
        _note("\u202e\u200b\u009b", "<U+202E><U+200B><U+009B>Half-wave", "hidden characters", _WARNED),
    ),
    "markup": tuple(_note(text, text) for text in ("[/]", "[/nope]", "[@click=app.quit]x[/]", "<b>&amp;")),
    "format and formula": tuple(_note(text, text) for text in ("{0.__class__}", "%s%n", "=1+1", "@SUM(A1)", "$(id)")),
    "too long a text": (
        _swap("R1 = {", "R" * 41 + " = {", "R" * 41, "at most 40 characters"),
        _note("x" * 400, "x" * 399 + "…", "over 400 characters", _WARNED),
    ),
    "another type where a value is due": (
        _value("1979-05-27", "is no text"),
        _value("true", "is no text"),
        _value('["1k"]', "is no text"),
        _value('{ a = "1k" }', "is no text"),
        _swap("counts = 6000", "counts = true", "counts", "is no whole number"),
        _swap("counts = 6000", 'counts = "6000"', "counts", "without quotes"),
        _swap("poles = 2", "poles = 5", "S1 = {", "at most 4"),
        _swap("true_rms = true", "true_rms = 1", "true_rms", "neither true nor false"),
        _swap('["ht_res", "ht"]', '["ht_res"]', "R1 = {", "has too few entries"),
        _swap('["ht_res", "ht"]', '"ht_res"', "R1 = {", "is no list"),
        _swap('name = "First steps', 'name = ["x"] #', "name =", "is no text"),
        Text(EXAMPLE.replace("[load]\nRL = {", "load = 8\n[x]\nRL = {"), "", ""),
    ),
    "another version of the format": (
        _swap("format = 1", "format = 2", "format", "is newer than this program, format 1 is the newest it reads"),
        _swap("format = 1", "format = 0", "format", "format 0"),
        _swap("format = 1", "format = -1", "format", "format -1"),
        _swap("format = 1", "format = true", "format", "format true is no whole number"),
        _swap("format = 1", "format = 1.0", "format", "format 1.0 is no whole number"),
        _swap("format = 1\n", "", "", "format is missing"),
    ),
    "thousands of parts": (
        Text(chain(400), "", "", _TAKEN),
        Text(chain(2000), "", "500 are the most"),
        Text(chain(6000), "", "over 256 kB"),
    ),
}  # fmt: skip
