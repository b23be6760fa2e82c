"""The picture of the screen in README.md, from the real app: `python -m tests.walk.picture` writes it anew."""

from __future__ import annotations

import asyncio
import os
import re
import tempfile
from pathlib import Path

from benchtui.session.forecaster import Forecaster, RealForecaster
from tests.cli import readme
from tests.screens.keys import Hands, opened
from tests.walk.app_walk import AppWalk
from tests.walk.benches import bench
from tests.walk.walking import walk

#: The prompt that is shown, and what is typed there and not yet sent.
TITLE, TYPED = "Cathode of V2", "15.4"

#: A wall clock of its own time zone shows another time; this one stands in README.md.
_TIME = "14:32"

_BLOCK = r"(has been typed but not yet sent:\n\n)((?:    .*\n|\n)*?)(\nTyping a number)"


async def made(folder: Path, forecasts: Forecaster) -> str:
    """The screen at 80x24 as an indented block, the demo build walked up to `TITLE` with readings by ngspice."""
    demo = bench("pp-6v6", folder, forecasts)
    session = demo.session()
    walk(session, demo.builder, demo.clock, until=lambda view: view.stage == "Output valves, no signal")
    async with opened(session) as hands:
        await AppWalk(hands, demo.builder, demo.clock).go(until=lambda view: view.prompt.title == TITLE)
        found = await taken(hands)
    session.leave()
    return found


async def taken(hands: Hands) -> str:
    """The screen at the prompt called `TITLE`, with `TYPED` typed into it."""
    hands.now_s += 1.0
    for character in TYPED:
        await hands.key(character)
    rows = re.sub(r"\b\d\d:\d\d\b", _TIME, hands.text()).splitlines()
    return "".join(f"    {row}".rstrip() + "\n" for row in rows)


def shown() -> str:
    """The block that README.md has now."""
    found = re.search(_BLOCK, readme.text())
    if found is None:
        raise ValueError("README.md has no picture of the screen where it is due")
    return found[2]


if __name__ == "__main__":
    os.environ |= {"LANG": "en_GB.UTF-8", "TERM": "xterm-256color"}
    with tempfile.TemporaryDirectory() as folder:
        new = asyncio.run(made(Path(folder), RealForecaster()))
    readme.README.write_text(readme.text().replace(shown(), new), "utf-8")
