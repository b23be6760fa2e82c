"""Every page of a rehearsal carries its mark, in every size, with and without colour and in ASCII; a real one never."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchtui.session.tables import table
from benchtui.session.view import View
from benchtui.tui.app import BenchApp
from benchtui.tui.parting import parting
from tests.screens.conftest import terminal  # noqa: F401  the terminal of the screen tests
from tests.screens.fake import FakeSession
from tests.screens.keys import Hands, opened, screen_text
from tests.screens.scenes import ALL, READ

MARK = table("rehearsal")["mark"]
METER = "Meter shows  15.40 V"
PAGES = ["", "f1", "f2", "f3", "f4", "f5", "f6", "f7", "ctrl+q", "f8"]


class Rehearsed(FakeSession):
    """A scripted session whose every view is of a rehearsal."""

    @property
    def now(self) -> View:
        return replace(self._now, rehearsal=MARK, seen=(METER,))

    @now.setter
    def now(self, view: View) -> None:
        self._now = view


def marked(text: str) -> bool:
    first = text.splitlines()[0]
    return first.startswith("/// REHEARSAL ") and "nothing here is real" in first


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
@pytest.mark.parametrize("page", PAGES)
async def test_every_page_is_marked(page: str, size: tuple[int, int]) -> None:
    async with opened(Rehearsed(READ), size) as hands:
        if page:
            await hands.key(page)
        assert marked(hands.text())


@pytest.mark.parametrize("scene", ALL)
async def test_every_scene_is_marked_and_has_its_meter_in_sight(scene: str) -> None:
    async with opened(Rehearsed(ALL[scene])) as hands:
        assert marked(hands.text())
        assert (METER in hands.text()) == (not ALL[scene].power_off)


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (40, 12), (30, 10), (20, 5)])
async def test_every_size_is_marked(size: tuple[int, int]) -> None:
    async with opened(Rehearsed(READ), size) as hands:
        assert "REHEARSAL" in hands.text().splitlines()[0]
        await hands.key("f8")
        assert "REHEARSAL" in hands.text().splitlines()[0]


@pytest.mark.parametrize("environ", [{"NO_COLOR": "1"}, {"LANG": "C"}, {"NO_COLOR": "1", "LANG": "C"}])
@pytest.mark.parametrize("page", ["", "f1", "f8"])
async def test_the_mark_needs_neither_colour_nor_more_than_ascii(
    environ: dict[str, str], page: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in environ.items():
        monkeypatch.setenv(name, value)
    async with opened(Rehearsed(READ)) as hands:
        if page:
            await hands.key(page)
        first = hands.text().splitlines()[0]
        assert marked(hands.text()) and first.isascii()
        assert first == f"/// {MARK} ".ljust(80, "/")


async def test_the_opening_page_is_marked_and_so_is_stop_on_it() -> None:
    app = BenchApp(lambda: pytest.fail("opened too soon"), clock=Hands().clock, mark=MARK)
    app._open = lambda: None  # type: ignore[assignment, method-assign]  the opener never begins
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert MARK in screen_text(app)
        app.stop_now()
        await pilot.pause()
        assert MARK in screen_text(app) and "pull the plug" in screen_text(app)


async def test_a_real_build_is_never_marked() -> None:
    async with opened(FakeSession(READ)) as hands:
        assert "REHEARSAL" not in hands.text()
        assert "Meter shows" not in hands.text()


async def test_the_scale_is_in_sight_at_80_by_24_as_at_a_real_one() -> None:
    async with opened(FakeSession(READ)) as hands:
        assert "17.4 V      20.5 V         24.1 V" in hands.text()
    async with opened(Rehearsed(READ)) as hands:
        assert "17.4 V      20.5 V         24.1 V" in hands.text()


def test_the_last_words_say_that_there_was_no_amplifier() -> None:
    said = parting(None, None, lambda: table("rehearsal")["of_record"])
    assert "there is no amplifier" in said
