"""F8 stops from everywhere, at once, before anything that is queued; the power-off text fills the screen."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from benchtui.session.view import Banner
from benchtui.tui.app import BenchApp
from tests.screens.fake import FakeSession
from tests.screens.keys import Hands, opened, screen_text
from tests.screens.scenes import ALL, GATE, POWER_OFF, READ


@pytest.mark.parametrize("scene", ALL)
async def test_stop_works_on_every_prompt(scene: str) -> None:
    session = FakeSession(ALL[scene])
    async with opened(session) as hands:
        await hands.key("f8")
        assert session.stops == 1
        assert "Hand off. Mains off. Pull the plug." in hands.text()


@pytest.mark.parametrize("page", ["f1", "f2", "f3", "f4", "f5", "f6", "f7", "f9", "ctrl+q"])
async def test_stop_works_on_every_page_and_closes_it(page: str) -> None:
    session = FakeSession(READ)
    async with opened(session) as hands:
        await hands.key(page)
        await hands.key("f8")
        assert session.stops == 1
        assert "Hand off. Mains off. Pull the plug." in hands.text()


@pytest.mark.parametrize("size", [(120, 40), (60, 20), (40, 12), (40, 10), (20, 5)])
async def test_stop_works_at_every_size(size: tuple[int, int]) -> None:
    session = FakeSession(READ)
    async with opened(session, size) as hands:
        assert "STOP" in hands.text()
        await hands.key("f8")
        assert session.stops == 1


async def test_stop_while_typing_drops_the_half_typed_line() -> None:
    session = FakeSession(READ)
    async with opened(session) as hands:
        hands.now_s += 1
        for character in "18.":
            await hands.key(character)
        await hands.key("f8")
        await hands.line("plug out")
        assert session.answers == [(1001, "plug out", False)]


async def test_stop_overtakes_queued_keys_and_they_count_no_more() -> None:
    session = FakeSession(READ)
    async with opened(session) as hands:
        hands.now_s += 1
        for number in range(10_000):
            hands.post("18.9\r"[number % 5], gap_s=0.0005)
        taken = len(session.answers)
        hands.post("f8", gap_s=0.0005)
        await hands.settle()
        assert session.stops == 1
        assert len(session.answers) == taken == 0
        assert "Hand off. Mains off. Pull the plug." in hands.text()


async def test_stop_before_the_build_is_open_is_passed_on_when_it_is() -> None:
    session = FakeSession(READ)
    gate = threading.Event()

    def opener() -> FakeSession:
        gate.wait()
        return session

    hands = Hands()
    app = BenchApp(opener, clock=hands.clock)
    async with app.run_test(size=(80, 24)) as pilot:
        hands.app, hands.pilot = app, pilot
        await hands.key("f8")
        assert "Hand off, mains off" in screen_text(app)
        gate.set()
        while app.session is None:
            await pilot.pause()
        await hands.settle()
        assert session.stops == 1


async def test_the_power_off_text_leaves_by_its_word_only() -> None:
    session = FakeSession(POWER_OFF, GATE)
    async with opened(session) as hands:
        for key in ("escape", "f1", "f1", "enter", "space", "f4", "escape"):
            await hands.key(key, gap_s=1.0)
            assert "Hand off. Mains off. Pull the plug." in hands.text()
        assert session.answers == []
        await hands.line("plug out")
        assert session.answers == [(14, "plug out", False)]
        assert "Reservoir C4" in hands.text()


async def test_why_a_word_was_not_taken_stands_below_the_power_off_text() -> None:
    refused = replace(POWER_OFF, banner=Banner("refused", "First the plug: out of the wall."))
    async with opened(FakeSession(refused)) as hands:
        assert "First the plug: out of the wall." in hands.text()


async def test_a_stop_reading_rings_and_closes_the_page_on_top_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    session = FakeSession(READ)
    rung = []
    async with opened(session) as hands:
        assert hands.app is not None
        monkeypatch.setattr(hands.app, "bell", lambda: rung.append(1))
        await hands.key("f4")
        session.now, session.changed = POWER_OFF, True
        hands.app._tick()
        await hands.settle()
        assert rung == [1]
        assert "26.3 V at the cathode of V2 is above the limit" in hands.text()
        session.now, session.changed = replace(POWER_OFF, saved=129), True
        hands.app._tick()
        assert rung == [1]
