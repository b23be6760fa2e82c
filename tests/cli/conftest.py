"""Build files on disk for the commands."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.reference.amplifiers import described
from tests.reference.convert import convert


def _written(name: str, folder: Path) -> Path:
    path = folder / f"{name}.toml"
    path.write_text(convert(described(name)).text, "utf-8")
    return path


@pytest.fixture(scope="session")
def cathode_bias(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Reference amplifier A: push-pull, cathode bias, valve rectifier."""
    return _written("a", tmp_path_factory.mktemp("builds"))


@pytest.fixture(scope="session")
def fixed_bias(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Reference amplifier C: push-pull, fixed bias with two pots, silicon rectifier."""
    return _written("c", tmp_path_factory.mktemp("builds"))


@pytest.fixture
def wrong_build(tmp_path: Path) -> Path:
    """A build file with two faults, on lines 1 and 3."""
    path = tmp_path / "wrong.toml"
    path.write_text('form = 1\nid = "wrong"\n[resistor.R1]\nvalue = "4,7k"\n', "utf-8")
    return path
