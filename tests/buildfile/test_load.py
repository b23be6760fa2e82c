"""The loader as a whole: one answer with everything in it, in the words of whoever wrote the file."""

from __future__ import annotations

import hashlib

import pytest

from benchtui.buildfile.load import load, load_text
from benchtui.buildfile.problems import MOST_FINDINGS, BuildFileError
from tests.buildfile.damage import EXAMPLE, EXAMPLE_PATH, changed, line_of, refusals

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


@pytest.mark.parametrize(("old", "new"), [(R1, R1.replace('"1k"', '"1k0"')), ("R1 = {", "'R1' = {")])
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


def test_a_message_is_one_line_with_file_line_fault_and_cure() -> None:
    with pytest.raises(BuildFileError) as caught:
        load_text(with_value('"4,7k"'), "my amp.toml")
    line = line_of(EXAMPLE, R1)
    assert str(caught.value) == f'my amp.toml:{line}: resistor.R1.value "4,7k" has a decimal comma, write 4.7k'
