"""A record of readings is taken as it is meant, or refused with everything that is wrong in it."""

from __future__ import annotations

import json
from math import inf, isfinite
from typing import Any

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from benchtui.forecast.given import Given, GivenError, StageReadings, read_given
from tests.reference.amplifiers import build

A = build("a").build

#: A resistance point, which the reference amplifiers have not.
ohms = next(iter(A.point.values())).model_copy(update={"quantity": "resistance", "stages": ("cold", "supply")})
WITH_OHMS = A.model_copy(update={"point": {**A.point, "ht_ohms": ohms}})


def problems(record: object) -> tuple[str, ...]:
    text = record if isinstance(record, str) else json.dumps(record)
    with pytest.raises(GivenError) as caught:
        read_given(text, WITH_OHMS)
    return caught.value.problems


def test_a_full_record_is_taken_as_it_stands() -> None:
    record = {
        "schema": 1,
        "stage": "output",
        "mains_v": 231,
        "readings": {"bp1": 298.4, "v2_cathode": -0.0},
        "earlier": {"supply": {"mains_v": 229.5, "readings": {"bp1": 371}}},
        "fuses": {"F1": "blown"},
    }
    assert read_given(json.dumps(record), A) == Given(
        stage="output",
        mains_v=231.0,
        readings={"bp1": 298.4, "v2_cathode": 0.0},
        earlier={"supply": StageReadings(229.5, {"bp1": 371.0})},
        blown=frozenset({"F1"}),
    )


def test_all_but_the_readings_may_be_left_out() -> None:
    assert read_given('{"readings": {}}', A) == Given()
    assert problems({})[0].startswith('the record has no "readings"')


def test_the_stage_meant_elsewhere_holds_where_the_record_names_none() -> None:
    assert read_given('{"readings": {"bp1": 298}}', A, stage="output").stage == "output"
    assert read_given('{"readings": {}, "stage": "supply"}', A, stage="output").stage == "supply"


def test_symptoms_are_of_an_amplifier_that_worked_and_are_those_that_are_known() -> None:
    record = '{"readings": {}, "symptoms": ["hum", "weak", "hum"]}'
    assert read_given(record, A) == Given(symptoms=("hum", "weak"), worked=True)
    with pytest.raises(GivenError, match='"weak" is no symptom, those known are hum, crackles'):
        read_given(record, A, symptoms=("hum", "crackles"))


def test_open_is_infinite_ohms() -> None:
    record = '{"stage": "cold", "readings": {"ht_ohms": "OL"}}'
    assert read_given(record, WITH_OHMS).readings == {"ht_ohms": inf}


