"""Events to the record and back."""

from __future__ import annotations

import json
from math import inf, nan

import pytest

from benchtui.procedure import events as e
from benchtui.procedure.codec import KINDS, UnknownEvent, decode, encode
from tests.procedure.test_table import example


@pytest.mark.parametrize("kind", KINDS)
def test_every_event_comes_back_from_json_as_it_was(kind: str) -> None:
    event = example(KINDS[kind])
    name, data = encode(event)
    assert name == kind
    assert decode(name, json.loads(json.dumps(data, allow_nan=False))) == event


def test_every_event_that_may_be_recorded_has_a_kind() -> None:
    bases = {e.Event, e.Remark, e.Next, e.PointRead}
    unrecorded = {e.OtherHolds, e.RecordFailed}
    every = {value for value in vars(e).values() if isinstance(value, type)}
    assert every - bases - unrecorded == set(KINDS.values())


def test_open_ohms_and_unknown_values_survive() -> None:
    event = e.PointWarned("p", "OL", inf, nan, -inf, inf, ("open",))
    back = decode(*encode(event))
    assert isinstance(back, e.PointWarned)
    assert (back.value, back.low, back.reasons) == (inf, -inf, ("open",))
    assert back.nominal != back.nominal


@pytest.mark.parametrize(
    ("kind", "data", "says"),
    [
        ("plug in", {"v": 1}, "not known"),
        ("plug out", {"v": 5}, "version 5"),
        ("plug out", {}, "version None"),
        ("note", {"v": 1}, "fields"),
        ("note", {"v": 1, "text": 5}, "text 5"),
        ("rail low", {"v": 1, "id": "C1", "value_v": "12"}, "value_v '12'"),
        ("rail low", {"v": 1, "id": "C1", "value_v": True}, "value_v True"),
        ("links on", {"v": 1, "count": 1.5}, "count 1.5"),
    ],
)
def test_what_is_not_understood_is_refused_by_name(kind: str, data: dict, says: str) -> None:
    with pytest.raises(UnknownEvent, match=says):
        decode(kind, data)


def test_a_changed_build_file_of_an_older_record_touches_every_stage_as_it_did_then() -> None:
    older = {"v": 1, "keep": False, "changes": ["+R1"], "sha256": "00", "source": ""}
    assert decode("build changed", older) == e.BuildChanged(False, (), ("+R1",), "00", "")


def test_what_was_found_once_named_no_parts() -> None:
    assert decode("cause found", {"v": 2, "text": "C2 shorted"}) == e.CauseFound("C2 shorted", ())


def test_a_reading_of_an_older_record_does_not_say_what_the_file_alone_makes_it() -> None:
    older = {"v": 3, "point": "ht", "text": "300", "value": 300.0, "nominal": 299.0, "low": 290.0, "high": 310.0}
    assert decode("reading passed", older | {"reasons": []}) == e.PointPassed("ht", "300", 300.0, 299.0, 290.0, 310.0)
    assert decode("power down", {"v": 3}) == e.PoweredDown()


def test_an_older_event_is_brought_up_by_its_step() -> None:
    def renamed(kind: str, data: dict) -> tuple[str, dict]:
        return ("note" if kind == "remark" else kind), {"text": data["words"]}

    assert decode("remark", {"v": 1, "words": "hum"}, (renamed,)) == e.Noted("hum")
    assert decode("note", {"v": 2, "text": "hum"}, (renamed,)) == e.Noted("hum")
