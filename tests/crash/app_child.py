"""The app on a terminal, for tests that kill it: `app_child.py BUILD FORECASTS`, with forecasts made before."""

from __future__ import annotations

import sys
from pathlib import Path

from benchtui.session.opening import open_session
from benchtui.tui.app import run
from tests.walk.forecasts import Remembering


def main(build: str, forecasts: str) -> int:
    known = Remembering(Path(forecasts))
    return run(lambda: open_session(Path(build), forecaster=known))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
