"""A build file loaded and checked: the build, or every problem at once."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from benchtui.buildfile import source
from benchtui.buildfile.channels import Expanded, expand
from benchtui.buildfile.inventory import TABLES
from benchtui.buildfile.lines import outline
from benchtui.buildfile.models import Build
from benchtui.buildfile.parsed import parsed
from benchtui.buildfile.problems import MOST_FINDINGS, BuildFileError, Finding, Path, Problem, in_order, place, shown
from benchtui.buildfile.refusals import refusals
from benchtui.buildfile.sense import figures, remarks, structure
from benchtui.buildfile.texts import MENDING

FORMAT = 1

#: Own decision: some three times a large stereo amplifier, and its review takes seconds, not minutes.
MOST_PARTS = 500


@dataclass(frozen=True)
class Places:
    """Where each value of the expanded build stands in its file."""

    file: str
    lines: dict[Path, int]
    expanded: Expanded

    def line(self, path: Path) -> int:
        """The line of `path`, or of the nearest entry around it; 0 if there is none."""
        written = self.expanded.written_at(path)
        while written and written not in self.lines:
            written = written[:-1]
        return self.lines.get(written, 0)

    def problem(self, finding: Finding) -> Problem:
        """A finding as a problem with its line."""
        where = place(self.expanded.written_at(finding.path))
        other = f" (line {self.line(finding.other)})" if finding.other else ""
        line = self.line(finding.path)
        return Problem(self.file, line, where, finding.found, finding.wrong + other, finding.right)


@dataclass(frozen=True)
class Loaded:
    """A sound build, its file as written, the hash of its bytes, and what is possible but odd in it."""

    build: Build
    text: str
    sha256: str
    path: str
    lines: Places
    warnings: tuple[Problem, ...]


def load(path: str | os.PathLike[str]) -> Loaded:
    """The build in the file at `path`, which is read once. Raises BuildFileError with every problem found."""
    return _load(source.read(path))


def load_text(text: str, name: str) -> Loaded:
    """The build in `text`, such as a record's copy of the file; `name` stands for the file in messages.

    Raises BuildFileError with every problem found.
    """
    return _load(source.from_bytes(text.encode("utf-8", "surrogatepass"), name))


def _load(file: source.Source) -> Loaded:
    found = outline(file.text)
    data = parsed(file, found)
    expanded = expand(data)
    places = Places(file.name, found.lines, expanded)
    if expanded.findings:
        raise BuildFileError(places.problem(finding) for finding in expanded.findings)
    _check_format(expanded.data.get("format"), places)
    _check_count(expanded.data, places)
    findings, build = _validated(expanded.data)
    problems = [places.problem(finding) for finding in findings if not finding.odd]
    if problems or build is None:
        raise BuildFileError(problems)
    warnings = in_order(places.problem(finding) for finding in findings if finding.odd)
    return Loaded(build, file.written, file.sha256, file.name, places, warnings)


def _check_format(version: object, places: Places) -> None:
    if isinstance(version, int) and not isinstance(version, bool) and version > FORMAT:
        wrong, right = "is newer than this program", f"format {FORMAT} is the newest it reads"
        raise BuildFileError([places.problem(Finding(("format",), wrong, right, shown(version)))])


def _check_count(data: dict[str, Any], places: Places) -> None:
    count = sum(len(data[name]) for name in TABLES if isinstance(data.get(name), dict))
    if count > MOST_PARTS:
        wrong, right = f"there are {count} parts", f"{MOST_PARTS} are the most that are computed"
        raise BuildFileError([Problem(places.file, 0, "", "", wrong, right)])


def _validated(data: dict[str, Any]) -> tuple[list[Finding], Build | None]:
    """What is found in the whole build, and the build if the models take it."""
    try:
        build = Build.model_validate(data)
    except ValidationError as error:
        findings = refusals(error)
        mended = _mended(data, error)
        return findings + (structure(mended) if mended else []), None
    return [*structure(build), *figures(build), *remarks(data)], build


def _mended(data: dict[str, Any], error: ValidationError) -> Build | None:
    """The build without unknown keys and unreadable values, so that names and joints can be checked."""
    if error.error_count() > MOST_FINDINGS:
        return None
    unknown = [detail["loc"] for detail in error.errors() if detail["type"] == "extra_forbidden"]
    try:
        return Build.model_validate(_without(data, unknown), context=MENDING)
    except ValidationError:
        return None


def _without(data: dict[str, Any], paths: list[Path]) -> dict[str, Any]:
    for path in paths:
        data = _without_one(data, path)
    return data


def _without_one(data: Any, path: Path) -> Any:
    if len(path) == 1:
        return {key: value for key, value in data.items() if key != path[0]}
    return {**data, path[0]: _without_one(data[path[0]], path[1:])}
