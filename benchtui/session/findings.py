"""What the ratings review found, in words: how much, what is gravest, and what must be answered before power."""

from __future__ import annotations

from collections.abc import Sequence

from benchtui.forecast.results import Finding
from benchtui.quantities.clean import clean
from benchtui.session.reviewing import METALWORK

_GRAVE = ("stop", "warn")


def objections(found: Sequence[Finding] | None, failure: str) -> tuple[str, ...]:
    """What speaks against power: each finding that stops; while the review is not known, or has failed, just that."""
    if found is None:
        said = f"the ratings review failed, so nobody knows what is past its rating: {failure}"
        return (clean(said) if failure else "the ratings review is not computed yet",)
    return tuple(clean(_placed(finding)) for finding in found if finding.severity == "stop")


def told(found: Sequence[Finding] | None, failure: str, odd: Sequence[str] = ()) -> tuple[str, ...]:
    """The grave findings as lines, stops first, each with the source of its limit; notes are left to `check`.

    Then what is `odd` in the build file itself, which is known before the review is.
    """
    remarks = tuple(clean(f"warn: {line}") for line in odd)
    if found is None:
        return (*(objections(found, failure) if failure else ()), *remarks)
    grave = (
        clean(f"{finding.severity}: {_placed(finding)} ({finding.source})")
        for severity in _GRAVE
        for finding in found
        if finding.severity == severity
    )
    return (*grave, *remarks)


def summary(found: Sequence[Finding] | None, failure: str, odd: Sequence[str] = ()) -> str:
    """One line on the review and on what is `odd` in the file; "" while it is not known and where nothing is grave."""
    if found is None:
        return "The ratings review failed: nobody knows what is past a rating; see F4." if failure else ""
    counts = [(severity, sum(finding.severity == severity for finding in found)) for severity in _GRAVE]
    parts = [f"{n} {severity}{'s' if n > 1 else ''}" for severity, n in counts if n]
    parts += [f"{len(odd)} odd in the build file"] * bool(odd)
    return f"Ratings review: {', '.join(parts)}; see F4, or run 'benchtui check'." if parts else ""


def _placed(finding: Finding) -> str:
    """What a finding says; of a panel with its name, since a hole's own name does not tell where it is."""
    return f"{finding.part}: {finding.text}" if finding.stage == METALWORK else finding.text
