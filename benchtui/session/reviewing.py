"""The whole review of a build: its parts against their ratings in every state, and its panels."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from benchtui.quantities.severity import gravity

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.forecast.results import Finding

#: The stage in which panels are drilled, and of findings about them: there a hole can still be moved.
METALWORK = "metal"
_M_PER_MM = 1e-3


def whole_review(build: Build) -> tuple[Finding, ...]:
    """Findings about circuit and panels, worst first; those about panels have the stage `metal`. Takes seconds."""
    from benchtui.forecast import review

    return worst_first((*review.review(build), *panel_findings(build)))


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The same findings, what stops before what warns."""
    return tuple(sorted(findings, key=lambda finding: gravity(finding.severity)))


def panel_findings(build: Build) -> Iterator[Finding]:
    """Findings about the panels alone, lengths in metres."""
    from benchtui.forecast.results import Finding
    from benchtui.metalwork.review import layout_review

    for found in layout_review(build):
        numbers = (None if number is None else number * _M_PER_MM for number in (found.value_mm, found.limit_mm))
        part = " ".join(word for word in (found.panel, found.hole) if word)
        yield Finding(found.severity, METALWORK, part, found.rule, found.text, *numbers, found.source)
