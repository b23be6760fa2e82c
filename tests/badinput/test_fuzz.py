"""Damaged build files, byte by byte and key by key: a build or a refusal in plain words, never anything else."""

from __future__ import annotations

import copy
import random
import signal
import time
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from benchtui.assemble.checked import load_checked, load_text_checked
from benchtui.assemble.netlist import assemble, resistances
from benchtui.assemble.state import stage_state
from benchtui.buildfile.load import Loaded
from benchtui.buildfile.models import Build
from benchtui.buildfile.problems import BuildFileError
from benchtui.buildfile.stages import stages
from benchtui.quantities.clean import clean, is_hidden
from tests.badinput.damage import TEXTS
from tests.record.counts import count
from tests.reference.toml_text import key, value

_HANG_S = 20

#: A core without losses has endless ohms across it.
_ENDLESS = ("core_loss_ohm",)


@contextmanager
def no_hang() -> Iterator[None]:
    """What takes longer than any file may is a failure, not a stuck test."""

    def gone(*_: object) -> None:
        raise TimeoutError(f"no answer within {_HANG_S} s")

    before = signal.signal(signal.SIGALRM, gone)
    signal.alarm(_HANG_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def numbers(value: object) -> Iterator[float]:
    """Every number in a build or a circuit, however deep."""
    if isinstance(value, bool | str) or value is None:
        return
    if isinstance(value, int | float | np.ndarray):
        yield from map(float, np.ravel(value))
    elif isinstance(value, BaseModel):
        yield from numbers(dict(value))
    elif isinstance(value, dict):
        yield from numbers(tuple(value.values()))
    elif isinstance(value, tuple | list | frozenset):
        for one in value:
            yield from numbers(one)
    elif is_dataclass(value):
        yield from numbers(tuple(getattr(value, f.name) for f in fields(value) if f.name not in _ENDLESS))


def circuits(build: Build) -> Iterator[object]:
    """The circuit that forecasts of each stage solve, and the one that an ohmmeter meets."""
    for stage in stages(build):
        state = stage_state(build, stage.id)
        yield assemble(build, state)
        yield resistances(build, state)


def answer(load_it: Callable[[], object], lines: int = 1 << 30) -> str:
    """`taken`, all that is computed from it being finite, or `refused` in words; all else fails the test."""
    with no_hang():
        try:
            found = load_it()
        except BuildFileError as error:
            assert error.problems
            for problem in error.problems:
                assert problem.wrong and problem.right and 0 <= problem.line <= lines
                assert str(problem).startswith(f"{clean(problem.file)}:") and not any(map(is_hidden, str(problem)))
            return "refused"
        assert isinstance(found, Loaded)
        assert not any(is_hidden(character) for warning in found.warnings for character in str(warning))
        assert all(map(np.isfinite, numbers(found.build)))
        for circuit in circuits(found.build):
            assert all(map(np.isfinite, numbers(circuit)))
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


@pytest.mark.parametrize("name", TEXTS)
def test_random_damage_to_the_bytes_is_taken_or_refused(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "amp.toml"
    answers, slowest_s = [], 0.0
    for seed in range(count(short=12, full=2000)):
        path.write_bytes(damaged(TEXTS[name].encode(), random.Random(seed)))
        began = time.perf_counter()
        answers.append(answer(lambda: load_checked(path)))
        slowest_s = max(slowest_s, time.perf_counter() - began)
    taken = answers.count("taken")
    with capsys.disabled():
        print(f"\n{name}: {len(answers)} files with damaged bytes, {taken} taken, slowest {slowest_s:.2f} s")
    assert taken < len(answers)
    assert taken > 0 or count(short=True, full=False)


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


@pytest.mark.parametrize("name", TEXTS)
def test_the_writer_of_this_test_writes_what_it_read(name: str) -> None:
    assert tomllib.loads(written(tomllib.loads(TEXTS[name]))) == tomllib.loads(TEXTS[name])


@settings(max_examples=count(short=40, full=3000))
@given(st.data(), st.sampled_from(sorted(TEXTS)))
def test_slips_of_an_editor_are_taken_or_refused(data: Any, name: str) -> None:
    build = tomllib.loads(TEXTS[name])
    for _ in range(data.draw(st.integers(1, 3))):
        slip(build, data.draw)
    text = written(build)
    answer(lambda: load_text_checked(text, "amp.toml"), text.count("\n") + 1)


@settings(max_examples=count(short=60, full=3000))
@given(st.text(max_size=200))
def test_any_text_is_taken_or_refused(text: str) -> None:
    assert answer(lambda: load_text_checked(text, text)) == "refused"
