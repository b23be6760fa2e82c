"""The tables hold every case of bad input that is known, and each has a row that is tried, or a test that is there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from tests.badinput import build_bytes, build_sense, surroundings, typed
from tests.badinput.cases import Answer, Proved, Table

TOP = Path(__file__).parents[2]

#: How many cases each class has; one more is one more here.
TABLES: dict[str, tuple[Table, int]] = {
    "build file, bytes": (build_bytes.TABLE, 22),
    "build file, sense": (build_sense.TABLE, 34),
    "readings": (typed.TABLE, 27),
    "terminal": (surroundings.TERMINAL, 12),
    "environment": (surroundings.ENVIRONMENT, 15),
}


def references() -> Iterator[str]:
    for table, _ in TABLES.values():
        for rows in table.values():
            for row in rows:
                if isinstance(row, Proved):
                    yield from row.by


@pytest.mark.parametrize("name", TABLES)
def test_every_case_has_a_row_and_each_row_an_answer(name: str) -> None:
    table, cases = TABLES[name]
    assert len(table) == cases
    for case, rows in table.items():
        assert rows, case
        for row in rows:
            assert isinstance(getattr(row, "answer", Answer.WARNED), Answer), case
            assert not isinstance(row, Proved) or row.by, case


@cache
def names_in(file: str) -> frozenset[str]:
    """Names of the tests in a file."""
    return frozenset(re.findall(r"^(?:async )?def (test_\w+)\(", (TOP / file).read_text("utf-8"), re.MULTILINE))


@pytest.mark.parametrize("reference", sorted(set(references())))
def test_each_test_that_a_case_names_is_there(reference: str) -> None:
    file, _, name = reference.partition("::")
    assert name in names_in(file)
