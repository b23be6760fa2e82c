"""The verdict is painted before anything else is drawn, and all is in its place after."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchtui.session.view import Banner, View
from benchtui.tui.screens.bench import BenchScreen
from tests.screens.fake import FakeSession
from tests.screens.keys import opened, screen_text
from tests.screens.scenes import READ

SOON = Banner("warn", "311 V at C4", ("above the window", "mains high, or too little load"))
NEXT = replace(READ, prompt=replace(READ.prompt, number=READ.prompt.number + 1), banner=SOON, saved=READ.saved + 1)


@pytest.mark.parametrize("before", [READ, replace(READ, banner=None)], ids=["an answer there", "none there"])
@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_the_verdict_is_painted_before_all_is_drawn_anew(
    before: View, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[str] = []
    painted, redraw = BenchScreen._compositor_refresh, BenchScreen._redraw

    def paint(screen: BenchScreen) -> None:
        painted(screen)
        seen.append(screen_text(screen.app))  # type: ignore[arg-type]

    def drawn_anew(screen: BenchScreen, window: object) -> None:
        seen.append("all is drawn anew")
        redraw(screen, window)  # type: ignore[arg-type]

    async with opened(FakeSession(before, NEXT), size) as hands:
        hands.now_s += 1.0
        for key in "311":
            await hands.key(key)
        monkeypatch.setattr(BenchScreen, "_compositor_refresh", paint)
        monkeypatch.setattr(BenchScreen, "_redraw", drawn_anew)
        await hands.key("enter")
        first, second, *_ = seen
        assert "WARN" in first and "311 V at C4" in first and f"saved #{READ.saved}" in first
        assert second == "all is drawn anew"
        rows = hands.text().split("\n")
        assert sum("WARN" in row for row in rows) == 1 and f"saved #{NEXT.saved}" in rows[0]


async def test_the_same_answer_twice_still_makes_the_room_it_needs() -> None:
    """What was painted in the rows of a shorter one is laid out anew, even if nothing else has changed."""
    async with opened(FakeSession(replace(READ, banner=None), NEXT, replace(NEXT, saved=99))) as hands:
        await hands.line("311")
        assert "above the window" in hands.text()
        await hands.line("311")
        assert "above the window" in hands.text() and "saved #99" in hands.text()