@pytest.mark.parametrize(
    ("record", "words"),
    [
        ("", "line 1"),
        ('{"readings": {}}\n{"readings": {}}', "one record is wanted"),
        ('{"readings": {"bp1": 1}', "line 1"),
        ("[]", "one JSON object is wanted"),
        ('{"readings": {}, "readings": {}}', '"readings" is written twice'),
        ('{"stage": "output", "readings": {"bp1": NaN}}', "NaN is no reading"),
        ('{"stage": "output", "readings": {"bp1": -Infinity}}', "-Infinity is no reading"),
        ('{"stage": "output", "readings": {"bp1": 1e400}}', "bp1 is inf"),
        ('{"stage": "output", "readings": {"bp1": ' + "9" * 5000 + "}}", "bp1 is inf"),
        ("[" * 100_000, "nested too deep"),
        ({"readings": {}, "colour": 1}, 'unknown key "colour"'),
        ({"readings": {}, "schema": 2}, '"schema" is 2, 1 is wanted'),
        ({"readings": {}, "schema": True}, '"schema" is true'),
        ({"readings": {}, "schema": "1"}, '"schema" is "1"'),
        ({"readings": {}, "stage": "outputs"}, 'no stage "outputs"'),
        ({"readings": {}, "stage": ["output"]}, "no stage"),
        ({"readings": {}, "mains_v": "230"}, '"mains_v" is "230"'),
        ({"readings": {}, "mains_v": True}, '"mains_v" is true'),
        ({"readings": {}, "mains_v": 0}, "more than 0"),
        ({"readings": {}, "mains_v": 400}, "up to 345 V"),
        ({"readings": []}, '"readings" is []'),
        ({"readings": {"bp1": 1}}, "belong to no stage"),
        ({"stage": "output", "readings": {"bp9": 1}}, 'no point "bp9"'),
        ({"stage": "heaters", "readings": {"bp1": 1}}, 'not read in stage "heaters"'),
        ({"stage": "output", "readings": {"bp1": None}}, "bp1 is null"),
        ({"stage": "output", "readings": {"bp1": True}}, "bp1 is true"),
        ({"stage": "output", "readings": {"bp1": "298"}}, 'bp1 is "298"'),
        ({"stage": "output", "readings": {"bp1": "OL"}}, "only a resistance"),
        ({"stage": "cold", "readings": {"ht_ohms": "ol"}}, 'ht_ohms is "ol"'),
        ({"stage": "cold", "readings": {"ht_ohms": -3}}, "below zero"),
        ({"stage": "output", "readings": {"bp1_ripple": -1}}, "below zero"),
        ({"readings": {}, "earlier": []}, '"earlier" is []'),
        ({"readings": {}, "earlier": {"supply": 1}}, '"supply": 1 is no table'),
        ({"readings": {}, "earlier": {"suply": {"readings": {}}}}, 'no stage "suply"'),
        ({"readings": {}, "earlier": {"supply": {}}}, 'has no "readings"'),
        ({"readings": {}, "earlier": {"supply": {"readings": {}, "when": 1}}}, 'unknown key "when"'),
        ({"readings": {}, "earlier": {"heaters": {"readings": {"bp1": 1}}}}, "not read in stage"),
        ({"stage": "supply", "readings": {}, "earlier": {"supply": {"readings": {}}}}, "own stage"),
        ({"readings": {}, "fuses": ["F1"]}, '"fuses" is ["F1"]'),
        ({"readings": {}, "fuses": {"F9": "blown"}}, 'no fuse "F9"'),
        ({"readings": {}, "fuses": {"F1": "good"}}, '"blown" is wanted'),
        ({"readings": {}, "symptoms": "hum"}, '"symptoms" is "hum"'),
        ({"readings": {}, "symptoms": ["hum", ["weak"]]}, "a list such as"),
    ],
)
def test_a_wrong_record_is_refused_in_one_sentence(record: object, words: str) -> None:
    said = problems(record)
    assert len(said) == 1, said
    assert words in said[0]


def test_every_problem_is_told_at_once() -> None:
    record = {"schema": 3, "stage": "output", "readings": {"bp9": 1, "bp1": "x"}, "fuses": {"F9": "blown"}}
    assert len(problems(record)) == 4


def test_hidden_characters_are_named() -> None:
    said = problems({"readings": {}, "\x1b[2J\u202e": 1})
    assert "\x1b" not in said[0] and "\u202e" not in said[0]


NAMES = st.sampled_from([*A.point, *A.fuse, "output", "supply", "OL", "blown"]) | st.text(max_size=5)
PLAIN = st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | NAMES
VALUES = st.recursive(PLAIN, lambda inner: st.dictionaries(NAMES, inner, max_size=3) | st.lists(inner, max_size=2))
KEYS = ("schema", "stage", "mains_v", "readings", "earlier", "fuses", "symptoms", "odd")


@drawn(st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=5))
def test_anything_is_either_refused_or_of_finite_numbers_and_known_names(record: dict[str, Any]) -> None:
    try:
        taken = read_given(json.dumps(record, allow_nan=True), A)
    except GivenError as error:
        assert error.problems
        return
    assert taken.mains_v is None or isfinite(taken.mains_v)
    assert all(isfinite(value) for value in taken.readings.values())
    assert set(taken.readings) <= set(A.point)
    assert taken.blown <= set(A.fuse)


@drawn(st.text())
def test_text_that_is_no_record_is_refused(text: str) -> None:
    with pytest.raises(GivenError):
        read_given("x" + text, A)
