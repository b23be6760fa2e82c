"""One walk again by its seed: `python -m tests.keys BUILD SEED [KEYS]`; the last keys are told if it breaks a rule."""

from __future__ import annotations

import asyncio
import os
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.keys.forecasts import AsWalked
from tests.keys.places import places
from tests.keys.walker import Walk
from tests.keys.watcher import Violation


def main(name: str, seed: str, keys: str = "850") -> int:
    os.environ.update(LANG="en_GB.UTF-8", TERM="xterm-256color")
    os.environ.pop("NO_COLOR", None)
    with TemporaryDirectory() as folder:
        forecasts = AsWalked(Path(folder))
        walk = Walk(name, Path(folder), forecasts, int(seed), places(name, Path(folder), forecasts))
        try:
            asyncio.run(walk.go(int(keys)))
        except Violation as violation:
            print(violation)
            return 1
        print(f"{walk.struck} keys, {walk.starts} starts, no rule broken: {walk.watcher.counts}")
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
