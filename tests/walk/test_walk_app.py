"""The whole bring-up of a demo build through the app's own keys at 80x24, with readings by ngspice.

In the long run every demo build: what differs from one to the other is the session's, and is walked there each time.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.record import Journal
from tests.record.counts import count
from tests.screens.keys import opened
from tests.walk import picture
from tests.walk.app_walk import AppWalk, Step
from tests.walk.benches import bench
from tests.walk.forecasts import Remembering
from tests.walk.readings import DEMOS


@pytest.mark.parametrize("name", DEMOS[: count(short=1, full=len(DEMOS))])
async def test_a_demo_build_is_brought_up_by_its_keys(name: str, forecasts: Remembering, tmp_path: Path) -> None:
    made = bench(name, tmp_path, forecasts)
    session = made.session()
    async with opened(session) as hands:
        walk = AppWalk(hands, made.builder, made.clock)
        steps = await up_to_the_picture(walk) if name == DEMOS[0] else []
        steps += await walk.go()
        assert "Finished" in hands.text() and "ASSUME LIVE" in hands.text(), "unopened"
    assert session.leave().startswith("Finished")
    for step in steps:
        assert_shown(step)
    passed = [step for step in steps if step.after.banner and step.after.banner.kind in ("pass", "not measured")]
    points = made.builder.rig.build.point.values()
    assert len(passed) >= sum(len(point.stages) for point in points)
    with Journal.open(made.record) as journal:
        kinds = [event.kind for event in journal.events]
    assert kinds.count("hands in") == kinds.count("power on") and kinds[-1] == "finished shut"


async def up_to_the_picture(walk: AppWalk) -> list[Step]:
    """The steps up to the screen that README.md shows, which is looked at."""
    steps = await walk.go(until=lambda view: view.prompt.title == picture.TITLE)
    assert picture.shown() == await picture.taken(walk.hands), "run python -m tests.walk.picture"
    await walk.hands.key("ctrl+u")
    return steps


def assert_shown(step: Step) -> None:
    """What an answer led to is on the screen: the danger, the number saved, the next thing to do, the verdict."""
    screen, after = step.screen, step.after
    assert after.danger.word in screen, screen
    assert f"saved #{after.saved} " in screen, screen
    assert after.prompt.title[:40] in screen, screen
    if after.banner is not None:
        told = f"{step.typed} at {step.before.prompt.title}\n{screen}"
        assert after.banner.kind in ("pass", "not measured", "info"), told
    if after.banner is not None and after.banner.kind == "pass":
        assert "PASS" in screen, screen
    if after.banner is not None and after.banner.kind == "not measured":
        assert "NOT MEASURED" in screen and "PASS" not in screen, screen
