"""The screen in README.md is the one that the app shows."""

from __future__ import annotations

from pathlib import Path

from tests.walk import picture
from tests.walk.forecasts import Remembering


async def test_the_picture_in_the_readme_is_what_the_app_shows(forecasts: Remembering, tmp_path: Path) -> None:
    assert picture.shown() == await picture.made(tmp_path, forecasts), "run python -m tests.walk.picture"
