"""The rules of gate, closing, power and stages: all there, each said in a sentence, each held by something."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.procedure.rulebook import ELSEWHERE, RULES, table
from tests.procedure.rules import Rule

ROOT = Path(__file__).parents[2]


def test_every_number_is_there_once() -> None:
    assert [rule.number for rule in RULES] == list(range(1, len(RULES) + 1))
    assert len(RULES) >= 45


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: str(rule.number))
def test_a_rule_is_one_sentence_and_is_walked_or_held_by_a_test(rule: Rule) -> None:
    assert rule.says.endswith(".") and "\n" not in rule.says and len(rule.says) < 120
    assert (rule.kept is None) == bool(rule.held)


@pytest.mark.parametrize("rule", ELSEWHERE, ids=lambda rule: str(rule.number))
def test_the_tests_that_hold_a_rule_exist(rule: Rule) -> None:
    for held in rule.held:
        path, _, name = held.partition("::")
        assert f"def {name}(" in (ROOT / path).read_text("utf-8")


def test_the_developers_table_has_every_rule() -> None:
    """`python -m tests.procedure.rulebook` prints it."""
    assert table() in (ROOT / "DEVELOPERS.md").read_text("utf-8")
