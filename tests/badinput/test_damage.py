"""Damaged build files by the hundred: each is refused at its line in the words for it, quickly and in little memory."""

from __future__ import annotations

import random
import resource
import time

import pytest

from benchtui.assemble.checked import load_text_checked
from benchtui.buildfile import source
from benchtui.buildfile.problems import BuildFileError, Problem
from benchtui.quantities.clean import is_hidden
from tests.badinput.damage import TEXTS, Damaged, Kind, kinds
from tests.record.counts import count

SEEDS = count(short=1, full=3)
KINDS = kinds()[:: count(short=6, full=1)]
SOUND = count(short=("example",), full=tuple(TEXTS))


def told(data: bytes) -> tuple[Problem, ...]:
    """What a file of `data` is refused for; () if it is taken."""
    try:
        load_text_checked(source.from_bytes(data, "amp.toml").written, "amp.toml")
    except BuildFileError as error:
        return error.problems
    return ()


def wrong(kind: Kind, made: Damaged) -> str:
    """What is wrong with the answer to a damaged file; "" if it is as it must be."""
    problems = told(made.data)
    lines = [str(problem) for problem in problems]
    if not lines:
        return f"{kind.name}: taken"
    if any(is_hidden(character) for line in lines for character in line):
        return f"{kind.name}: hidden characters in {lines}"
    here = [
        line for line, problem in zip(lines, problems, strict=True) if problem.line == made.line or made.says == ("",)
    ]
    if not any(words in line for line in here for words in made.says):
        return f"{kind.name}: line {made.line} wants {made.says}, told {lines[:3]}"
    return ""


def test_kinds_have_names_of_their_own_and_are_many() -> None:
    names = [kind.name for kind in kinds()]
    assert len(set(names)) == len(names) >= 180


def test_every_kind_is_refused_at_its_line_in_its_words(capsys: pytest.CaptureFixture[str]) -> None:
    tried, failed, slowest = 0, [], (0.0, "")
    for kind in KINDS:
        for name in SOUND:
            for seed in range(SEEDS):
                made = kind.make(TEXTS[name], random.Random(f"{kind.name} {name} {seed}"))
                if made is None:
                    continue
                began = time.perf_counter()
                fault = wrong(kind, made)
                slowest = max(slowest, (time.perf_counter() - began, kind.name))
                tried += 1
                if fault:
                    failed.append(f"{name} {seed} {fault}")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    with capsys.disabled():
        said = f"{len(KINDS)} kinds, {tried} files, {len(failed)} answered wrongly"
        print(f"\n{said}, slowest {slowest[0]:.2f} s ({slowest[1]}), peak {peak_mb:.0f} MB")
    assert tried > len(KINDS) * SEEDS * len(SOUND) // 2
    assert not failed, "\n".join(failed[:40])
