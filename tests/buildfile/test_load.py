"""The loader as a whole: one answer with everything in it, in the words of whoever wrote the file."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from benchtui.buildfile.load import load, load_text
from benchtui.buildfile.problems import MOST_FINDINGS, BuildFileError
from tests.buildfile.damage import EXAMPLE, EXAMPLE_PATH, changed, line_of, refusals, warnings

R1 = 'R1 = { nodes = ["ht_res", "ht"], value = "1k"'


def with_value(value: str) -> str:
    return changed(R1, R1.replace('"1k"', value))


def test_the_example_is_taken_and_keeps_its_text_and_hash() -> None:
    found = load(EXAMPLE_PATH)
    assert found.text == EXAMPLE
    assert found.sha256 == hashlib.sha256(EXAMPLE_PATH.read_bytes()).hexdigest()
    assert found.path == str(EXAMPLE_PATH)
    assert found.build.resistor["R1"].value == 1000.0
    assert found.build.output_transformer["T2"].core_loss is None
    assert found.lines.line(("resistor", "R1", "value")) == line_of(EXAMPLE, "R1 = {")


@pytest.mark.parametrize("data", [b"\xef\xbb\xbf" + EXAMPLE.encode(), EXAMPLE.replace("\n", "\r\n").encode()])
def test_the_kept_text_gives_the_same_build_and_hash_again(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "amp.toml"
    path.write_bytes(data)
    first = load(path)
    again = load_text(first.text, "record")
    assert (again.build, again.sha256) == (first.build, first.sha256) == (load(EXAMPLE_PATH).build, first.sha256)


@pytest.mark.parametrize(
    ("case", "text", "line", "words"),
    [
        (1, "", 0, "there is nothing in the file"),
        (2, "# only a note\n", 0, "there is nothing in the file"),
        (13, "format = 1\n" + ".".join("abcdefghijk") + " = 1\n", 2, "over 8 dots"),
        (14, "format = 1\na = " + "[" * 2000 + "]" * 2000, 2, "nested over 16 deep"),
        (15, "format = " + "9" * 4080, 1, "is newer"),
        (15, "a = " + "9" * 5000, 1, "over 4 kB"),
        (16, EXAMPLE[: EXAMPLE.index('watts = "5 W"') + 5], line_of(EXAMPLE, "R1 = {"), "this is no TOML"),
        (16, EXAMPLE[: EXAMPLE.index("[valve]")], 0, "point is missing"),
        (23, changed("[diode]", "[fuse]"), line_of(EXAMPLE, "[diode]"), "fuse is written twice, first on line"),
        (
            23,
            changed(R1, 'R2 = { nodes = ["ht_res", "ht"], value = "1k"'),
            line_of(EXAMPLE, "R2 = {"),
            "resistor.R2 is written twice",
        ),
        (
            26,
            changed('frequency = "50 Hz"', 'frequenzy = "50 Hz"'),
            12,
            "mains.frequenzy is not known here, did you mean frequency?",
        ),
        (26, EXAMPLE + "[resistors]\n", line_of(EXAMPLE + "[resistors]", "[resistors]"), "did you mean resistor?"),
        (27, changed('frequency = "50 Hz"\n', ""), 10, "mains.frequency is missing"),
        (27, changed('frequency = "50 Hz"\n', ""), 10, "50 Hz or 60 Hz"),
        (28, with_value('"1 furlong"'), line_of(EXAMPLE, R1), "unknown unit 'furlong'"),
        (29, with_value('"1m"'), line_of(EXAMPLE, R1), "write 1M for megohms"),
        (29, changed('value = "100n"', 'value = "1M"'), line_of(EXAMPLE, "C4 = {"), "capacitor.C4.value"),
        (30, with_value('"4k7k"'), line_of(EXAMPLE, R1), "4k7"),
        (30, with_value('"4,7k"'), line_of(EXAMPLE, R1), "write 4.7k"),
        (31, with_value("470"), line_of(EXAMPLE, R1), 'write "470 ohm" or "470R" if ohms are meant'),
        (31, with_value("4k7"), line_of(EXAMPLE, R1), 'write it in quotes: "4k7"'),
        (32, with_value('"-1k"'), line_of(EXAMPLE, R1), "below zero"),
        (32, changed('value = "100n"', 'value = "-100n"'), line_of(EXAMPLE, "C4 = {"), "below zero"),
        (32, changed('watts = "5 W"', 'watts = "-5 W"'), line_of(EXAMPLE, R1), "below zero"),
        (33, with_value("nan"), line_of(EXAMPLE, R1), "is a bare number"),
        (33, with_value("inf"), line_of(EXAMPLE, R1), "is a bare number"),
        (33, with_value("1e400"), line_of(EXAMPLE, R1), "is a bare number"),
        (33, with_value('"1e3"'), line_of(EXAMPLE, R1), "exponent"),
        (34, with_value('"0R"'), line_of(EXAMPLE, R1), "not above zero"),
        (36, changed('watts = "5 W"', 'watts = "5 wats"'), line_of(EXAMPLE, R1), "unknown unit"),
        (49, 'include = "other.toml"\n' + EXAMPLE, 1, "include is not known here"),
        (50, changed("R1 = {", '"R1\\u202e" = {'), line_of(EXAMPLE, "R1 = {"), "resistor.R1<U+202E> is no name"),
        (
            50,
            changed('stage = "metal"', 'stage = "me\\u200btal"'),
            line_of(EXAMPLE, "BOND = {"),
            '"me<U+200B>tal" is no name',
        ),
        (53, changed("R1 = {", "R" * 41 + " = {"), line_of(EXAMPLE, "R1 = {"), "at most 40 characters"),
        (54, with_value("1979-05-27"), line_of(EXAMPLE, R1), "is no text"),
        (54, with_value("true"), line_of(EXAMPLE, R1), "is no text"),
        (54, with_value('["1k"]'), line_of(EXAMPLE, R1), "is no text"),
        (54, changed("counts = 6000", "counts = true"), line_of(EXAMPLE, "counts"), "is no whole number"),
        (54, changed("counts = 6000", 'counts = "6000"'), line_of(EXAMPLE, "counts"), "without quotes"),
        (54, changed("poles = 2", "poles = 5"), line_of(EXAMPLE, "poles"), "at most 4"),
        (54, changed("true_rms = true", "true_rms = 1"), line_of(EXAMPLE, "true_rms"), "neither true nor false"),
        (54, changed('["ht_res", "ht"]', '["ht_res"]'), line_of(EXAMPLE, R1), "has too few entries"),
        (54, changed('["ht_res", "ht"]', '"ht_res"'), line_of(EXAMPLE, R1), "is no list"),
        (54, EXAMPLE.replace("[load]\nRL = {", "load = 8\n[x]\nRL = {"), 0, ""),
        (
            55,
            changed("format = 1", "format = 2"),
            5,
            "format 2 is newer than this program, format 1 is the newest it reads",
        ),
        (55, changed("format = 1", "format = 0"), 5, "format 0"),
        (55, changed("format = 1", "format = true"), 5, "format true is no whole number"),
        (55, changed("format = 1", "format = 1.0"), 5, "format 1.0 is no whole number"),
        (55, changed("format = 1\n", ""), 0, "format is missing"),
    ],
)
def test_each_kind_of_slip_has_its_line_and_its_words(case: int, text: str, line: int, words: str) -> None:
    problems = refusals(text)
    assert problems
    start = f"amp.toml:{line}: " if line else "amp.toml"
    assert [p for p in problems if str(p).startswith(start) and words in str(p)], [str(p) for p in problems]
    assert all(str(problem).isprintable() for problem in problems)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('value = "1M"', 'value = "1 Mohm"'),
        ('inductance = "12 H"', 'inductance = "12000m"'),
        ('watts = "5 W"', 'watts = "5 watts"'),
        (R1, R1.replace('"1k"', '"1k0"')),
        ("R1 = {", "'R1' = {"),
    ],
)
def test_other_ways_to_write_the_same_are_taken(old: str, new: str) -> None:
    assert load_text(changed(old, new), "amp.toml").build == load(EXAMPLE_PATH).build


def test_everything_wrong_is_told_at_once_in_the_order_of_the_file() -> None:
    text = changed('frequency = "50 Hz"', 'frequenzy = "50 Hz"')
    text = changed(R1, R1.replace('"1k"', '"4,7k"'), text)
    text = changed('5 = "v1_g"', '5 = "v1_gg"', text)
    text = changed('stages = ["mains"]', 'stages = ["main"]', text)
    text = changed('watch = "v1_cathode"', 'watch = "v1"', text)
    places = [problem.place for problem in refusals(text)]
    assert places[:2] == ["mains.frequency", "mains.frequenzy"]
    text = changed('frequenzy = "50 Hz"', 'frequency = "50 Hz"\nfrequenzy = "50 Hz"', text)
    assert [problem.place for problem in refusals(text)] == [
        "mains.frequenzy", "resistor.R1.value", "valve.V1.pins.5", "point.ht_winding.stages[1]", "stage.output.watch",
    ]  # fmt: skip


def test_all_bare_words_are_told_at_once() -> None:
    text = EXAMPLE.replace('value = "100R"', "value = 100R").replace('resistance = "48R"', "resistance = 48R")
    assert [problem.found for problem in refusals(text)] == ["48R", "100R", "100R", "100R", "100R"]


def test_a_file_with_endless_faults_gets_a_short_answer_that_says_so() -> None:
    problems = refusals("".join(f"x{number} = 1\n" for number in range(500)))
    assert len(problems) == MOST_FINDINGS + 1
    assert "only the first 100" in str(problems[-1])


@pytest.mark.parametrize("text", ["[/]", "[/nope]", "[@click=app.quit]x", "{0.__class__}", "%s", "=1+1"])
def test_markup_in_names_for_the_screen_stays_text(text: str) -> None:
    build = load_text(changed('name = "HT"', f'name = "{text}"'), "amp.toml").build
    assert build.point["ht"].name == text


def test_hidden_characters_in_a_note_are_named_and_warned_about() -> None:
    text = changed('notes = "', 'notes = "\\u001b[2J\\u0085\\u202e')
    assert load_text(text, "amp.toml").build.notes.startswith("<U+001B>[2J<U+0085><U+202E>Half-wave")
    (warning,) = warnings(text)
    assert (warning.place, warning.line) == ("notes", line_of(text, "notes"))


def test_two_thousand_parts_are_taken() -> None:
    chain = "".join(
        f'X{n} = {{ nodes = ["n{n}", "n{n + 1}"], value = "1k", watts = "1 W", stage = "supply" }}\n'
        for n in range(2000)
    )
    text = changed("[resistor]\n", "[resistor]\n" + chain.replace('"n0"', '"ht"').replace('"n2000"', '"0"'))
    found = load_text(text, "amp.toml")
    assert len(found.build.resistor) == 2000 + len(load(EXAMPLE_PATH).build.resistor)
    assert found.warnings == ()


def test_a_message_is_one_line_with_file_line_fault_and_cure() -> None:
    with pytest.raises(BuildFileError) as caught:
        load_text(with_value('"4,7k"'), "my amp.toml")
    line = line_of(EXAMPLE, R1)
    assert str(caught.value) == f'my amp.toml:{line}: resistor.R1.value "4,7k" has a decimal comma, write 4.7k'
