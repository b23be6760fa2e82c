"""Text from build files, records and errors is shown as typed: no markup, no control or direction characters."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest

from benchtui.session.view import LogLine, PlotPage, View
from tests.screens.fake import FakeSession
from tests.screens.keys import opened
from tests.screens.scenes import ALL

HOSTILE = "[/] [R12] [pin 6] \x1b[31m\u202e\u200b"

# Words that the session chooses from a fixed list, and values that must keep their meaning; the names in a panel are
# references, which hold no such characters.
_FIXED = {
    "word", "alarm", "level", "entry", "kind", "state", "forecast", "unit", "quantity", "base", "pin", "step", "panel",
    "standing",
}  # fmt: skip


def spoilt(value: Any) -> Any:
    """The same view with hostile text in every field that may hold foreign text."""
    if is_dataclass(value) and not isinstance(value, type):
        changes = {f.name: spoilt(getattr(value, f.name)) for f in fields(value) if f.name not in _FIXED}
        return replace(value, **changes)
    if isinstance(value, tuple):
        return tuple(spoilt(one) for one in value)
    return HOSTILE + value if isinstance(value, str) else value


def _checked(text: str) -> None:
    assert "\x1b" not in text and "\u202e" not in text and "\u200b" not in text
    assert "[/] [R12] [pin 6] <U+001B>[31m<U+202E><U+200B>" in " ".join(text.split())


class HostileSession(FakeSession):
    def log(self, most: int | None = None) -> tuple[LogLine, ...]:
        return tuple(spoilt(line) for line in super().log(most))

    def explain(self, stage: str) -> tuple[str, ...]:
        return (HOSTILE,)

    def plots(self, chosen: int) -> PlotPage:
        return spoilt(super().plots(chosen))


@pytest.mark.parametrize("scene", ALL)
async def test_hostile_text_is_shown_as_typed_on_the_bench(scene: str) -> None:
    view: View = spoilt(ALL[scene])
    async with opened(HostileSession(view), (150, 50)) as hands:
        _checked(hands.text())


@pytest.mark.parametrize("page", ["f1", "f2", "f3", "f4", "f5", "f6", "f7", "f9", "ctrl+q"])
async def test_hostile_text_is_shown_as_typed_on_every_page(page: str) -> None:
    view: View = spoilt(ALL["read"])
    async with opened(HostileSession(view), (150, 50)) as hands:
        await hands.key(page)
        _checked(hands.text())


async def test_an_unknown_base_and_a_failed_forecast_show_hostile_text_as_typed() -> None:
    view: View = spoilt(ALL["read"])
    assert view.prompt.socket is not None
    socket = replace(view.prompt.socket, base=HOSTILE, pin=HOSTILE)
    view = replace(view, prompt=replace(view.prompt, socket=socket, unit=HOSTILE), forecast="failed")
    async with opened(HostileSession(view), (150, 50)) as hands:
        _checked(hands.text())


async def test_pasted_control_characters_are_named_in_the_field() -> None:
    async with opened(FakeSession(ALL["warn"])) as hands:
        await hands.paste("[/]\x1b[31m\u202e")
        assert "[/]<U+001B>[31m<U+202E>" in hands.text()


async def test_a_typed_direction_character_never_reaches_the_screen() -> None:
    async with opened(FakeSession(ALL["warn"])) as hands:
        hands.now_s += 1
        await hands.key("\u202e")
        assert "\u202e" not in hands.text()
