"""Checks of the whole build: does it hang together, and is it what anyone would build?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain

from benchtui.buildfile import figures as _figures
from benchtui.buildfile import names, order, panel_sense, wiring
from benchtui.buildfile.models import Build
from benchtui.buildfile.problems import MOST_FINDINGS, Finding, Path
from benchtui.buildfile.texts import LONGEST_NOTE
from benchtui.quantities.clean import is_hidden


def structure(build: Build) -> list[Finding]:
    """What is wrong with names, joints, stages and panels; of values only zero ohms and edges are looked at."""
    checks = (names, wiring, order, panel_sense)
    return list(_first(chain.from_iterable(each.check(build) for each in checks)))


def figures(build: Build) -> list[Finding]:
    """What is wrong or odd in the values."""
    return [*_figures.check(build), *panel_sense.figures(build)]


def _first(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Findings until the file is refused for MOST_FINDINGS; a hostile one would keep looking for names."""
    wrong = 0
    for finding in findings:
        yield finding
        wrong += not finding.odd
        if wrong == MOST_FINDINGS:
            return


def remarks(data: object, path: Path = ()) -> Iterator[Finding]:
    """What is odd in the texts as written, before they were made fit to show."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield from remarks(value, (*path, key))
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from remarks(value, (*path, number))
    elif isinstance(data, str):
        yield from _text_remarks(data, path)


def _text_remarks(text: str, path: Path) -> Iterator[Finding]:
    if any(is_hidden(character) and character not in "\t\r\n" for character in text):
        wrong, right = "has hidden characters in it", "they are shown as <U+...>"
        yield Finding(path, wrong, right, odd=True)
    if len(text) > LONGEST_NOTE:
        wrong, right = f"is over {LONGEST_NOTE} characters long", "the rest is cut off"
        yield Finding(path, wrong, right, odd=True)
