"""What is open is in sight when a build is taken up again, on the smallest screen for work."""

from __future__ import annotations

from pathlib import Path

from benchtui.forecast.results import Finding
from tests.screens.keys import opened
from tests.session.made_up import BUILDS, Desk

STOP = Finding("stop", "output", "V3", "screen-v", "V3 screen volts: 426 V of 425 V", 426.0, 425.0, "made up")


def interrupted(folder: Path) -> Desk:
    """A desk whose builder went on from a warn, owns no bond tester, and left in the supply stage."""
    desk = Desk(BUILDS / "pp-6v6.toml", folder)
    desk.reach("HT winding, first half")
    desk.type("120")
    desk.type("the winding of a known transformer")
    desk.till(lambda view: view.stage == "HT off load" and view.step == "close")
    desk.drop()
    desk.forecaster.findings = (STOP,)
    desk.open()
    return desk


async def test_a_resume_counts_what_is_open_and_names_the_key_that_lists_it(tmp_path: Path) -> None:
    desk = interrupted(tmp_path)
    async with opened(desk.session) as hands:
        assert "1 not measured, 1 accepted warn: F4 lists them" in hands.text()
        desk.compute()
        hands.app.show(desk.session.view())  # type: ignore[union-attr]
        await hands.settle()
        text = hands.text()
        assert "Ratings review: 1 stop; see F4" in text and "1 not measured, 1 accepted warn" in text
        await hands.key("f4")
        for _ in range(3):
            await hands.key("pagedown")
        listed = hands.text()
        for said in ("no bond tester: Earth pin", "the winding of a known transformer", "426 V of 425 V"):
            assert said in listed, listed
    desk.drop()
