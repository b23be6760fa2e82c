"""One process that forks, for all the tests here that a test process runs."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.crash.forks import Forks


@pytest.fixture(scope="session")
def forks() -> Iterator[Forks]:
    forks = Forks()
    yield forks
    forks.close()
