from __future__ import annotations

import json
import math
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtui.record.event import GENESIS, decode, encode

TIMES = {"t_wall": 1.5, "t_steady": 2.5, "boot": "b"}
json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=12,
)


@given(kind=st.text(), data=st.dictionaries(st.text(), json_values, max_size=4), n=st.integers(1, 10**9))
def test_an_event_is_read_back_as_it_was_written(kind: str, data: dict[str, object], n: int) -> None:
    line = encode(n, kind, data, **TIMES, prev=GENESIS)
    event = decode(line, n, GENESIS)
    assert event is not None
    assert (event.n, event.kind, event.data) == (n, kind, data)
    assert (event.t_wall, event.t_steady, event.boot, event.prev) == (1.5, 2.5, "b", GENESIS)


@given(text=st.text())
def test_a_line_holds_no_byte_but_printable_ascii_and_one_line_end(text: str) -> None:
    line = encode(1, text, {text: text}, **TIMES, prev=GENESIS)
    assert line.endswith(b"\n") and all(0x20 <= byte <= 0x7F for byte in line[:-1])


def test_a_line_stands_only_at_its_own_place_in_the_chain() -> None:
    line = encode(3, "reading", {}, **TIMES, prev=GENESIS)
    assert decode(line, 3, GENESIS) is not None
    assert decode(line, 2, GENESIS) is None
    assert decode(line, 3, "1" * 64) is None


@pytest.mark.parametrize("body", [b"{", b"[]", b"7", b'{"n":1}', b'{"a":' + b"[" * 100_000 + b"}"])
def test_a_line_with_a_true_hash_but_no_event_in_it_is_none(body: bytes) -> None:
    line = body[:-1] + b',"hash":"' + sha256(body[:-1] + b"}").hexdigest().encode() + b'"}\n'
    assert decode(line, 1, GENESIS) is None


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_not_finite_is_refused(value: float) -> None:
    with pytest.raises(ValueError):
        encode(1, "reading", {"v": value}, **TIMES, prev=GENESIS)


def test_the_line_can_be_read_by_any_json_reader() -> None:
    line = encode(1, "reading", {"point": "TP3 Ω"}, **TIMES, prev=GENESIS)
    assert list(json.loads(line)) == ["n", "t_wall", "t_steady", "boot", "kind", "data", "prev", "hash"]
