"""A desk with the push-pull demo build on it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.session.made_up import BUILDS, Desk


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(BUILDS / "pp-6v6.toml", tmp_path)
    yield made
    made.drop()


@pytest.fixture
def fixed_bias(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(BUILDS / "pp-el34.toml", tmp_path)
    yield made
    made.drop()
