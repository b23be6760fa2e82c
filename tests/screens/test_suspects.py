"""The page of suspects, and how the app comes by them."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import replace

import pytest

from benchtui.session.view import Further, Suspect, Suspects
from tests.screens.fake import FakeSession
from tests.screens.keys import Hands, opened
from tests.screens.scenes import READ, WARN

FOUND = Suspects(
    (Suspect(0.62, "R11 is open, or a lead of it makes no contact", ("explains 88 V at the cathode",)),
     Suspect(0.21, "V2 is weak")),
    Further("ohms", "output", "R11", "Without power, ohms across R11", "end of R11 at V2", "chassis",
            ("open: R11", "441 to 499 ohm: V2")),
)  # fmt: skip


class Looking(FakeSession):
    """A reading was off; what may be wrong is worked out once, and shown when it is there."""

    def __init__(self, found: Suspects | Exception) -> None:
        super().__init__(WARN)
        self.taken: list[Suspects | None] = []
        self._found: Suspects | Exception | None = found

    def pending_diagnosis(self) -> Callable[[], Suspects] | None:
        found, self._found = self._found, None

        def work() -> Suspects:
            if isinstance(found, Exception):
                raise found
            assert found is not None
            return found

        return None if found is None else work

    def take_diagnosis(self, found: Suspects | None) -> None:
        self.taken.append(found)
        self.now = replace(self.now, suspects=found or Suspects(trouble="could not be computed"))


async def taken(session: Looking, hands: Hands) -> None:
    """Wait until the work has come back from its thread."""
    while not session.taken:
        await asyncio.sleep(0.01)
    await hands.settle()


async def test_what_was_worked_out_stands_on_its_page() -> None:
    session = Looking(FOUND)
    async with opened(session) as hands:
        await taken(session, hands)
        await hands.key("f7")
        text = hands.text()
    assert session.taken == [FOUND]
    assert "What may be wrong" in text and " 62 %  R11 is open" in text and "explains 88 V" in text
    assert "Without power, ohms across R11." in text and "441 to 499 ohm: V2" in text
    assert "red end of R11 at V2, black chassis" in text


async def test_where_it_fails_that_is_told_and_the_app_goes_on() -> None:
    session = Looking(ArithmeticError("made to fail"))
    async with opened(session) as hands:
        await taken(session, hands)
        await hands.key("f7")
        assert session.taken == [None] and "could not be computed" in hands.text()
        await hands.key("escape")
        await hands.line("18.9")
        assert session.answers


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (40, 12)])
async def test_where_nothing_is_off_the_page_says_so(size: tuple[int, int]) -> None:
    async with opened(FakeSession(READ), size) as hands:
        await hands.key("f7")
        assert "Nothing read so far is off" in hands.text()


async def test_what_a_file_says_is_drawn_as_plain_text() -> None:
    hostile = Suspects((Suspect(0.5, "[/nope] [@click=app.quit]R1[/] \x1b[31m is open"),))
    async with opened(FakeSession(replace(WARN, suspects=hostile)), (120, 40)) as hands:
        await hands.key("f7")
        assert "[/nope] [@click=app.quit]R1[/]" in hands.text() and "\x1b" not in hands.text()
