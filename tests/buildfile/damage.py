"""The example build file, whole and damaged, and what the loader says of it."""

from __future__ import annotations

from pathlib import Path

from benchtui.buildfile.load import load_text
from benchtui.buildfile.problems import BuildFileError, Problem

EXAMPLE_PATH = Path(__file__).with_name("example.toml")
EXAMPLE = EXAMPLE_PATH.read_text("utf-8")


def changed(old: str, new: str, text: str = EXAMPLE) -> str:
    """The example with `old`, which must stand in it once, replaced by `new`."""
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the example"
    return text.replace(old, new)


def refusals(text: str) -> tuple[Problem, ...]:
    """The problems that a text is refused for; none if it is taken."""
    try:
        load_text(text, "amp.toml")
    except BuildFileError as error:
        return error.problems
    return ()


def warnings(text: str) -> tuple[Problem, ...]:
    """What is odd in a text that is taken."""
    return load_text(text, "amp.toml").warnings


def line_of(text: str, marker: str) -> int:
    """The line of the first place where `marker` stands."""
    return text[: text.index(marker)].count("\n") + 1
