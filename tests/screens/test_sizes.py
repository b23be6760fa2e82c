"""What is on the screen at each size, and that no size is an error."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from benchtui.session.view import Banner, ItemMark, Probes
from tests.record.counts import count
from tests.screens.fake import FakeSession
from tests.screens.keys import opened
from tests.screens.scenes import ALL, GATE, READ, SETTLE, WARN, WORDS


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
async def test_a_reading_shows_all_that_is_needed_without_scrolling(size: tuple[int, int]) -> None:
    async with opened(FakeSession(READ), size) as hands:
        await hands.line("17")  # the script stays on this view
        for character in "17.1":
            hands.now_s += 0.3
            await hands.key(character)
        text = hands.text()
    for said in (
        "Push-pull 6V6GT", "output valves, no signal", "read", "LIVE", "since 14:32", "saved #128", "1 loose",
        "Cathode of V2", "2 of 9", "Read the volts across", "top of R11", "chassis, clipped", "DC volts, 60 V",
        "one hand only", "should read 18.9 V", "17.4 V", "20.5 V", "24.1 V", "\u25bc 17.1 V", "V2", "6V6GT",
        "from below", "key", "pin 8", "cathode, beam", "= 17.1 V", "PASS", "299 V at C4", "OUTPUT 2/9",
        "F1 help", "F2 why", "F3 note", "F4 stages", "F5 record", "F8 STOP",
    ):  # fmt: skip
        assert said in text, said


async def test_the_gate_shows_its_items_with_the_present_one_marked() -> None:
    async with opened(FakeSession(GATE)) as hands:
        text = hands.text()
    assert "\u2713 meter proved" in text and "\u25b8 round 1: C4" in text and "\u00b7 round 1: C7" in text
    assert "wait 60 s" in text and "4 below" in text


async def test_the_gate_shows_every_item_where_there_is_room() -> None:
    async with opened(FakeSession(GATE), (120, 40)) as hands:
        text = hands.text()
    assert all(mark.text in text for mark in GATE.prompt.items)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_panel_is_drawn_with_its_present_opening_and_what_is_typed(size: tuple[int, int]) -> None:
    async with opened(FakeSession(ALL["hole"]), size) as hands:
        text = hands.text()
    for said in ("50.0 mm from the left, 62.0 mm up", "'done all'", "\u25c9", "v1", "v2", "0 datum", "88 of 117"):
        assert said in text, said
    assert ("pilot 3 mm: v88" in text) == (size[1] >= 34)


async def test_the_wires_of_a_stage_are_listed_in_full_width_with_the_present_one_marked() -> None:
    for size in ((80, 24), (120, 40)):
        async with opened(FakeSession(ALL["wire"]), size) as hands:
            text = hands.text()
        assert "\u25b8  3  V3 pin 2 (heater) to V4 pin 2 (heater)" in text and "0.5 mm2" in text


async def test_a_wait_shows_time_left_and_the_computed_course() -> None:
    async with opened(FakeSession(SETTLE)) as hands:
        text = hands.text()
    assert "0:46" in text and "now 14 s, computed" in text and "470 V" in text and "switch off" in text


@pytest.mark.parametrize("more", [(), ("Read it again when it has settled.",)])
async def test_the_course_keeps_its_zero_and_its_time_axis_under_an_answer(more: tuple[str, ...]) -> None:
    async with opened(FakeSession(replace(SETTLE, banner=Banner("info", "391 V, inside the limits", more)))) as hands:
        text = hands.text()
    assert "0.00 V" in text and "now 14 s" in text and "60 s" in text and "470 V" in text and "PgDn" not in text


async def test_a_probe_that_has_no_place_has_no_row() -> None:
    proof = replace(GATE, prompt=replace(GATE.prompt, probes=Probes("", "", "DC volts", "")))
    async with opened(FakeSession(proof)) as hands:
        words = hands.text().split()
    assert "meter" in words and not {"red", "black", "hand"} & set(words)


async def test_a_list_that_has_the_screen_to_itself_is_told_in_full() -> None:
    long = "Identify each transformer lead with ohms, and label it: primary, HT, heaters"
    steps = (ItemMark(long, "now"), *(ItemMark(f"step {n}", "open") for n in range(2, 11)))
    async with opened(FakeSession(replace(WORDS, prompt=replace(WORDS.prompt, items=steps)))) as hands:
        text = hands.text()
    assert long in text and "step 10" in text and "below" not in text


async def test_what_lies_out_of_sight_is_told_by_the_keys_that_scroll_to_it() -> None:
    async with opened(FakeSession(READ)) as hands:
        assert "PgDn" not in hands.text()
        await hands.key("f1")
        assert "PgDn" in hands.text() and "F8 STOP" in hands.text()
        for _ in range(6):
            await hands.key("pagedown")
        assert "PgUp" in hands.text().split("\n")[-1] and "PgDn" not in hands.text().split("\n")[-1]


async def test_a_warn_shows_its_likely_causes_and_asks_in_words() -> None:
    async with opened(FakeSession(WARN)) as hands:
        text = hands.text()
    assert "WARN" in text and "likely: V2 strong" in text and "next: cathode of V3" in text and "in words" in text


@pytest.mark.parametrize("scene", ALL)
@pytest.mark.parametrize("size", [(60, 20), (40, 12)])
async def test_danger_field_and_stop_stay_in_sight_in_small_windows(scene: str, size: tuple[int, int]) -> None:
    view = ALL[scene]
    async with opened(FakeSession(view), size) as hands:
        text = hands.text()
        assert view.danger.word in text and "F8 STOP" in text
        if view.prompt.entry != "nothing":
            assert hands.app is not None and hands.app.focused is not None
            region = hands.app.focused.region
            assert region.height == 1 and hands.app.screen.region.contains_region(region)


async def test_what_does_not_fit_is_reached_by_scrolling() -> None:
    async with opened(FakeSession(READ), (60, 20)) as hands:
        assert "pin 8" not in hands.text()
        for _ in range(3):
            await hands.key("pagedown")
        assert "pin 8" in hands.text() and "LIVE" in hands.text()


@pytest.mark.parametrize("size", [(40, 10), (39, 30), (20, 5)])
async def test_a_window_too_small_shows_danger_stop_and_what_would_help(size: tuple[int, int]) -> None:
    session = FakeSession(READ)
    async with opened(session, size) as hands:
        text = " ".join(hands.text().split())
        assert "LIVE" in text and "F8 STOP" in text and "make the window larger" in text
        await hands.line("18.9")
        assert session.answers == []


async def test_a_prompt_that_came_in_a_small_window_is_answered_after_enlarging() -> None:
    session = FakeSession(READ)
    async with opened(session, (30, 8)) as hands:
        assert hands.pilot is not None
        await hands.pilot.resize_terminal(80, 24)
        await hands.settle()
        await hands.line("18.9")
        assert session.answers == [(12, "18.9", False)]


@pytest.mark.parametrize("scene", ALL)
async def test_one_cell_is_no_error(scene: str) -> None:
    async with opened(FakeSession(ALL[scene]), (1, 1)) as hands:
        assert len(hands.text()) == 1


async def test_many_sizes_in_a_row_are_no_error() -> None:
    sizes = random.Random(20)
    async with opened(FakeSession(READ, *ALL.values())) as hands:
        assert hands.pilot is not None
        for number in range(count(short=40, full=300)):
            await hands.pilot.resize_terminal(sizes.randint(1, 200), sizes.randint(1, 70))
            if number % 10 == 0:
                await hands.line("1")
        await hands.pilot.resize_terminal(80, 24)
        await hands.settle()
        assert "F8 STOP" in hands.text()
