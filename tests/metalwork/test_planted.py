"""Every planted mistake is told by its own rule and by no other."""

from __future__ import annotations

import pytest

from tests.metalwork.layouts import review
from tests.metalwork.planted import PLANTED


@pytest.mark.parametrize("name", PLANTED)
def test_a_mistake_is_told_by_its_rule_alone(name: str) -> None:
    planted = PLANTED[name]
    found = review(planted.text)
    assert {(finding.rule, finding.severity) for finding in found} == {(planted.rule, planted.severity)}, [
        f"{finding.rule}: {finding.text}" for finding in found
    ]


def test_a_finding_says_where_how_much_and_why() -> None:
    for name, planted in PLANTED.items():
        for finding in review(planted.text):
            assert finding.panel and finding.source, name
            assert finding.limit_mm is None or finding.value_mm is None or finding.value_mm != finding.limit_mm, name


def test_at_least_thirty_are_planted() -> None:
    assert len(PLANTED) >= 30
