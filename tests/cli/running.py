"""The command line as another program runs it: a process of its own, with its streams and exit code."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
COMMAND = [sys.executable, "-W", "error", "-m", "benchtui.cli.main"]


def benchtui(
    *arguments: str | bytes | Path, environ: dict[str, str | None] | None = None, **settings: object
) -> subprocess.CompletedProcess[str]:
    """Run `benchtui` without a terminal; a value of None in `environ` takes that variable away."""
    changes = environ or {}
    own = {name: value for name, value in (os.environ | changes).items() if value is not None}
    defaults = {"capture_output": True, "stdin": subprocess.DEVNULL}
    return subprocess.run(
        [*COMMAND, *arguments],
        cwd=ROOT,
        env=own,
        text=True,
        timeout=300,
        check=False,
        **(defaults | settings),
    )  # type: ignore[call-overload]
