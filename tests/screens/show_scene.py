"""Open the app on a scene, to look at: `python -m tests.screens.show_scene SCENE [PICTURE WIDTH HEIGHT KEYS...]`."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

from benchtui.tui.app import BenchApp, run
from tests.screens.fake import FakeSession
from tests.screens.scenes import ALL


async def _picture(scene: str, path: Path, width: int, height: int, keys: list[str]) -> None:
    app = BenchApp(lambda: FakeSession(ALL[scene]))
    async with app.run_test(size=(width, height)) as pilot:
        while app.session is None:
            await pilot.pause()
        await pilot.pause(0.4)
        for key in keys:
            await pilot.press(key)
            await pilot.pause(0.2)
        await pilot.pause()
        path.write_text(app.export_screenshot(), encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) > 2:
        asyncio.run(_picture(sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]), sys.argv[5:]))
    else:
        sys.exit(run(lambda: FakeSession(*(scene for name, scene in ALL.items() if name >= sys.argv[1]))))
