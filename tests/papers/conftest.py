"""One record, and one report of it, for all tests of papers in a process."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.papers.blocks import Document
from benchtui.papers.report import report
from benchtui.papers.source import Source, source
from tests.papers.walked import NAME, walked


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return walked(tmp_path_factory)


@pytest.fixture(scope="session")
def told(folder: Path) -> Source:
    return source(folder / f"{NAME}.bench")


@pytest.fixture(scope="session")
def document(told: Source) -> Document:
    return report(told, "the program")
