"""A diagnosis as the JSON line that README.md describes, and as text."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TYPE_CHECKING

from benchtui.cli.caution import CAUTION
from benchtui.cli.json_text import SCHEMA, number
from benchtui.cli.tables import hanging
from benchtui.quantities.clean import clean
from benchtui.quantities.show import show

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.diagnosis.answer import Diagnosis
    from benchtui.diagnosis.further import Next
    from benchtui.forecast.given import Given

#: What is less likely than this is left out of the text.
_TOLD = 0.01

#: Outcomes of the next reading that are told, and faults of each.
_OUTCOMES, _FAULTS = 4, 3


def diagnosed_line(found: Diagnosis) -> str:
    """One line of `diagnose --json`."""
    points = {
        name: {"verdict": judgement.verdict, "low": number(by.low), "high": number(by.high)}
        for name, (by, judgement) in found.points.items()
    }
    faults = [
        {"fault": each.fault, "part": each.part, "probability": round(each.probability, 6)} for each in found.ranked
    ]
    data = {"schema": SCHEMA, "verdict": found.verdict, "points": points, "faults": faults, "next": _next(found.next)}
    return json.dumps(data, allow_nan=False)


def _next(of: Next | None) -> dict[str, object] | None:
    if of is None:
        return None
    outcomes = [
        {
            "reads": outcome.reads,
            "faults": [{"fault": kind, "part": part, "probability": round(p, 6)} for kind, part, p in outcome.means],
        }
        for outcome in of.outcomes
    ]
    by = of.candidate
    return {"kind": by.kind, "state": by.state, "point": by.point, "text": by.says, "outcomes": outcomes}


def diagnosed_text(build: Build, found: Iterable[tuple[Given, Diagnosis]]) -> str:
    """Every record's verdict, what may be the matter, and what to read next."""
    lines: list[str] = []
    for given, diagnosis in found:
        mains = "" if given.mains_v is None else f", mains {given.mains_v:g} V"
        lines += [clean(f"{build.name}, {given.stage}{mains}: {diagnosis.verdict}")]
        for name, (by, judgement) in diagnosis.points.items():
            if not judgement.passed:
                value = show(given.readings[name], by.unit, 4)
                window = f"{show(by.low, by.unit, 3)} to {show(by.high, by.unit, 3)}"
                lines += hanging(clean(f"{judgement.verdict}: {value} at {name}, healthy {window}"), "  ")
        for each in diagnosis.ranked:
            if each.probability >= _TOLD:
                lines += hanging(clean(f"{100 * each.probability:3.0f} %  {each.says}"), "  ")
                for evidence in each.evidence:
                    lines += hanging(clean(evidence), "         ")
        lines += [*_next_lines(diagnosis.next), ""]
    return "\n".join([*lines, *hanging(CAUTION, "")])


def _next_lines(of: Next | None) -> list[str]:
    if of is None:
        return []
    lines = hanging(clean(f"next: {of.candidate.says}"), "  ")
    for outcome in of.outcomes[:_OUTCOMES]:
        likely = ", ".join(" ".join(filter(None, (part, kind))) for kind, part, _ in outcome.means[:_FAULTS])
        lines += hanging(clean(f"{outcome.reads}: {likely}"), "    ")
    return lines
