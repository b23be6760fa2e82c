"""Damaged build files, byte by byte and key by key: a build or a refusal in plain words, never anything else."""

from __future__ import annotations

import copy
import os
import random
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtui.buildfile.load import Loaded, load, load_text
from benchtui.buildfile.problems import BuildFileError
from benchtui.quantities.clean import is_hidden
from tests.buildfile.damage import EXAMPLE
from tests.buildfile.test_channels import STEREO
from tests.reference.toml_text import key, value

#: A full run asks for 10 000.
BYTE_CASES = int(os.environ.get("BENCHTUI_BYTE_CASES", "300"))

_TEXTS = {"example": EXAMPLE, "stereo": STEREO}


def answer(load_it: Any) -> str:
    """`taken` or `refused`; whatever else the loader does fails the test."""
    try:
        found = load_it()
    except BuildFileError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.wrong and problem.right
            assert not any(map(is_hidden, str(problem)))
        return "refused"
    assert isinstance(found, Loaded)
    assert not any(is_hidden(character) for warning in found.warnings for character in str(warning))
    return "taken"


def damaged(data: bytes, chance: random.Random) -> bytes:
    """`data` with one to four slips of a disk, an editor or a hand."""
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(data) + 1)
        end = min(len(data), at + chance.choice([1, 1, 2, 10, 200]))
        piece = data[at:end]
        change = chance.choice(["flip", "drop", "double", "insert", "cut", "shuffle"])
        if change == "flip" and piece:
            data = data[:at] + bytes([piece[0] ^ 1 << chance.randrange(8)]) + data[at + 1 :]
        elif change == "drop":
            data = data[:at] + data[end:]
        elif change == "double":
            data = data[:end] + piece + data[end:]
        elif change == "insert":
            odd = [b"\x00", b"\xff", b'"', b"[", b"]]", b"=", b"\n", b"'''", b"#", b"\xe2\x80\xae", b"9" * 500]
            data = data[:at] + chance.choice(odd) + data[at:]
        elif change == "cut" and chance.random() < 0.3:
            data = data[:at]
        else:
            lines = data.split(b"\n")
            first, second = chance.randrange(len(lines)), chance.randrange(len(lines))
            lines[first], lines[second] = lines[second], lines[first]
            data = b"\n".join(lines)
    return data


@pytest.mark.parametrize("name", _TEXTS)
def test_random_damage_to_the_bytes_is_taken_or_refused(name: str, tmp_path: Path) -> None:
    path = tmp_path / "amp.toml"
    answers = set()
    for seed in range(BYTE_CASES // len(_TEXTS)):
        path.write_bytes(damaged(_TEXTS[name].encode(), random.Random(seed)))
        answers.add(answer(lambda: load(path)))
    assert answers == {"taken", "refused"}


_ODD_VALUES = st.sampled_from(
    [
        "", "x", "1k", "4,7k", "230 V", "5 %", ".k", "chassis", "R1", "output", "own", "\u202e", "x" * 500, "[/]",
        "2 watts", "0R", 0, -1, 1, 2, 6000, 10**30, 1.5, float("inf"), float("nan"), True, False, [], ["0"], ["a", "b"],
        ["0", "0"], ["a", "b", "c"], [[["a"]]], {}, {"a": "b"}, {"value": "1k"},
    ]
)  # fmt: skip
_ODD_KEYS = st.sampled_from(["", "x", "R1", "C1", "V1", "stage", "value", "nodes", "each", "0", "R 1", "\u202e", "own"])


def places(data: Any) -> list[tuple[Any, Any]]:
    """Every (table or list, key or position) in `data`."""
    found = []
    children = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for name, child in list(children):
        found.append((data, name))
        found.extend(places(child))
    return found


def written(data: dict[str, Any]) -> str:
    lines = []
    for name, table in data.items():
        if isinstance(table, dict) and table and all(isinstance(entry, dict) for entry in table.values()):
            lines += [f"{key(name)}.{key(inner)} = {value(entry)}" for inner, entry in table.items()]
        else:
            lines.append(f"{key(name)} = {value(table)}")
    return "\n".join(lines)


def slip(data: dict[str, Any], draw: Any) -> None:
    """One slip of someone who edits the file: a key gone, renamed or copied, a value changed or swapped."""
    spots = places(data)
    holder, name = draw(st.sampled_from(spots))
    change = draw(st.sampled_from(["drop", "rename", "copy", "set", "swap"]))
    if change == "drop":
        del holder[name]
    elif change == "set":
        holder[name] = copy.deepcopy(draw(_ODD_VALUES))  # later slips change it
    elif change == "swap":
        other, other_name = draw(st.sampled_from(spots))
        holder[name], other[other_name] = copy.deepcopy(other[other_name]), copy.deepcopy(holder[name])
    elif isinstance(holder, list):
        holder.append(copy.deepcopy(holder[name]))
    else:
        new = draw(st.one_of(_ODD_KEYS, st.sampled_from([str(spot) for _, spot in spots])))
        holder[new] = copy.deepcopy(holder[name]) if change == "copy" else holder.pop(name)


@pytest.mark.parametrize("name", _TEXTS)
def test_the_writer_of_this_test_writes_what_it_read(name: str) -> None:
    assert tomllib.loads(written(tomllib.loads(_TEXTS[name]))) == tomllib.loads(_TEXTS[name])


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.data(), st.sampled_from(sorted(_TEXTS)))
def test_slips_of_an_editor_are_taken_or_refused(data: Any, name: str) -> None:
    build = tomllib.loads(_TEXTS[name])
    for _ in range(data.draw(st.integers(1, 3))):
        slip(build, data.draw)
    text = written(build)
    answer(lambda: load_text(text, "amp.toml"))


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.text(max_size=200))
def test_any_text_is_taken_or_refused(text: str) -> None:
    assert answer(lambda: load_text(text, text)) == "refused"
