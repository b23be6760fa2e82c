"""The page of ratings and plots: how each rating stands in word and sign, and turning from figure to figure."""

from __future__ import annotations

import asyncio
from collections.abc import Callable

import pytest

from benchtui.session.view import Figure, PlotPage
from tests.screens.fake import FakeSession
from tests.screens.keys import opened
from tests.screens.scenes import GATE, READ


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_each_rating_stands_with_sign_and_word_both_mains_limit_and_margin_on_one_row(
    size: tuple[int, int],
) -> None:
    async with opened(FakeSession(READ), size) as hands:
        await hands.key("f9")
        told = [row.split() for row in hands.text().split("\n")]
    rows = {row[1]: row for row in told if len(row) > 8}
    assert rows["past"] == "\u25a0 past R20 dissipation 2.10 W 2.60 W 2.00 W -30 %".split()
    assert rows["close"] == "\u25b2 close C1 volts 389 V 442 V 450 V 1 %".split()
    assert rows["within"] == "\u2713 within V3 anode dissipation 16.2 W 20.2 W 25.0 W * 26 %".split()


async def test_a_rating_that_is_not_kept_says_where_it_is_from() -> None:
    async with opened(FakeSession(READ)) as hands:
        await hands.key("f9")
        text = hands.text()
    assert "rating: the part's own rating" in text and "rating: printed on its can" in text and "data sheet" not in text


async def test_without_colour_and_in_ascii_words_and_other_signs_are_left(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("LC_ALL", "C")
    async with opened(FakeSession(READ)) as hands:
        await hands.key("f9")
        text = hands.text()
    assert "# past" in text and "! close" in text and "+ within" in text and text.isascii()


async def test_up_and_down_turn_to_the_next_figure_and_the_page_comes_back_to_it() -> None:
    async with opened(FakeSession(READ)) as hands:
        await hands.key("f9")
        assert "1 of 2 Ratings with their margins" in hands.text()
        await hands.key("down")
        assert "2 of 2 Load line of V2" in hands.text() and "M  point, measured" in hands.text()
        await hands.key("escape")
        assert "Cathode of V2" in hands.text()
        await hands.key("f9")
        assert "2 of 2" in hands.text()
        await hands.key("up")
        assert "1 of 2" in hands.text()


@pytest.mark.parametrize(("size", "field"), [((80, 24), "78 by 10"), ((80, 34), "78 by 20"), ((120, 60), "114 by 30")])
async def test_a_picture_is_drawn_to_the_room_that_there_is(size: tuple[int, int], field: str) -> None:
    async with opened(FakeSession(READ), size) as hands:
        await hands.key("f9")
        await hands.key("down")
        assert f"field of {field}" in hands.text()


async def test_at_eighty_columns_every_key_has_its_name() -> None:
    async with opened(FakeSession(GATE)) as hands:
        keys = hands.text().split("\n")[-1].split()
    names = "F1 help F2 why F3 note F4 stages F5 record F6 ohms F7 faults F9 plots F8 STOP"
    assert keys == names.split()


class Slow(FakeSession):
    """A figure is given out to be computed once its page was looked at, and is there after it was taken."""

    def __init__(self) -> None:
        super().__init__(READ)
        self.looked_at = False
        self.taken: list[object] = []

    def plots(self, chosen: int) -> PlotPage:
        self.looked_at = True
        return PlotPage("Ratings", 1, 1, Figure(("the table",) if self.taken else ("being computed",)))

    def pending_diagnosis(self) -> Callable[[], object] | None:
        due, self.looked_at = self.looked_at and not self.taken, False
        return (lambda: "found") if due else None

    def take_diagnosis(self, found: object) -> None:
        self.taken.append(found)


async def test_the_page_is_there_at_once_and_the_figure_when_it_is_computed() -> None:
    session = Slow()
    async with opened(session) as hands:
        assert session.taken == []
        await hands.key("f9")
        while not session.taken:
            await asyncio.sleep(0.01)
        await hands.settle()
        assert "the table" in hands.text() and session.taken == ["found"]
