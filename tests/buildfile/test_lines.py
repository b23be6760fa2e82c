"""Every path that tomllib yields has its line, and what tomllib hides is told."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtui.buildfile.lines import outline
from benchtui.buildfile.problems import Path
from tests.buildfile.damage import EXAMPLE


def paths(data: Any, path: Path = ()) -> Iterator[Path]:
    if path:
        yield path
    children = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in children:
        yield from paths(value, (*path, key))


_TEXT = """\
a = 1
"b c" = 2
'd"e' = 3
"t\\u0041b\\t" = 4
f.g.h = 5
f . "i.j" = 6
[k]
l = [
  "m", # a ] in a note
  "n]",
]
[k.o . p]
q = { r = 1, s = { t = [ { u = 2 } ] } }
[[v]]
w = '''
x = 1
'''
[v.y]
z = \"\"\"a\\\\\"\"\"
[[v]]
w = ""
[v.y]
[[v.deep]]
n = -1.5e-3
[[v.deep]]
d = 1979-05-27T07:32:00Z
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("a",), 1),
        (("b c",), 2),
        (('d"e',), 3),
        (("tAb\t",), 4),
        (("f", "g"), 5),
        (("f", "g", "h"), 5),
        (("f", "i.j"), 6),
        (("k", "l", 0), 9),
        (("k", "l", 1), 10),
        (("k", "o", "p", "q", "s", "t", 0, "u"), 13),
        (("v",), 14),
        (("v", 0, "w"), 15),
        (("v", 0, "y", "z"), 19),
        (("v", 1), 20),
        (("v", 1, "y"), 22),
        (("v", 1, "deep", 0, "n"), 24),
        (("v", 1, "deep", 1, "d"), 26),
    ],
)
def test_each_kind_of_key_has_its_line(path: Path, line: int) -> None:
    assert outline(_TEXT).lines[path] == line


@pytest.mark.parametrize("text", [_TEXT, EXAMPLE], ids=["odd", "example"])
def test_the_lines_are_those_of_what_tomllib_yields(text: str) -> None:
    found = outline(text)
    assert set(paths(tomllib.loads(text))) == set(found.lines)
    assert not found.twice and not found.faults and not found.too_deep


_KEYS = st.sampled_from(["a", "b", "k1", '"q.u"', "'s t'", '"\\u00e4"', "12", "a-b"])
_SCALARS = st.sampled_from(['"x"', "'#'", "1", "-2.5", "true", "nan", "1979-05-27", '"""m\nl"""', "'''}\n]'''"])


def _values(depth: int) -> st.SearchStrategy[str]:
    if depth == 0:
        return _SCALARS
    inner = _values(depth - 1)
    array = st.lists(inner, max_size=3).map(lambda items: "[\n" + " , # ]\n".join(items) + "\n]")
    pairs = st.lists(st.tuples(_KEYS, inner), max_size=3, unique_by=lambda pair: pair[0])
    inline = pairs.map(lambda items: "{ " + ", ".join(f"{key} = {value}" for key, value in items) + " }")
    return st.one_of(_SCALARS, array, inline)


_PAIRS = st.tuples(st.lists(_KEYS, min_size=1, max_size=3), _values(2)).map(lambda p: f"{' . '.join(p[0])} = {p[1]}")
_HEADERS = st.lists(_KEYS, min_size=1, max_size=3).map(".".join)
_STATEMENTS = st.one_of(_PAIRS, _HEADERS.map("[{}]".format), _HEADERS.map("[[{}]]".format), st.just("# a = 1"))


@settings(max_examples=400, deadline=None, derandomize=True)
@given(st.lists(_STATEMENTS, max_size=8).map("\n".join))
def test_whatever_tomllib_takes_has_a_line_for_every_path(text: str) -> None:
    found = outline(text)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert set(paths(data)) <= set(found.lines)
    assert not found.faults and not found.twice
    assert all(1 <= line <= text.count("\n") + 1 for line in found.lines.values())


def test_each_bare_word_is_told_with_its_line() -> None:
    found = outline('a = 4k7\nb = "fine"\nc = [22u, 230 V]\nd = { e = 5 %, f = 1 }\n')
    assert [(fault.line, fault.found) for fault in found.faults] == [(1, "4k7"), (3, "22u"), (3, "230 V"), (4, "5 %")]


def test_a_key_written_twice_is_told_with_both_lines_and_once() -> None:
    found = outline("[a]\nb = 1\n[c]\nb = 1\n[a]\nb = 2\n")
    assert found.twice == [(("a",), 1, 5)]


def test_an_entry_broken_over_lines_is_told_once_and_what_follows_is_read() -> None:
    found = outline("a = { b = 1,\n c = 2,\n}\nd = 3\n")
    assert [fault.line for fault in found.faults] == [1]
    assert found.lines[("d",)] == 4


@pytest.mark.parametrize(
    ("text", "word"), [("a = " + "[" * 17 + "]" * 17, "nested"), (".".join("abcdefghij") + " = 1", "dots")]
)
def test_what_would_hang_tomllib_is_seen_first(text: str, word: str) -> None:
    assert word in outline(text).too_deep[0].wrong


@pytest.mark.parametrize("text", ["a = " + "[" * 16 + "]" * 16, ".".join("abcdefghi") + " = 1"])
def test_the_limits_themselves_are_allowed(text: str) -> None:
    assert not outline(text).too_deep


def test_brackets_and_dots_in_texts_and_notes_do_not_count() -> None:
    assert not outline(f"a = \"{'[' * 40}\"\n# {'.' * 40}\nb = '{'{.' * 20}'\n").too_deep


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.text(alphabet="ab1.=[]{},\"'\\#\n \t-%", max_size=120))
def test_no_text_whatever_makes_it_fail(text: str) -> None:
    outline(text)
