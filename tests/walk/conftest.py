"""One memory of forecasts for all walks of a run: the engine computes each of them once."""

from __future__ import annotations

import pytest

from tests.screens.conftest import terminal  # noqa: F401  walks through the app see the terminal of the screen tests
from tests.walk.forecasts import Remembering, shared_folder


@pytest.fixture(scope="session")
def forecasts(tmp_path_factory: pytest.TempPathFactory) -> Remembering:
    return Remembering(shared_folder(tmp_path_factory))
