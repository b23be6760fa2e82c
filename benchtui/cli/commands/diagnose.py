"""Say what is wrong by records of readings, how likely each fault is, and where to measure next."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli.answer import Answer, Exit
from benchtui.cli.builds import add_build, load_build
from benchtui.cli.kept import kept
from benchtui.cli.record_text import record_text, refusal

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.forecast.given import Given


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `diagnose` takes."""
    add_build(parser)
    parser.add_argument("--stage", metavar="S", help="the stage of records that name none")
    parser.add_argument(
        "--readings",
        metavar="FILE",
        type=Path,
        required=True,
        help="file with a record of readings (JSON), or one a line",
    )


def run(options: argparse.Namespace) -> Answer:
    """The diagnosis of every record. Raises Refusal for a wrong build file, option or record."""
    words = [f"{name}={value!r}" for name, value in sorted(vars(options).items())]
    return kept(words, [Path(options.build), options.readings], lambda: _computed(options))


def _computed(options: argparse.Namespace) -> Answer:
    build = load_build(options.build).build
    records = _records(options.readings, build, options.stage)
    from benchtui.cli.diagnosed import diagnosed_line, diagnosed_text
    from benchtui.diagnosis.answer import diagnose
    from benchtui.forecast.given import GivenError

    found = []
    for place, record in records:
        try:
            found.append((record, diagnose(build, record)))
        except GivenError as error:
            raise refusal("diagnose", *(f"{place}: {problem}" for problem in error.problems)) from error
    code = Exit.FINE if all(diagnosis.verdict == "pass" for _, diagnosis in found) else Exit.FINDINGS
    if options.json:
        return Answer(code, "\n".join(diagnosed_line(diagnosis) for _, diagnosis in found))
    return Answer(code, diagnosed_text(build, found))


def _records(path: Path, build: Build, stage: str | None) -> list[tuple[str, Given]]:
    """The one record of the file, or one of each line, with its place."""
    from benchtui.diagnosis.symptoms import symptoms
    from benchtui.forecast.given import GivenError, read_given

    text = record_text(path, "diagnose")
    lines = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
    whole = len(lines) < 2 or lines[1][1].lstrip()[:1] != "{"
    found, problems = [], []
    for number, record in [(0, text)] if whole else lines:
        place = f"{path}:{number}" if number else f"{path}"
        try:
            given = read_given(record, build, stage=stage, symptoms=tuple(symptoms()))
        except GivenError as error:
            problems += [f"{place}: {problem}" for problem in error.problems]
            continue
        if given.stage is None:
            problems.append(f'{place}: the record belongs to no stage, "stage" is wanted')
        elif stage is not None and given.stage != stage:
            problems.append(f"{place}: --stage {stage} and the record's stage {given.stage} contradict each other")
        found.append((place, given))
    if problems:
        raise refusal("diagnose", *problems)
    return found
