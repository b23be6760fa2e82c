"""Say what is wrong or worth knowing in a build, in every state that it passes through."""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli import json_text
from benchtui.cli.answer import Answer, Exit
from benchtui.cli.builds import add_build, load_build
from benchtui.cli.caution import CAUTION
from benchtui.cli.kept import kept
from benchtui.cli.tables import hanging
from benchtui.quantities.clean import clean
from benchtui.quantities.severity import SEVERITIES
from benchtui.session.reviewing import whole_review, worst_first

if TYPE_CHECKING:
    from benchtui.buildfile.problems import Problem
    from benchtui.forecast.results import Finding


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `check` takes."""
    add_build(parser)


def run(options: argparse.Namespace) -> Answer:
    """The findings of a build; notes alone are fine. Raises Refusal for a build file that is wrong."""
    words = ["check", f"json={options.json}", str(options.build)]  # its name stands in findings on the file itself
    return kept(words, [Path(options.build)], lambda: _computed(options))


def _computed(options: argparse.Namespace) -> Answer:
    loaded = load_build(options.build)
    findings = worst_first((*(_odd(problem) for problem in loaded.warnings), *whole_review(loaded.build)))
    worse = any(finding.severity != "note" for finding in findings)
    if options.json:
        out = json_text.document({"build": loaded.build.id, "findings": [_plain(f) for f in findings]})
    else:
        out = _text(loaded.build.name, findings)
    return Answer(Exit.FINDINGS if worse else Exit.FINE, out)


def _odd(problem: Problem) -> Finding:
    """What is possible but odd in the file, as a finding."""
    from benchtui.forecast.results import Finding

    where = f"{problem.file}:{problem.line}" if problem.line else problem.file
    text = " ".join(word for word in (problem.found, f"{problem.wrong}, {problem.right}") if word)
    return Finding("warn", "", problem.place, "build_file", text, None, None, where)


def _plain(finding: Finding) -> dict[str, object]:
    numbers = {name: json_text.number(getattr(finding, name)) for name in ("value", "limit")}
    return asdict(finding) | numbers


def _text(name: str, findings: tuple[Finding, ...]) -> str:
    lines = [line for finding in findings for line in _lines(finding)]
    counts = Counter(finding.severity for finding in findings)
    total = ", ".join(f"{counts[severity]} {severity}" for severity in SEVERITIES)
    return "\n".join([clean(name), "", *lines, *([""] if lines else []), f"{total}.", *hanging(CAUTION, "")])


def _lines(finding: Finding) -> list[str]:
    place = " ".join(word for word in (finding.stage, finding.part) if word)
    source = f" [{finding.source}]" if finding.source else ""
    text = clean(f"{place}: {finding.text}{source}" if place else f"{finding.text}{source}")
    return hanging(text, f"{finding.severity:<6}")
