"""Leaving by its keys: what is loose is asked where somebody could be hurt meanwhile, and nothing typed is lost."""

from __future__ import annotations

from dataclasses import replace

from tests.screens.fake import FakeSession
from tests.screens.keys import opened
from tests.screens.scenes import GATE, POWER_OFF, READ

TAGGED = replace(GATE, tag="Tag for the plug: DO NOT PLUG IN. Push-pull 6V6GT")


async def test_what_is_loose_is_typed_on_the_leave_page_and_kept_before_the_app_ends() -> None:
    session = FakeSession(TAGGED)
    async with opened(session) as hands:
        await hands.key("ctrl+q")
        assert "What is loose?" in hands.text() and "DO NOT PLUG IN" in hands.text()
        await hands.line("lead of C3")
        assert hands.app is not None and not hands.app.is_running
    assert session.loose == ["lead of C3"] and session.answers == []


async def test_nothing_typed_stays_and_a_second_key_leaves_without_a_word() -> None:
    session = FakeSession(TAGGED)
    async with opened(session) as hands:
        await hands.key("ctrl+q")
        await hands.line("")
        assert hands.app is not None and hands.app.is_running
        assert "type what is loose" in hands.text()
        await hands.key("ctrl+q", gap_s=1.0)
        assert not hands.app.is_running
    assert session.loose == []


async def test_escape_goes_back_and_a_half_typed_answer_is_still_there() -> None:
    session = FakeSession(replace(READ, tag=TAGGED.tag))
    async with opened(session) as hands:
        hands.now_s += 1.0
        await hands.key("1")
        await hands.key("8")
        await hands.key("ctrl+q")
        await hands.key("escape")
        assert hands.app is not None and hands.app.screen.answer.entry.value == "18"  # type: ignore[attr-defined]
    assert session.loose == []


async def test_where_no_tag_is_due_the_app_ends_at_once() -> None:
    session = FakeSession(replace(READ, danger=replace(READ.danger, word="BARE")))
    async with opened(session) as hands:
        await hands.key("ctrl+q")
        assert hands.app is not None and not hands.app.is_running


async def test_what_could_not_be_saved_is_shown_and_the_app_stays() -> None:
    session = FakeSession(TAGGED)
    async with opened(session) as hands:
        await hands.key("ctrl+q")
        session.now = POWER_OFF
        await hands.line("lead of C3")
        assert hands.app is not None and hands.app.is_running
        assert "Hand off. Mains off. Pull the plug." in hands.text()
