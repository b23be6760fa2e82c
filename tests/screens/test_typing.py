"""Only lines typed by hand, after the prompt was on the screen, reach the session as typed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.screens.fake import FakeSession
from tests.screens.keys import Hands, opened
from tests.screens.scenes import GATE, READ, SETTLE, WORDS

OTHER = replace(READ, prompt=replace(READ.prompt, number=77, title="Cathode of V3"))


async def test_a_typed_line_answers_the_prompt_by_its_number() -> None:
    session = FakeSession(READ, OTHER)
    async with opened(session) as hands:
        await hands.line("18.9")
        assert session.answers == [(12, "18.9", False)]
        assert "Cathode of V3" in hands.text()


async def test_the_echo_shows_what_is_understood_before_enter() -> None:
    async with opened(FakeSession(READ)) as hands:
        hands.now_s += 1
        for character in "12m":
            await hands.key(character)
        assert "= 12.0 mV" in hands.text()
        assert hands.app is not None and hands.app.session.answers == []  # type: ignore[union-attr]


async def test_a_decimal_comma_is_asked_about_in_the_echo() -> None:
    async with opened(FakeSession(READ)) as hands:
        hands.now_s += 1
        for character in "38,5":
            await hands.key(character)
        assert "write 38.5" in hands.text()


async def test_keys_struck_before_the_prompt_was_painted_answer_nothing() -> None:
    session = FakeSession(READ, WORDS)
    async with opened(session) as hands:
        await hands.line("18.9")
        before = hands.now_s
        for character in "plug out\r":
            hands.post(character, gap_s=0.01, struck_at=before - 0.5)
        await hands.settle()
        assert len(session.answers) == 1
        assert "typed before the question was there" in hands.text()
        await hands.line("plug out")
        assert session.answers[1] == (28, "plug out", False)


async def test_a_number_whose_first_digit_came_too_early_is_dropped_whole() -> None:
    session = FakeSession(READ, OTHER)
    async with opened(session) as hands:
        await hands.line("18.9")
        for character in "299\r":
            await hands.key(character, gap_s=0.1)
        assert len(session.answers) == 1


async def test_a_held_enter_sends_nothing_to_the_next_prompt() -> None:
    session = FakeSession(READ, OTHER, GATE)
    async with opened(session) as hands:
        await hands.line("18.9")
        for _ in range(60):
            hands.post("enter", gap_s=0.033)
        await hands.settle()
        assert len(session.answers) == 1


@pytest.mark.parametrize("gap_s", [0.025, 0.033, 0.092])
async def test_a_held_digit_is_told_to_the_session_as_no_typing(gap_s: float) -> None:
    session = FakeSession(GATE, WORDS)
    async with opened(session) as hands:
        hands.now_s += 1
        for _ in range(5):
            hands.post("0", gap_s=gap_s)
        await hands.settle()
        await hands.key("enter", gap_s=0.4)
        assert session.answers == [(30, "00000", True)]


async def test_a_paste_is_told_to_the_session_and_its_newline_is_no_enter() -> None:
    session = FakeSession(GATE)
    async with opened(session) as hands:
        await hands.paste("0.3\nplug out\n")
        assert session.answers == []
        assert "only the first is here" in hands.text()
        await hands.key("enter")
        assert session.answers == [(30, "0.3", True)]
        assert "NOT TAKEN" in hands.text()


async def test_a_line_poured_in_as_bare_keys_is_told_as_no_typing() -> None:
    session = FakeSession(WORDS)
    async with opened(session) as hands:
        hands.now_s += 1
        for character in "plug out":
            hands.post(character, gap_s=0.0005)
        await hands.settle()
        await hands.key("enter", gap_s=0.4)
        assert session.answers == [(28, "plug out", True)]


async def test_a_line_end_that_was_poured_in_is_no_enter_and_its_lines_never_join() -> None:
    session = FakeSession(READ, OTHER)
    async with opened(session) as hands:
        hands.now_s += 1
        for character in "18\r90\r3":
            hands.post(character, gap_s=0.0005)
        await hands.settle()
        assert session.answers == [] and hands.app is not None and hands.app._bench.answer.entry.value == ""
        assert "pasted with its line end: nothing taken" in hands.text()
        await hands.line("18.9")
        assert session.answers == [(12, "18.9", False)]


@pytest.mark.parametrize("pasted", ["x" * 1000, "\n"])
async def test_a_line_typed_after_a_paste_of_which_nothing_is_in_the_field_counts_as_typed(pasted: str) -> None:
    session = FakeSession(GATE)
    async with opened(session) as hands:
        await hands.paste(pasted)
        assert ("does not fit" in hands.text()) == (len(pasted) > 1)
        await hands.line("0.3")
        assert session.answers == [(30, "0.3", False)]


async def test_a_line_typed_after_a_pasted_one_was_wiped_counts_as_typed() -> None:
    session = FakeSession(GATE)
    async with opened(session) as hands:
        await hands.paste("9")
        await hands.key("backspace")
        await hands.line("0.3")
        assert session.answers == [(30, "0.3", False)]


async def test_a_flood_of_keys_is_dropped_and_said() -> None:
    session = FakeSession(READ)
    async with opened(session) as hands:
        hands.now_s += 1
        for number in range(2000):
            hands.post("1234567890\r"[number % 11], gap_s=0.0005)
        await hands.settle()
        assert "keys came faster than hands" in hands.text()
        assert len(session.answers) <= 4 and all(pasted for _, _, pasted in session.answers)
        await hands.line("18.9")
        assert session.answers[-1] == (12, "18.9", False)


async def test_an_empty_line_is_no_answer() -> None:
    session = FakeSession(READ)
    async with opened(session) as hands:
        await hands.line("")
        assert session.answers == []
        assert "nothing is typed yet" in hands.text()


async def test_keys_answer_nothing_while_a_page_covers_the_prompt() -> None:
    session = FakeSession(READ)
    async with opened(session) as hands:
        hands.now_s += 1
        await hands.key("f1")
        await hands.line("18.9")
        assert session.answers == []


async def test_nothing_is_taken_while_there_is_only_waiting() -> None:
    session = FakeSession(SETTLE)
    async with opened(session) as hands:
        await hands.line("18.9")
        assert session.answers == []


async def _type_slowly(hands: Hands, text: str) -> None:
    for character in text:
        await hands.key(character)


async def test_a_tick_leaves_a_half_typed_line_alone() -> None:
    session = FakeSession(GATE)
    async with opened(session) as hands:
        hands.now_s += 1
        await _type_slowly(hands, "0.")
        session.now = replace(GATE, prompt=replace(GATE.prompt, wait_s=12.0))
        session.changed = True
        assert hands.app is not None
        hands.app._tick()
        await hands.settle()
        assert "still to wait" in hands.text()
        await _type_slowly(hands, "3\r")
        assert session.answers == [(30, "0.3", False)]


async def test_a_prompt_that_changes_by_itself_drops_a_half_typed_line() -> None:
    session = FakeSession(GATE)
    async with opened(session) as hands:
        hands.now_s += 1
        await _type_slowly(hands, "plu")
        session.now, session.changed = WORDS, True
        assert hands.app is not None
        hands.app._tick()
        await hands.settle()
        await _type_slowly(hands, "g out\r")
        assert session.answers == []
